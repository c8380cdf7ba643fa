"""One part being cut: the bars taken, as copies, and the bars around them as they stand in the user's document."""

from __future__ import annotations

import copy
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from lxml import etree

from annotator.music.score import Note
from annotator.products.excerpts.moments import Clock, Moment
from annotator.products.excerpts.selection import Taken
from annotator.reading.parts import Measure, PartLayout


@dataclass(frozen=True, slots=True)
class Section:
    """One part being cut.

    ``bars`` are all bars of the part in the user's document, walked through; ``measures`` are the copies of those taken. ``twins`` gives
    the copy of each element of a bar taken, ``pitched`` the pitched notes of those bars by their number, ``continues`` the number of the
    note that a note (by number) is tied from, for the whole part. ``divisions`` are those in force at the start of each bar,
    ``lengths`` how long each bar is, in quarter notes.
    """

    taken: Taken
    part: str
    bars: tuple[tuple[Moment, ...], ...]
    measures: tuple[Any, ...]
    twins: dict[Any, Any]
    pitched: dict[int, Note]
    continues: dict[int, int]
    divisions: tuple[Fraction, ...]
    lengths: tuple[Fraction, ...]

    @property
    def before(self) -> tuple[tuple[Moment, ...], ...]:
        """The bars before the cut."""
        return self.bars[: self.taken.bars.start]

    @property
    def first(self) -> tuple[Moment, ...]:
        """The first bar taken, in the user's document."""
        return self.bars[self.taken.bars.start]

    def twin(self, element: Any) -> Any:
        """Return the copy of an element if it is in the excerpt, else None."""
        found = self.twins.get(element)
        return None if found is None or _top(found).tag != "measure" else found


def section_of(layout: PartLayout, taken: Taken, resolution: int) -> Section:
    """Copy the bars taken of a part. ``resolution`` is that of the score."""
    clock = Clock()
    divisions, bars = [], []
    for index, measure in enumerate(layout.measures):
        divisions.append(clock.divisions)
        bars.append(tuple(clock.bar(index, measure.content if measure.content is not None else ())))
    twins: dict[Any, Any] = {}
    measures = tuple(_copied(layout.measures[index], twins) for index in taken.bars)
    notes = taken.part.notes
    return Section(
        taken,
        layout.id,
        tuple(bars),
        measures,
        twins,
        {note.number: note for note in notes if note.bar in taken.bars},
        {note.number: note.continues for note in notes if note.continues is not None},
        tuple(divisions),
        tuple(Fraction(bar.ticks, resolution) for bar in taken.part.bars),
    )


def _copied(measure: Measure, twins: dict[Any, Any]) -> Any:
    """Return a copy of a bar as a ``<measure>`` of a partwise score, and note each element's twin."""
    content = measure.content
    if content is None:
        made = etree.Element("measure", {"number": measure.number})
        if measure.implicit:
            made.set("implicit", "yes")
        return made
    framed = content if content.tag == "measure" else content.getparent()
    made = etree.Element("measure", dict(framed.attrib))
    for child in content:
        twin = copy.deepcopy(child)
        twins.update(zip(child.iter(), twin.iter(), strict=True))
        made.append(twin)
    return made


def _top(element: Any) -> Any:
    """Return the outermost element that an element is in."""
    while element.getparent() is not None:
        element = element.getparent()
    return element
