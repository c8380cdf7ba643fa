"""The key the music is in: the home key of a piece, and the key bar by bar.

Conventions
-----------
* Pitches are places on the line of fifths, by their spelling: F -1, C 0, G 1 … B♭ -2, F♯ 6. A key is named by the sharps of its
  signature (flats negative) and by whether it is minor; its tonic then stands at ``sharps`` or ``sharps + 3``.
* A key is returned as a major or natural minor scale. Every stretch under one signature is looked at by itself.

The home key
------------
The signature leaves six keys: its own major and minor, and those one fifth to either side. For each is summed what speaks for it: a
piece ends on its tonic in the bass and mostly with its chord, begins with them or with the dominant, and its notes fit the scale, those of
the first and last bars twice; a minor key raises its seventh. A minor key that the source declares counts, but does not decide.

The key of a bar
----------------
In each bar every key within ``REACH`` fifths of the signature is weighed: each different note counts by its degree in that key, twice if it
comes twice, the bass note once more. The row of keys with the greatest sum is taken, where it costs ``CHANGE`` to go to another key and
the key of the signature starts ``HOME`` ahead: so one foreign note changes nothing, and a stretch that has left the key does.
A minor key is heard by its raised seventh; without one it does not outweigh the major key of the same
signature, unless the source declares it.

Source
------
Where a piece begins and ends: common practice, no source. The method for bars (degree weights and a price for change) is the common one of
key finding by profiles; the weights were set by hand and tried on published analyses of keyboard preludes and chorales, those of the home
key on pieces that are named by their key (figures in the tests).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import groupby
from typing import NamedTuple

from annotator.music.names import Scale, spelled
from annotator.music.score import SIGNATURE_ORDER, STEPS, Bar, Note, Part, Pitch

REACH = 5  # fifths
FARTHEST = 12  # sharps or flats of the farthest key that is weighed
CHANGE = 12  # weights that going to another key costs
HOME = 10  # weights that the key of the signature is ahead at the start
STAY, DECLARED = 1, 4  # weights a bar for the key of the signature; for a minor key that the source declares
MAJOR = {0: 5, 1: 4, 4: 4, -1: 2, 2: 2, 3: 2, 5: 2}
MINOR = {0: 5, 1: 4, -3: 4, -1: 1, 2: 2, -4: 2, -2: -3, 5: 6, 3: 0}
"""Weight of a note by its distance from the tonic on the line of fifths: 5 is the leading note, -2 the natural seventh of minor."""
SIGNED, DECLARED_HOME = 6, 4  # what speaks for the two keys of the signature as home; for the minor one, where the source declares it
FIT, ENDS_ON_TONIC, ENDS_WITH_CHORD, BEGINS, BEGINS_WITH_CHORD, LEADING = 4, 3, 2, 3, 3, 2
"""The same of the notes: how they fit (times -4 to 6), the bass at the end, the last chord, the bass and the chord of the beginning, and a
leading note in minor."""
FOREIGN = -4  # weight of a note that the key lacks
EDGE = 4  # bars of the beginning, and of the end, whose notes count twice for the home key


@lru_cache(maxsize=256)
def signature_scale(fifths: int, minor: bool = False) -> Scale:
    """Return the scale that a key signature stands for: major, or the natural minor relative to it.

    >>> signature_scale(-1), signature_scale(3, minor=True)
    (Scale(tonic='F', type='major'), Scale(tonic='F#', type='natural minor'))
    """
    place = fifths + 1 + (3 if minor else 0)  # on the line of fifths, F = 0
    letter = STEPS.index(SIGNATURE_ORDER[place % 7])
    return Scale(spelled(letter, place // 7), "natural minor" if minor else "major")


class _Edges(NamedTuple):
    """What is heard of a piece for its home key: places on the line of fifths.

    ``first`` and ``downbeat`` are the lowest notes of the first moment and of the first full bar, ``opening`` all notes of that bar and
    of the bar before; ``last`` is the lowest note of the last moment, ``lowest`` that of the last bar, ``final`` are all notes of the last
    moment, held ones too. ``weights`` say how long each note sounds, in ticks.
    """

    first: int
    downbeat: int
    opening: frozenset[int]
    last: int
    lowest: int
    final: frozenset[int]
    weights: dict[int, int]


def home_key(*parts: Part) -> Scale:
    """Return the key of a whole piece, as a major or natural minor scale. ``parts`` are those to listen to, at least one.

    Raises ``ValueError`` where no part has bars.
    """
    bars = next((part.bars for part in parts if part.bars), None)
    if bars is None:
        raise ValueError("a piece without bars has no key")
    notes = sorted((note for part in parts for note in part.notes if not (note.grace or note.tablature)), key=lambda note: note.tick)
    key = bars[notes[0].bar if notes else 0].key
    declared = key.mode == "minor"  # programs write "major" where nobody chose, so it says nothing
    if not notes:
        return signature_scale(key.fifths, declared)
    edges = _edges(notes, bars)
    keys = [(sharps, minor) for sharps in (key.fifths, key.fifths + 1, key.fifths - 1) for minor in (False, True)]
    own = {(key.fifths, minor): SIGNED + DECLARED_HOME * (minor and declared) for minor in (False, True)}
    return signature_scale(*max(keys, key=lambda one: own.get(one, 0) + _evidence(edges, *one)))


def _edges(notes: Sequence[Note], bars: Sequence[Bar]) -> _Edges:
    """Return what is heard at the beginning and the end of a piece; ``notes`` in time order."""

    def lowest(some: Iterable[Note]) -> int:
        """Return the place of the lowest note."""
        return min(some, key=lambda note: note.pitch.semitone).pitch.fifths

    begins, ends = notes[0].tick, notes[-1].tick
    first_bar, last_bar = notes[0].bar, max(note.bar for note in notes)
    full = next((bar.index for bar in bars[first_bar:] if not bar.offset), first_bar)
    opening = [note for note in notes if note.bar <= full]
    final = [note for note in notes if note.tick + note.ticks > ends or note.tick == ends]
    weights: Counter[int] = Counter()
    for note in notes:
        weights[note.pitch.fifths] += note.ticks << (note.bar < first_bar + EDGE) << (note.bar > last_bar - EDGE)
    return _Edges(
        lowest(note for note in notes if note.tick == begins),
        lowest([note for note in opening if note.bar == full] or opening),
        frozenset(note.pitch.fifths for note in opening),
        lowest(final),
        lowest(note for note in notes if note.bar == last_bar),
        frozenset(note.pitch.fifths for note in final),
        weights,
    )


def _evidence(edges: _Edges, sharps: int, minor: bool) -> float:
    """Return how much the notes of a piece speak for a key, given by the sharps of its signature."""
    tonic = sharps + (3 if minor else 0)
    third, dominant = tonic + (-3 if minor else 4), tonic + 1
    degrees = MINOR if minor else MAJOR
    fit = sum(degrees.get(place - tonic, FOREIGN) * weight for place, weight in edges.weights.items()) / max(1, sum(edges.weights.values()))
    told = FIT * fit + ENDS_ON_TONIC * ((edges.last == tonic) + (edges.lowest == tonic))
    if tonic in edges.final:
        told += ENDS_WITH_CHORD * (1 if third in edges.final else 0.5 if minor and tonic + 4 in edges.final else 0)  # Picardy third
    told += sum(BEGINS * (1 if bass == tonic else 0.5 if bass == dominant else 0) for bass in (edges.first, edges.downbeat))
    told += BEGINS_WITH_CHORD * ({tonic, third} <= edges.opening) + BEGINS_WITH_CHORD * ({tonic, third, dominant} <= edges.opening)
    if minor:
        raised, natural = edges.weights.get(tonic + 5, 0), edges.weights.get(tonic - 2, 0)
        told += LEADING * (raised / (raised + natural) - 0.5) if raised + natural else -1
    return told


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
