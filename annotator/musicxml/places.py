"""Where in the document a mark stands, before or after whole chords, and which bracket number is free there.

Conventions
-----------
* Notes are known by their number among all ``<note>`` elements of the document, rests counted, from 1. A chord is a note and those behind
  it that say ``<chord/>``; other things may stand between them; it ends with its bar.
* Places are whole numbers in document order: ``2 n`` is right before the note with the number n, ``2 n + 1`` right after it.
* MusicXML has the bracket numbers 1 to 16. They keep apart what overlaps *in document order*, in which a whole bar of one staff stands
  before the other staff: so each staff has its own, of two staves the upper from 1 on, the lower from 9 back, of more the sixteen in equal
  shares. Not every program takes numbers above 9 (MuseScore 3 drops such brackets): these come last.
* A number that the source gives to a bracket is left alone in that part: in document order its stop may come before its start, as one
  voice is written after another, and nobody can say how far other programs take such a bracket to be open.

Rule: in document order each bracket takes the first number of its staff that is free from its start to its stop.
Source: MusicXML 4.0 (W3C), ``number-level``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Any

from annotator.marks.marking import Mark
from annotator.music.score import Bar, Note, Part

LEVELS = 16
TWO_STAVES = {1: (1, 2, 3, 4, 10, 11, 12, 13), 2: (9, 8, 7, 6, 5, 14, 15, 16)}
OLD_LEVELS = 6  # of MusicXML 3.1 and before

Span = tuple[int, int]
"""The places of a bracket's start and stop."""


class Places:
    """The notes of a document: ``leads`` gives the number of the first note of each note's chord.

    ``parts`` are those of the score that was read from it.
    """

    def __init__(self, notes: Iterable[Any], parts: Iterable[Part]) -> None:
        self._elements = dict(enumerate(notes, 1))
        self._parts = {part.id: part for part in parts}
        self.leads: dict[int, int] = {}
        for number, note in self._elements.items():
            joined = number > 1 and note.find("chord") is not None and self._elements[number - 1].getparent() is note.getparent()
            self.leads[number] = self.leads[number - 1] if joined else number
        self._finals = {lead: number for number, lead in self.leads.items()}  # of a chord's notes the last one stays

    def element(self, number: int) -> Any:
        """Return the ``<note>`` with that number."""
        return self._elements[number]

    def lead(self, number: int) -> Any:
        """Return the leading ``<note>`` of the chord of the note with that number."""
        return self.element(self.leads[number])

    def final(self, number: int) -> Any:
        """Return the last ``<note>`` of the chord of the note with that number."""
        return self.element(self._finals[self.leads[number]])

    def part(self, number: int) -> str:
        """Return the id of the document's part that holds the note with that number."""
        return next((str(part.get("id", "")) for part in self.element(number).iterancestors("part")), "")

    def staff(self, mark: Mark) -> tuple[int, int]:
        """Return the staff of a mark in the part of the document, and how many there are: one, where a piano is written as two parts."""
        part = self._parts[mark.part]
        return (1, 1) if part.halves else (mark.staff, part.staves)

    def span(self, mark: Mark) -> Span:
        """Return where the bracket of a mark starts and stops."""
        return 2 * self.leads[mark.first.number], 2 * self._finals[self.leads[self.stop(mark)[0]]] + 1

    def stop(self, mark: Mark) -> tuple[int, str | None]:
        """Return the number of the note behind which a mark's bracket stops, and the ``<offset>`` it needs there.

        That is its last note, without an offset, unless that stands before the first one in the document or in another part of it. Then it
        is the latest of its struck notes in that part; the offset leads to where the last one ends, as far as that lies in the bar.
        """
        home = self.part(mark.first.number)
        if self.leads[mark.last.number] >= self.leads[mark.first.number] and self.part(mark.last.number) == home:
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


def bracket_numbers(root: Any, places: Places, marks: Sequence[Mark]) -> list[int | None]:
    """Return the bracket number of each mark; None where none is free."""
    taken: dict[str, set[str]] = defaultdict(set)
    for bracket in root.iter("bracket"):
        part = next((above.get("id", "") for above in bracket.iterancestors("part")), "")
        taken[part].add(bracket.get("number", "1"))
    wanted = []
    for mark in marks:
        part = places.part(mark.first.number)
        wanted.append((part, places.span(mark), [level for level in levels_of(*places.staff(mark)) if str(level) not in taken[part]]))
    return number_brackets(wanted)


def number_brackets(wanted: Sequence[tuple[str, Span, Sequence[int]]]) -> list[int | None]:
    """Return the number of each bracket, from its part, span and levels, in the order given; None where none of its levels is free."""
    numbers: list[int | None] = [None] * len(wanted)
    free_after: dict[tuple[str, int], int] = defaultdict(lambda: -1)
    for place in sorted(range(len(wanted)), key=lambda place: wanted[place][1][0]):
        part, (start, stop), levels = wanted[place]
        number = numbers[place] = next((level for level in levels if free_after[part, level] < start), None)
        if number is not None:
            free_after[part, number] = stop
    return numbers


def levels_of(staff: int, staves: int) -> Sequence[int]:
    """Return the numbers that brackets of a staff may take, in the order in which they are taken; none where the staves are too many.

    >>> levels_of(1, 2), levels_of(2, 2), levels_of(3, 3)
    ((1, 2, 3, 4, 10, 11, 12, 13), (9, 8, 7, 6, 5, 14, 15, 16), range(11, 16))
    """
    if staves <= 2:
        return TWO_STAVES.get(max(staff, 1), ())
    share = max(1, LEVELS // staves)
    first = share * (max(staff, 1) - 1) + 1
    return range(first, first + share) if first + share <= LEVELS + 1 else range(0)
