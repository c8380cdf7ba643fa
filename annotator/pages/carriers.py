"""What goes into the engraver's own document before pages are drawn: our page head and breaks, and an unseen carrier for every figure.

Conventions
-----------
* A carrier makes the engraver keep room where our bracket will stand: above the staff a bracket, below it a direction with a line. It is
  taken off the page afterwards (``CLASS`` tells it), and where it stood tells where our bracket best stands.
* Staves are numbered through all parts, from 1.

Rule
----
A carrier stands in the bar of its first note. The engraver ignores one whose end is not after its start, and those across parts: a
figure of one moment gets a short direction instead; the rest find their place without.

Source: measured; element and attribute names are those of MEI (bracketSpan, dir, pgHead).
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from lxml import etree

from annotator.marks.marking import Mark
from annotator.music.names import name_of
from annotator.pages.render_copy import PREFIX
from annotator.pages.svg import tag
from annotator.words.names import note_name

MEI = "{http://www.music-encoding.org/ns/mei}"
CLASS = "room-keeper"
XML_ID = "{http://www.w3.org/XML/1998/namespace}id"


def carrier_id(index: int) -> str:
    """Return the id of the carrier of the mark at that index."""
    return f"room-{index}"


def add_carriers(mei: Any, marks: Sequence[Mark], first_staff: Mapping[str, int]) -> None:
    """Put a carrier for each mark into an MEI tree. ``first_staff`` is the number of the first staff of each part."""
    home = homes(mei)
    for index, mark in enumerate(marks):
        measure = home.get(f"{PREFIX}{mark.first.number}")
        if measure is None or f"{PREFIX}{mark.last.number}" not in home:
            continue
        measure.append(_carrier(index, mark, first_staff.get(mark.part, 1) + mark.staff - 1))


def add_note_names(mei: Any, marks: Sequence[Mark], anchors: frozenset[int], first_staff: Mapping[str, int], language: str) -> None:
    """Let the engraver write its name beside each anchor, as it writes fingerings, on the side of the bracket."""
    home = homes(mei)
    done: set[int] = set()
    for mark in marks:
        for note in mark.notes:
            measure = home.get(f"{PREFIX}{note.number}")
            if note.number not in anchors or note.number in done or measure is None or note.continues is not None:
                continue
            done.add(note.number)
            attributes = {
                "startid": f"#{PREFIX}{note.number}",
                "place": mark.side,
                "staff": str(first_staff.get(mark.part, 1) + note.staff - 1),
                "type": "note-name",
            }
            text = note_name(name_of(note.pitch), language)
            etree.SubElement(measure, MEI + "fing", attributes).text = text


def homes(mei: Any) -> dict[str, Any]:
    """Return the measure of each note of an MEI tree by the note's id."""
    return {
        element.get(XML_ID, ""): measure
        for measure in mei.iter(MEI + "measure")
        for element in measure.iter(MEI + "note")
    }


def _carrier(index: int, mark: Mark, staff: int) -> Any:
    common = {
        XML_ID: carrier_id(index),
        "type": CLASS,
        "staff": str(staff),
        "startid": f"#{PREFIX}{mark.first.number}",
    }
    one_moment = mark.last.tick <= mark.first.tick
    if not one_moment:
        common["endid"] = f"#{PREFIX}{mark.last.number}"
    if mark.side == "above" and not one_moment:
        ends = {"func": "analytical", "lform": "solid", "lstartsym": "angledown", "lendsym": "angledown"}
        return etree.Element(MEI + "bracketSpan", common | ends)
    direction = etree.Element(MEI + "dir", common | {"place": mark.side})
    if not one_moment:
        direction.set("extender", "true")
    words = etree.SubElement(direction, MEI + "rend", {"fontsize": "7pt"})
    words.text = "Ag"
    return direction


def set_head(mei: Any, lines: Sequence[tuple[str, str, float, bool]]) -> None:
    """Replace the page head by these lines: (text, ``left`` | ``center`` | ``right``, size in points, italic); no page foot."""
    for old in list(mei.iter(MEI + "pgHead", MEI + "pgFoot")):
        old.getparent().remove(old)
    definition = next(mei.iter(MEI + "scoreDef"), None)
    if definition is None or not lines:
        return
    head = etree.Element(MEI + "pgHead", {"func": "first"})
    for text, where, points, italic in lines:
        line = etree.SubElement(head, MEI + "rend", {"halign": where, "valign": "top", "fontsize": f"{points:g}pt"})
        if italic:
            line.set("fontstyle", "italic")
        line.text = text
    definition.insert(0, head)


def drop_labels(mei: Any) -> None:
    """Take the names of the instruments off an MEI tree."""
    for name in list(mei.iter(MEI + "label", MEI + "labelAbbr")):
        name.getparent().remove(name)


def set_breaks(mei: Any, first_bars: Sequence[int], pages: Collection[int] = ()) -> None:
    """Take all breaks out of an MEI tree and put one before each bar of these indexes: a page break before those of ``pages``."""
    for old in list(mei.iter(MEI + "sb", MEI + "pb")):
        old.getparent().remove(old)
    wanted = set(first_bars)
    for index, measure in enumerate(list(mei.iter(MEI + "measure"))):
        if index in wanted:
            _before(measure).addprevious(etree.Element(MEI + ("pb" if index in pages else "sb")))


def _before(measure: Any) -> Any:
    """Return the element a break goes before: the measure, or an ending or section that it opens."""
    place = measure
    while True:
        parent = place.getparent()
        if parent is None or tag(parent) not in ("ending",):
            return place
        if next(iter(parent.iterchildren(MEI + "measure")), None) is not place:
            return place
        place = parent
