"""One part being cut: the bars taken, as copies, and the bars around them as they stand in the user's document."""

from __future__ import annotations

import copy
from dataclasses import dataclass
from typing import Any

from lxml import etree

from annotator.excerpts.moments import Clock, Moment
from annotator.excerpts.selection import Taken
from annotator.reading.layout import Measure, PartLayout


@dataclass(frozen=True, slots=True)
class Section:
    """One part being cut.

    ``bars`` are all bars of the part in the user's document, walked through; ``measures`` are the copies of those taken. ``twins`` gives
    the copy of each element of a bar taken, ``pitched`` the user's ``<note>`` by the note's number, for the pitched notes of those bars;
    ``continues`` the number of the note that a note (by number) is tied from, for the whole part.
    """

    taken: Taken
    part: str
    bars: tuple[tuple[Moment, ...], ...]
    measures: tuple[Any, ...]
    twins: dict[Any, Any]
    pitched: dict[int, Any]
    continues: dict[int, int]

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
        if found is None:
            return None
        top = found
        while top.getparent() is not None:
            top = top.getparent()
        return found if top.tag == "measure" else None


def section_of(layout: PartLayout, taken: Taken) -> Section:
    """Copy the bars taken of a part."""
    clock = Clock()
    bars = tuple(
        tuple(clock.bar(index, measure.content if measure.content is not None else ()))
        for index, measure in enumerate(layout.measures)
    )
    twins: dict[Any, Any] = {}
    measures = tuple(_copied(layout.measures[index], twins) for index in taken.bars)
    notes = taken.part.notes
    return Section(
        taken,
        layout.id,
        bars,
        measures,
        twins,
        {note.number: note.element for note in notes if note.bar in taken.bars},
        {note.number: note.continues for note in notes if note.continues is not None},
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
    made.extend([copy.deepcopy(child) for child in content])
    for old, new in zip((each for child in content for each in child.iter()), (each for child in made for each in child.iter()), strict=True):
        twins[old] = new
    return made
