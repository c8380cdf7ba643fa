"""Ties: which note each tied-on note continues.

Conventions
-----------
* A note that stops a tie continues the note of the same part and the same key of the keyboard that starts one and ends where it begins.
  Of several, the one of the same voice and staff; each note is continued once.
* A stop without such a start (a second ending, a slip) leaves the note struck, and is named.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction

from annotator.reading.notes import Draft
from annotator.reading.repairs import Repairs

Ends = dict[tuple[int | Fraction | None, int], list[Draft]]

BEGIN_NOWHERE = "ties that begin nowhere, their notes read as struck"


def join_ties(notes: Sequence[Draft], tolerance: int, repairs: Repairs, place: Callable[[Draft], str]) -> None:
    """Fill in ``continues`` for the tied-on notes of one part."""
    open_ends: Ends = {}
    stops: list[Draft] = []
    for note in notes:
        if note.tie_start:
            open_ends.setdefault((_struck(note), note.tick + note.ticks), []).append(note)
        if note.tie_stop:
            stops.append(note)
    for note in stops:
        candidates = open_ends.get((_struck(note), note.tick))
        if not candidates and tolerance:
            candidates = _nearby(open_ends, note, tolerance)
        origin = _nearest(candidates or (), note)
        if candidates is None or origin is None:
            repairs.add(BEGIN_NOWHERE, place(note))
            continue
        candidates.remove(origin)
        note.continues = origin.number


def _struck(note: Draft) -> int | Fraction | None:
    """Return the key of the keyboard that a note strikes."""
    return None if note.pitch is None else note.pitch.semitone


def _nearby(open_ends: Ends, note: Draft, tolerance: int) -> list[Draft] | None:
    """Return the notes whose tie ends within the tolerance of rounded durations."""
    for away in range(1, tolerance + 1):
        for tick in (note.tick - away, note.tick + away):
            if found := open_ends.get((_struck(note), tick)):
                return found
    return None


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
