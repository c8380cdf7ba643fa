"""Notes drafted → notes finished: absolute times, the key in force, beam groups.

Conventions
-----------
* Equal times share one ``Fraction``, equal keys one ``Key``.
* Beam groups are those of the first beam level, numbered through the part; grace notes are beamed among themselves. Chord members belong
  to the group of the note they are struck with.
* A note whose pitch cannot be understood takes its time but is left out, and that is named.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from fractions import Fraction
from typing import Any

from annotator.reading.attributes import set_key
from annotator.reading.bars import start_keys
from annotator.reading.measures import BarDraft
from annotator.reading.notes import Draft
from annotator.reading.repairs import Repairs
from annotator.score import Key, Note

NO_PITCH = "notes without a pitch that makes sense, left out"


class Quarters(dict[int, Fraction]):
    """Times in quarter notes, by ticks of a score: each is worked out once, and shared."""

    def __init__(self, resolution: int) -> None:
        super().__init__()
        self._resolution = resolution

    def __missing__(self, tick: int) -> Fraction:
        """Work out a time that is asked for the first time."""
        found = self[tick] = Fraction(tick, self._resolution)
        return found


class Placing:
    """Finishes the notes of one part. ``quarters`` are the score's times, ``lowest_staff`` is the greatest staff number met."""

    def __init__(self, part: str, quarters: Quarters, repairs: Repairs) -> None:
        self.lowest_staff = 1
        self.quarters = quarters
        self._part = part
        self._repairs = repairs
        self._groups: dict[tuple[str, bool], int] = {}
        self._beams = 0

    def place(self, bar: BarDraft, index: int, start: int, place: str) -> Iterator[Draft]:
        """Yield the notes of a bar that starts at tick ``start``, in document order, with all that is known of them but their ties."""
        key_at = _key_finder(bar)
        quarters, part = self.quarters, self._part
        beam: int | None = None
        for note in bar.notes:
            if note.beam:
                beam = self._group(note)
            elif not note.chord:
                beam = None
            if note.pitch is None:
                self._repairs.add(NO_PITCH, place)
                continue
            staff, at = note.staff, note.tick
            if staff > self.lowest_staff:
                self.lowest_staff = staff
            get = note.element.get
            note.id = get("id") or f"n{note.number}"
            note.hidden = get("print-object") == "no"
            note.part, note.bar = part, index
            note.tick = tick = start + at
            note.onset, note.duration = quarters[tick], quarters[note.ticks]
            note.key = key_at(staff, at)
            note.beam = beam
            yield note

    def _group(self, note: Draft) -> int | None:
        """Return the beam group of a note, opening and closing groups as its beam says."""
        kind = note.beam
        voice = (note.voice, note.grace)
        if kind == "begin" or (kind in ("continue", "end") and voice not in self._groups):
            self._beams += 1
            self._groups[voice] = self._beams
        group = self._groups.get(voice)
        if kind == "end":
            self._groups.pop(voice, None)
        return group if kind in ("begin", "continue", "end") else None


def finished(drafts: Iterable[Draft]) -> tuple[Note, ...]:
    """Return the drafts as the notes they have become: nothing can be set in them any more. The slots of both classes are the same."""
    notes: list[Any] = list(drafts)
    for note in notes:
        note.__class__ = Note
    return tuple(notes)


def _key_finder(bar: BarDraft) -> Callable[[int, int], Key]:
    """Return a function that gives the key in force on a staff at a tick of the bar."""
    keys = start_keys(bar)
    later = sorted((change for change in bar.changes if change[0] > 0), key=lambda change: change[0])
    default = keys[None]
    if not later:
        if len(keys) == 1:
            return lambda staff, at: default
        return lambda staff, at: keys.get(staff, default)

    def key_at(staff: int, at: int) -> Key:
        """Return the key of a staff at a tick."""
        now = dict(keys)
        for when, where, key in later:
            if when <= at:
                set_key(now, where, key)
        return now.get(staff, now[None])

    return key_at
