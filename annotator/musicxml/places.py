"""Where in the document a mark can stand: before or after whole chords, in document order.

Conventions
-----------
* Notes are known by their number among all ``<note>`` elements of the document, rests counted, from 1.
* A chord is a note and those behind it that say ``<chord/>``. Other things may stand between them; a chord ends with its bar.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from annotator.marks.marking import Mark
from annotator.music.score import Bar, Note, Part


class Places:
    """The notes of a document: ``leads`` and ``finals`` give the number of the first and last note of each note's chord.

    ``parts`` are those of the score that was read from it.
    """

    def __init__(self, notes: Iterable[Any], parts: Iterable[Part]) -> None:
        self._elements = list(notes)
        self._parts = {part.id: part for part in parts}
        self.leads: list[int] = []
        for number, note in enumerate(self._elements, 1):
            joined = number > 1 and note.find("chord") is not None
            if joined and self._elements[number - 2].getparent() is note.getparent():
                self.leads.append(self.leads[-1])
            else:
                self.leads.append(number)
        self.finals = [0] * len(self.leads)
        for number in range(len(self.leads), 0, -1):
            follows = number < len(self.leads) and self.leads[number] == self.leads[number - 1]
            self.finals[number - 1] = self.finals[number] if follows else number

    def element(self, number: int) -> Any:
        """Return the ``<note>`` with that number."""
        return self._elements[number - 1]

    def lead(self, number: int) -> Any:
        """Return the leading ``<note>`` of the chord of the note with that number."""
        return self._elements[self.leads[number - 1] - 1]

    def final(self, number: int) -> Any:
        """Return the last ``<note>`` of the chord of the note with that number."""
        return self._elements[self.finals[number - 1] - 1]

    def voice(self, number: int) -> str | None:
        """Return the voice that the note with that number names, word for word."""
        text: str | None = self.element(number).findtext("voice")
        return text

    def part(self, number: int) -> str:
        """Return the id of the document's part that holds the note with that number."""
        return next((str(part.get("id", "")) for part in self.element(number).iterancestors("part")), "")

    def staff(self, mark: Mark) -> tuple[int, int]:
        """Return the staff of a mark in the part of the document, and how many there are: one, where a piano is written as two parts."""
        part = self._parts[mark.part]
        return (1, 1) if part.halves else (mark.staff, part.staves)

    def stop(self, mark: Mark) -> tuple[int, str | None]:
        """Return the number of the note behind which a mark's bracket stops, and the ``<offset>`` it needs there.

        That is its last note, without an offset, unless that stands before the first one in the document or in another part of it. Then it
        is the latest of its struck notes in that part; the offset leads to where the last one ends, as far as that lies in the bar.
        """
        home = self.part(mark.first.number)
        if self.leads[mark.last.number - 1] >= self.leads[mark.first.number - 1] and self.part(mark.last.number) == home:
            return mark.last.number, None
        struck = [note for note in mark.notes if note.continues is None and self.part(note.number) == home]
        latest = max([mark.first, *struck], key=lambda note: note.number)
        return latest.number, self._offset(latest, mark.last, self._parts[mark.part].bars[latest.bar])

    def _offset(self, here: Note, there: Note, bar: Bar) -> str | None:
        """Return how far one note ends from where another ends, in the divisions in force, within the bar; None if it is nothing."""
        end = min(max(there.tick + there.ticks, bar.tick), bar.tick + bar.ticks)
        distance = end - here.tick - here.ticks
        written = self.element(here.number).findtext("duration")
        if not distance or not here.ticks or not written:
            return None
        try:
            offset = Fraction(written) * distance / here.ticks
        except ValueError:
            return None
        return str(offset.numerator) if offset.denominator == 1 else None
