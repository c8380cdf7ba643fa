"""Ties: which note each tied-on note continues.

Conventions
-----------
* A note that stops a tie continues the note of the same part and the same key of the keyboard that starts one and ends where it begins.
  Of several, the one of the same voice and staff; each note is continued once.
* A stop without such a start (a second ending, a slip) leaves the note struck, and is named.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from annotator.reading.repairs import Repairs
from annotator.score import Note

BEGIN_NOWHERE = "ties that begin nowhere, their notes read as struck"


def join_ties(notes: list[Note], tolerance: int, repairs: Repairs, place: Callable[[Note], str]) -> None:
    """Fill in ``continues`` for the tied-on notes of one part, in place in the list."""
    open_ends: dict[tuple[object, int], list[Note]] = {}
    stops: list[tuple[int, Note]] = []
    for index, note in enumerate(notes):
        if note.tie_start:
            open_ends.setdefault((note.pitch.semitone, note.tick + note.ticks), []).append(note)
        if note.tie_stop:
            stops.append((index, note))
    for index, note in stops:
        candidates = open_ends.get((note.pitch.semitone, note.tick))
        if not candidates and tolerance:
            candidates = _nearby(open_ends, note, tolerance)
        origin = _nearest(candidates or (), note)
        if candidates is None or origin is None:
            repairs.add(BEGIN_NOWHERE, place(note))
            continue
        candidates.remove(origin)
        notes[index] = replace(note, continues=origin.number)


def _nearby(open_ends: dict[tuple[object, int], list[Note]], note: Note, tolerance: int) -> list[Note] | None:
    """Return the notes whose tie ends within the tolerance of rounded durations."""
    for away in range(1, tolerance + 1):
        for tick in (note.tick - away, note.tick + away):
            if found := open_ends.get((note.pitch.semitone, tick)):
                return found
    return None


def _nearest(candidates: tuple[Note, ...] | list[Note], note: Note) -> Note | None:
    """Return the candidate that suits best: not the note itself, same voice and staff, same spelling, latest."""
    suited = [other for other in candidates if other.number != note.number]
    if not suited:
        return None
    return max(
        suited,
        key=lambda other: (
            other.voice == note.voice,
            other.staff == note.staff,
            other.pitch == note.pitch,
            other.number,
        ),
    )
