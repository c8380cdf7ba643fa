"""Scales: which alteration each letter has in a scale, and which scale a run of letters belongs to.

Conventions
-----------
* A letter is a number 0..6 for C..B; an alteration is in semitones.
* Melodic minor is one scale: sixth and seventh raised upwards, as in the key signature downwards.
* The octatonic scale on a tonic begins with a whole step (2 1 2 1 …), so that its name alone tells its notes.

Rule
----
A run is named as players do, by comparing its accidentals with key signatures (``name_run``). A run without any accidental against
the signature is major, or natural minor where that minor key is in force.

Source
------
Intervals of the scales: Open Music Theory, chapters on scales and on modes. The naming of runs: common practice, no source.

>>> alter_in(Scale("A", "harmonic minor"), 4, ascending=False), alter_in(Scale("A", "melodic minor"), 3, ascending=True)
(1, 1)
>>> from annotator.music.score import pitch_at
>>> run = [pitch_at(28 + step, 1 if step == 4 else 0) for step in range(8)]  # C D E F G♯ A B C
>>> name_run(run, key_of(0), key_of(0).alters, Scale("C", "major"))
Scale(tonic='A', type='harmonic minor')
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache
from itertools import pairwise

from annotator.music.keys import signature_scale
from annotator.music.names import Scale, alter_of, class_of, name_of
from annotator.music.score import FIFTHS, STEPS, Key, Pitch, key_of

MODES = {
    "ionian": 0,
    "dorian": -2,
    "phrygian": -4,
    "lydian": 1,
    "mixolydian": -1,
    "aeolian": -3,
    "locrian": -5,
}
"""Sharps that a mode's signature has more than that of the major key on the same tonic."""

TYPES = ("major", "natural minor", "harmonic minor", "melodic minor")
COLLECTIONS = {
    "whole-tone": (2, 2, 2, 2, 2, 2),
    "octatonic": (2, 1, 2, 1, 2, 1, 2, 1),
    "pentatonic": (2, 2, 3, 2, 3),
}
"""Scales that do not have seven letters: their steps in semitones from the tonic upwards."""

FARTHEST = 9  # sharps or flats of the farthest key that a run is named by; keys beyond seven are written with double signs
ODD_SHARE = 4  # at most one note in so many may break the scale


def fifths_of(scale: Scale) -> int:
    """Return the sharps (flats negative) of the signature that belongs to a scale of seven notes.

    >>> fifths_of(Scale("F#", "harmonic minor")), fifths_of(Scale("D", "dorian"))
    (3, 0)
    """
    if scale.tonic is None:
        raise ValueError("a chromatic run has no signature")
    place = FIFTHS[STEPS.index(scale.tonic[0])] + 7 * alter_of(scale.tonic)
    if scale.type in MODES:
        return place + MODES[scale.type]
    return place - (3 if scale.type.endswith("minor") else 0)


@lru_cache(maxsize=1024)
def alters_of(scale: Scale, ascending: bool) -> tuple[int | None, ...]:
    """Return the alterations of all letters C..B in a scale, None where it lacks the letter."""
    if scale.tonic is None or scale.type == "octatonic":
        return (None,) * 7
    tonic = STEPS.index(scale.tonic[0])
    if scale.type in COLLECTIONS:
        alters: list[int | None] = list(key_of(fifths_of(Scale(scale.tonic, "major"))).alters)
        if scale.type == "pentatonic":
            alters[(tonic + 3) % 7] = alters[(tonic + 6) % 7] = None
            return tuple(alters)
        for degree in (3, 4, 5):
            alters[(tonic + degree) % 7] = (alters[(tonic + degree) % 7] or 0) + 1
        alters[(tonic + 6) % 7] = None
        return tuple(alters)
    found = list(key_of(fifths_of(scale)).alters)
    if scale.type == "harmonic minor" or (scale.type == "melodic minor" and ascending):
        found[(tonic + 6) % 7] += 1
    if scale.type == "melodic minor" and ascending:
        found[(tonic + 5) % 7] += 1
    return tuple(found)


def alter_in(scale: Scale, letter: int, ascending: bool) -> int | None:
    """Return the alteration of a letter (0..6 for C..B) in a scale, or None where the scale does not give it one note."""
    return alters_of(scale, ascending)[letter]


def has_all_letters(scale: Scale) -> bool:
    """Return whether a scale has one note on each letter."""
    return None not in alters_of(scale, True)


@lru_cache(maxsize=512)
def classes_in(scale: Scale) -> frozenset[int]:
    """Return the pitch classes (C = 0) of a whole-tone, octatonic or pentatonic scale."""
    at = class_of(scale.tonic or "C")
    classes = set()
    for step in COLLECTIONS[scale.type]:
        classes.add(at % 12)
        at += step
    return frozenset(classes)


SCALES: dict[Scale, int] = {
    Scale(signature_scale(fifths, minor=kind != "major").tonic, kind): fifths for fifths in range(-FARTHEST, FARTHEST + 1) for kind in TYPES
}
"""Every major and minor scale a run can be named by, with the sharps of its signature."""


@cache
def scales_with(letter: int, alter: int, ascending: bool) -> frozenset[Scale]:
    """Return the scales of ``SCALES`` that have this note in this direction."""
    return frozenset(scale for scale in SCALES if alter_in(scale, letter, ascending) == alter)


def scales_of_notes(pitches: Sequence[Pitch]) -> list[frozenset[Scale]]:
    """Return for each note of a run the scales that have it; a turning note may belong to either of its legs."""
    ways = [after.diatonic > before.diatonic for before, after in pairwise(pitches)] or [True]
    found = []
    for pitch, before, after in zip(pitches, [ways[0], *ways], [*ways, ways[-1]], strict=False):
        letter, alter = pitch.diatonic % 7, int(pitch.alter)
        scales = scales_with(letter, alter, after)
        found.append(scales | scales_with(letter, alter, before) if before != after else scales)
    return found


def name_run(pitches: Sequence[Pitch], key: Key, in_force: Sequence[float], local: Scale) -> Scale | None:
    """Return the scale of a run of steps, or None where it is no run of a scale.

    ``key`` is the signature in force, ``in_force`` gives the alterations of the letters C..B that the run lacks, ``local`` is the key the
    music is in there. Notes may be foreign to the scale returned: at most one in four, and neither first nor last nor turning.
    """
    if len(pitches) < 2:
        return None
    fitting = scales_of_notes(pitches)
    shared = frozenset.intersection(*fitting)
    if not shared:
        return collection_of(pitches) or _scale_of_the_key(pitches, fitting, key, local)
    rising = any(after.diatonic > before.diatonic for before, after in pairwise(pitches))
    closed = shared
    for letter in set(range(7)) - {pitch.diatonic % 7 for pitch in pitches}:
        closed &= scales_with(letter, int(in_force[letter]), rising)
    return _closest(pitches, closed, local, False) if closed else _closest(pitches, shared, local, True)


def name_whole_run(pitches: Sequence[Pitch], key: Key, in_force: Sequence[float], local: Scale) -> Scale | None:
    """Return the scale of a run of steps (``name_run``), if it has one note on each letter."""
    scale = name_run(pitches, key, in_force, local)
    return scale if scale and has_all_letters(scale) else None


def _closest(pitches: Sequence[Pitch], candidates: frozenset[Scale], local: Scale, free: bool) -> Scale:
    """Choose among scales; ``free`` where the signature does not vouch for the letters that do not occur."""
    ends = {name_of(pitches[0]), name_of(pitches[-1])}
    home = fifths_of(local)

    def rank(scale: Scale) -> tuple[int, ...]:
        """Return how well a scale fits, the best least."""
        fifths = SCALES[scale]
        shadowed = _shadowed(scale, fifths, candidates, local)
        at_home = scale.tonic == local.tonic and (scale.type == "major") == (local.type == "major")
        fifth = signature_scale(fifths + 1, minor=scale.type != "major").tonic
        outside = not ends & {scale.tonic, fifth}
        near = abs(fifths - home)
        order = (near, outside) if free else (outside, near)
        return (shadowed, not at_home, *order, TYPES.index(scale.type), -fifths)

    return min(candidates, key=rank)


def _shadowed(scale: Scale, fifths: int, candidates: frozenset[Scale], local: Scale) -> bool:
    """Return whether a scale gives way to another that has the same notes in this run (relative keys; melodic to natural)."""
    major, minor = signature_scale(fifths), signature_scale(fifths, minor=True)
    return {major, minor} <= candidates and scale != (minor if local == minor else major)


def collection_of(pitches: Sequence[Pitch]) -> Scale | None:
    """Return the whole-tone, octatonic or pentatonic scale a run follows, a whole octave of it at least.

    An octatonic scale goes by seven letters at most: there its last note may be missing.
    """
    keys = [int(p.semitone) for p in pitches]
    steps = {abs(after - before) for before, after in pairwise(keys)}
    classes = {semitone % 12 for semitone in keys}
    for kind, pattern in COLLECTIONS.items():
        if steps != set(pattern) or len(classes) < len(pattern) - (kind == "octatonic"):
            continue
        for pitch in pitches:
            scale = Scale(name_of(pitch), kind)
            members = classes_in(scale)
            if classes <= members and _walks(keys, members):
                return scale
    return None


def _walks(semitones: Sequence[int], members: frozenset[int]) -> bool:
    """Return whether a run goes from each member of a set of pitch classes to the next, leaving none out."""
    for before, after in pairwise(semitones):
        if any(between % 12 in members for between in range(min(before, after) + 1, max(before, after))):
            return False
    return True


def _scale_of_the_key(pitches: Sequence[Pitch], fitting: Sequence[frozenset[Scale]], key: Key, local: Scale) -> Scale | None:
    """Return the scale of the key in force that a run breaks least, if only by a few notes inside its legs."""
    signature = signature_scale(key.fifths, key.mode == "minor")
    least: dict[Scale, int] = {}
    for home in dict.fromkeys((local, signature, signature_scale(key.fifths))):
        for kind in ("major",) if home.type == "major" else TYPES[1:]:
            scale = Scale(home.tonic, kind)
            good = [scale in scales for scales in fitting]
            odd = good.count(False)
            if odd * ODD_SHARE <= len(good) and _ends_stand(pitches, good):
                least.setdefault(scale, odd)
    return min(least, key=least.__getitem__, default=None)


def _ends_stand(pitches: Sequence[Pitch], good: Sequence[int]) -> bool:
    """Return whether the first, the last and every turning note belong to the scale."""
    return all(
        good[place]
        for place in range(len(good))
        if place in (0, len(good) - 1)
        or (pitches[place].diatonic > pitches[place - 1].diatonic)
        != (pitches[place + 1].diatonic > pitches[place].diatonic)
    )
