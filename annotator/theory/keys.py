"""The key the music is in, bar by bar: the key signature first, then what the notes of the bar and its neighbours say.

Conventions
-----------
* Pitches are places on the line of fifths, by their spelling: F -1, C 0, G 1 … B♭ -2, F♯ 6. A key is named by the sharps of its
  signature (flats negative) and by whether it is minor; its tonic then stands at ``sharps`` or ``sharps + 3``.
* A key is returned as a major or natural minor scale. Every stretch under one signature is looked at by itself.

Rule
----
In each bar every key within ``REACH`` fifths of the signature is weighed: each different note counts by its degree in that key, twice if it
comes twice, the bass note once more. The row of keys with the greatest sum is taken, where it costs ``CHANGE`` to go to another key and
the key of the signature starts ``HOME`` ahead: so one foreign note changes nothing, and a stretch that has left the key does.
A minor key is heard by its raised seventh; without one it does not outweigh the major key of the same
signature, unless the source declares it.

Source
------
The method (degree weights and a price for change) is the common one of key finding by profiles; the weights were set by hand and tried
on published analyses of keyboard preludes and chorales (figures in the tests).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import groupby

from annotator.score import Bar, Part, Pitch
from annotator.theory.names import Scale, spelled

FIFTHS_LETTERS = "FCGDAEB"

REACH = 5  # fifths
FARTHEST = 12  # sharps or flats of the farthest key that is weighed
CHANGE = 12  # weights that going to another key costs
HOME = 10  # weights that the key of the signature is ahead at the start
STAY, DECLARED = 1, 4  # weights a bar for the key of the signature; for a minor key that the source declares
MAJOR = {0: 5, 1: 4, 4: 4, -1: 2, 2: 2, 3: 2, 5: 2}
MINOR = {0: 5, 1: 4, -3: 4, -1: 1, 2: 2, -4: 2, -2: -3, 5: 6, 3: 0}
"""Weight of a note by its distance from the tonic on the line of fifths: 5 is the leading note, -2 the natural seventh of minor."""
FOREIGN = -4  # weight of a note that the key lacks


@lru_cache(maxsize=256)
def signature_scale(fifths: int, minor: bool = False) -> Scale:
    """Return the scale that a key signature stands for: major, or the natural minor relative to it.

    >>> signature_scale(-1), signature_scale(3, minor=True)
    (Scale(tonic='F', type='major'), Scale(tonic='F#', type='natural minor'))
    """
    place = fifths + 1 + (3 if minor else 0)  # on the line of fifths, F = 0
    letter = "CDEFGAB".index(FIFTHS_LETTERS[place % 7])
    return Scale(spelled(letter, place // 7), "natural minor" if minor else "major")


def local_keys(part: Part) -> tuple[Scale, ...]:
    """Return the key in force in each bar, as a major or natural minor scale."""
    heard: list[list[Pitch]] = [[] for _ in part.bars]
    for note in part.notes:
        if not (note.grace or note.tablature):
            heard[note.bar].append(note.pitch)
    keys: list[Scale] = []
    for _, stretch in groupby(part.bars, key=lambda bar: (bar.key.fifths, bar.key.mode)):
        keys.extend(_path(list(stretch), heard))
    return tuple(keys)


@lru_cache(maxsize=64)
def _keys_near(fifths: int) -> tuple[tuple[int, bool], ...]:
    """Return the keys that are weighed under a signature, its own major and minor first."""
    near = sorted(range(fifths - REACH, fifths + REACH + 1), key=lambda other: (abs(other - fifths), other))
    return tuple(
        (other, minor)
        for other in near
        if abs(other) <= max(FARTHEST, abs(fifths))
        for minor in (False, True)
    )


@lru_cache(maxsize=4096)
def _weights(fifths: int, place: int, times: int) -> tuple[int, ...]:
    """Return what a note counts in each of the keys near a signature."""
    return tuple(
        times * (MINOR.get(place - sharps - 3, FOREIGN) if minor else MAJOR.get(place - sharps, FOREIGN))
        for sharps, minor in _keys_near(fifths)
    )


def _path(bars: Sequence[Bar], heard: Sequence[Sequence[Pitch]]) -> list[Scale]:
    """Return the best row of keys for bars under one signature. ``heard`` are the pitches of every bar of the part."""
    fifths, minor = bars[0].key.fifths, bars[0].key.mode == "minor"
    near = _keys_near(fifths)
    home = near.index((fifths, minor))
    sums = [0] * len(near)
    sums[home] = HOME
    origins: list[tuple[int, list[bool]]] = []
    for bar in bars:
        top = max(sums)
        floor = top - CHANGE
        origins.append((sums.index(top), [one < floor for one in sums]))
        sums = [one if one > floor else floor for one in sums]
        pitches = heard[bar.index]
        places = [pitch.fifths for pitch in pitches]
        if places:
            keys = [pitch.semitone for pitch in pitches]
            weights = [_weights(fifths, place, 2 if places.count(place) > 1 else 1) for place in set(places)]
            weights.append(_weights(fifths, places[keys.index(min(keys))], 1))
            sums = list(map(sum, zip(sums, *weights, strict=True)))
        natural = places.count(fifths + 1)  # the seventh of a declared minor key need not be raised
        sums[home] += DECLARED - MINOR[-2] * min(2, natural) if minor else STAY
    best = sums.index(max(sums))
    row: list[Scale] = []
    for top, changed in reversed(origins):
        row.append(signature_scale(*near[best]))
        if changed[best]:
            best = top
    return row[::-1]
