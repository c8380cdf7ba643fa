"""Names for the keys of a piano: MIDI tells which key is struck, not what the note is called.

Rule
----
In a key of ``f`` sharps (flats count below 0) the twelve notes from three fifths below its major tonic to eight above are used: in C major
and A minor E♭ and B♭, but F♯, C♯ and G♯. Where no key is given, it is the signature that leaves the fewest notes outside of it.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable

NAMES = "FCGDAEB"
_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def spelled(key: int, fifths: int) -> tuple[str, int, int]:
    """Return step, alteration and octave of a key (60 is middle C) under a key signature.

    >>> spelled(63, 0), spelled(63, 4), spelled(59, -7), spelled(60, 7)
    (('E', -1, 4), ('D', 1, 4), ('C', -1, 4), ('B', 1, 3))
    """
    lowest = fifths - 3
    place = lowest + (key * 7 - lowest) % 12
    alter, letter = divmod(place + 1, 7)
    step = NAMES[letter]
    return step, alter, (key - _SEMITONES[step] - alter) // 12 - 1


def likely_signature(keys: Iterable[int]) -> int:
    """Return the key signature (in fifths) that the struck keys fit best; of equals the one with the fewest signs.

    >>> likely_signature([60, 62, 64, 65, 67]), likely_signature([62, 64, 66, 67, 69, 71, 73])
    (0, 2)
    """
    struck = [0] * 12
    for key in keys:
        struck[key % 12] += 1
    inside = {fifths: sum(struck[place * 7 % 12] for place in range(fifths - 1, fifths + 6)) for fifths in range(-6, 7)}
    return max(inside, key=lambda fifths: (inside[fifths], -abs(fifths), fifths))
