"""Notes drafted → notes finished: absolute times, the key in force, beam groups.

Conventions
-----------
* Equal times share one ``Fraction``, equal keys one ``Key``.
* Beam groups are those of the first beam level, numbered through the part; grace notes are beamed among themselves. Chord members belong
  to the group of the note they are struck with.
* A note whose pitch cannot be understood takes its time but is left out, and that is named.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from operator import attrgetter

from annotator.music.score import Note
from annotator.reading.attributes import Keys, set_key
from annotator.reading.bars import start_keys
from annotator.reading.measures import BarDraft
from annotator.reading.notes import Draft
from annotator.reading.repairs import Repairs

BEAMED = ("continue", "begin", "end")
_said = attrgetter(*Draft.__slots__)  # all that a draft says, in the order in which a note takes it
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

    def place(self, bar: BarDraft, index: int, start: int, place: str) -> list[Draft]:
        """Return the notes of a bar that starts at tick ``start``, in document order, with all that is known of them but their ties."""
        keys = start_keys(bar)
        key, part, quarters = keys[None], self._part, self.quarters
        beam: int | None = None
        placed = []
        for note in bar.notes:
            if note.beam:
                beam = self._group(note)
            elif not note.chord:
                beam = None
            if note.pitch is None:
                self._repairs.add(NO_PITCH, place)
                continue
            element = note.element
            named = element.keys()  # to ask for one that is not there takes longer than to list them all
            note.id = (element.get("id") if "id" in named else None) or f"n{note.number}"
            note.hidden = "print-object" in named and element.get("print-object") == "no"
            note.part, note.bar, note.key, note.beam = part, index, key, beam
            note.tick = tick = start + note.tick
            note.onset, note.duration = quarters[tick], quarters[note.ticks]
            if note.staff > self.lowest_staff:
                self.lowest_staff = note.staff
            placed.append(note)
        if len(keys) > 1 or bar.changes:
            _set_keys(placed, keys, bar, start)
        return placed

    def _group(self, note: Draft) -> int | None:
        """Return the beam group of a note, opening and closing groups as its beam says."""
        kind, voice = note.beam, (note.voice, note.grace)
        if kind not in BEAMED:
            return None
        group = self._groups.get(voice)
        if group is None or kind == "begin":
            self._beams += 1
            group = self._groups[voice] = self._beams
        if kind == "end":
            del self._groups[voice]
        return group


def finished(drafts: Iterable[Draft]) -> tuple[Note, ...]:
    """Return the drafts as notes: nothing can be set in them any more."""
    return tuple([Note(*_said(draft)) for draft in drafts])


def _set_keys(notes: Iterable[Draft], keys: Keys, bar: BarDraft, start: int) -> None:
    """Give each note of a bar the key in force on its staff at its tick. ``keys`` are those at the bar's start, ``start`` is its tick."""
    later = sorted((change for change in bar.changes if change[0] > 0), key=lambda change: change[0])
    for note in notes:
        now = keys
        if later and later[0][0] <= note.tick - start:
            now = dict(keys)
            for when, where, key in later:
                if when <= note.tick - start:
                    set_key(now, where, key)
        note.key = now.get(note.staff, now[None])
