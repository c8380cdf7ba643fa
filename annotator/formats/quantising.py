"""Played times moved to written ones: each beat gets the coarsest division that its onsets fit.

Rule
----
* A quarter is divided in 1, 2, 3, 4, 6, 8, 12 or 16. The coarsest division is taken whose grid every onset of the beat meets within a
  64th of a quarter; where none does (a performance), the one with the smallest mean distance, each further division costing a little.
* An end that meets a fine grid exactly stays; else it moves to the next onset of the same hand if that is near, or to the beat's grid.
  No note gets shorter than one step of its grid.

Source: common practice, no source; the values were set by trying files made from scores and files with small deviations.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction

from annotator.formats.midi_events import Stroke

DIVISIONS = (1, 2, 3, 4, 6, 8, 12, 16)
CLOSE = Fraction(1, 64)
NEAR = Fraction(1, 6)
_PRICE = 0.006  # quarters of mean distance that one more part of a beat costs


def quantised(strokes: Sequence[Stroke]) -> list[Stroke]:
    """Return the strokes of one hand or voice at written times, those of one key and onset only once."""
    beats: dict[int, list[Fraction]] = defaultdict(list)
    for stroke in strokes:
        beats[int(stroke.onset)].append(stroke.onset - int(stroke.onset))
        if 1 - (stroke.onset - int(stroke.onset)) < NEAR:
            beats[int(stroke.onset) + 1]  # a beat that may be struck a little early
    division = {beat: _division(places) for beat, places in beats.items()}
    onsets = [_moved(stroke.onset, division[int(stroke.onset)]) for stroke in strokes]
    struck = sorted(set(onsets))
    written: dict[tuple[Fraction, int], Stroke] = {}
    for stroke, onset in zip(strokes, onsets, strict=True):
        following = bisect_left(struck, stroke.end)
        near = [place for place in struck[max(0, following - 1) : following + 1] if place > onset]
        step = Fraction(1, max(division[int(stroke.onset)], 2))
        end = max(_end(stroke.end, near, step), onset + Fraction(1, division[int(stroke.onset)] * 2))
        other = written.get((onset, stroke.key))
        if other is None or other.end < end:
            written[onset, stroke.key] = Stroke(onset, end, stroke.key, stroke.track, stroke.channel)
    return sorted(written.values(), key=lambda stroke: (stroke.onset, stroke.key))


def _division(places: Sequence[Fraction]) -> int:
    """Return how a beat is divided whose onsets stand at these places (0 to 1).

    >>> _division([Fraction(0), Fraction(1, 3), Fraction(65, 97)]), _division([Fraction(3, 4)]), _division([])
    (3, 4, 1)
    """
    for parts in DIVISIONS:
        if all(_distance(place, parts) <= CLOSE for place in places):
            return parts
    return min(DIVISIONS, key=lambda parts: sum(float(_distance(place, parts)) for place in places) / len(places) + _PRICE * parts)


def _distance(place: Fraction, parts: int) -> Fraction:
    """Return how far a place is from the nearest line of a grid."""
    return abs(place - Fraction(round(place * parts), parts))


def _moved(time: Fraction, parts: int) -> Fraction:
    """Return the nearest line of a grid."""
    return Fraction(round(time * parts), parts)


def _end(end: Fraction, onsets: Sequence[Fraction], step: Fraction) -> Fraction:
    """Return where a note ends on paper."""
    for parts in (8, 12):
        if _distance(end, parts) <= Fraction(1, 480):
            return _moved(end, parts)
    near = min(onsets, key=lambda onset: abs(onset - end), default=None)
    if near is not None and abs(near - end) <= NEAR:
        return near
    return max(step, Fraction(round(end / step)) * step)
