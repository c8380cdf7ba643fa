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

from annotator.marking import Mark
from annotator.score import Note


class Places:
    """The notes of a document: ``leads`` and ``finals`` give the number of the first and last note of each note's chord."""

    def __init__(self, notes: Iterable[Any]) -> None:
        self._elements = list(notes)
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

    def stop(self, mark: Mark) -> tuple[int, str | None]:
        """Return the number of the note behind which a mark's bracket stops, and the ``<offset>`` it needs there.

        That is its last note, without an offset, unless that stands before the first one in the document.
        """
        if self.leads[mark.last.number - 1] >= self.leads[mark.first.number - 1]:
            return mark.last.number, None
        latest = max(mark.notes, key=lambda note: note.number)
        return latest.number, self._offset(latest, mark.last)

    def _offset(self, here: Note, there: Note) -> str | None:
        """Return how far the end of one note is from the end of another, in the divisions in force; None if it is nothing."""
        distance = there.onset + there.duration - here.onset - here.duration
        written = self.element(here.number).findtext("duration")
        if not distance or not here.duration or not written:
            return None
        try:
            divisions = Fraction(written) / here.duration
        except ValueError:
            return None
        offset = divisions * distance
        return str(offset.numerator) if offset.denominator == 1 else None
