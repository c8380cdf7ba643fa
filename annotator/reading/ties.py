"""Ties: which note each tied-on note continues.

Conventions
-----------
* A note that stops a tie continues the note of the same part and the same key of the keyboard that starts one and ends where it begins.
  Of several, the one of the same voice and staff; each note is continued once.
* A stop without such a start (a second ending, a slip) leaves the note struck, and is named.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction

from annotator.reading.notes import Draft
from annotator.reading.repairs import Repairs

Ends = dict[int | Fraction | None, dict[int, list[Draft]]]
"""The notes whose tie is open, by key of the keyboard and by the tick at which they end."""

BEGIN_NOWHERE = "ties that begin nowhere, their notes read as struck"


def join_ties(notes: Sequence[Draft], tolerance: int, repairs: Repairs, place: Callable[[Draft], str]) -> None:
    """Fill in ``continues`` for the tied-on notes of one part."""
    open_ends: Ends = {}
    stops: list[Draft] = []
    for note in notes:
        if note.tie_start:
            open_ends.setdefault(_struck(note), {}).setdefault(note.tick + note.ticks, []).append(note)
        if note.tie_stop:
            stops.append(note)
    in_time = {struck: sorted(ends) for struck, ends in open_ends.items()}
    for note in stops:
        ends = open_ends.get(_struck(note), {})
        candidates = ends.get(note.tick)
        if not candidates and tolerance:
            candidates = _nearby(ends, in_time.get(_struck(note), ()), note.tick, tolerance)
        origin = _nearest(candidates or (), note)
        if candidates is None or origin is None:
            repairs.add(BEGIN_NOWHERE, place(note))
            continue
        candidates.remove(origin)
        note.continues = origin.number


def _struck(note: Draft) -> int | Fraction | None:
    """Return the key of the keyboard that a note strikes."""
    return None if note.pitch is None else note.pitch.semitone


def _nearby(ends: Mapping[int, list[Draft]], ticks: Sequence[int], tick: int, tolerance: int) -> list[Draft] | None:
    """Return the notes whose tie ends nearest, within the tolerance of rounded durations; of two as near, the earlier ones.

    ``ticks`` are those of ``ends`` in order.
    """
    near = ticks[bisect_left(ticks, tick - tolerance) : bisect_right(ticks, tick + tolerance)]
    return next((ends[at] for at in sorted(near, key=lambda at: (abs(at - tick), at)) if ends[at]), None)


def _nearest(candidates: Sequence[Draft], note: Draft) -> Draft | None:
    """Return the candidate that suits best: not the note itself, same voice and staff, same spelling, latest."""
    suited = [other for other in candidates if other.number != note.number]
    if len(suited) < 2:
        return suited[0] if suited else None
    return max(
        suited,
        key=lambda other: (
            other.voice == note.voice,
            other.staff == note.staff,
            other.pitch == note.pitch,
            other.number,
        ),
    )
