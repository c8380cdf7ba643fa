"""What goes into the engraver's own document before the pages are drawn: our page head, and an unseen carrier for every figure.

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

from collections.abc import Mapping, Sequence
from typing import Any

from lxml import etree

from annotator.engraving.breaks import MEI
from annotator.engraving.render_copy import PREFIX
from annotator.marking import Mark

CLASS = "room-keeper"
XML_ID = "{http://www.w3.org/XML/1998/namespace}id"


def carrier_id(index: int) -> str:
    """Return the id of the carrier of the mark at that index."""
    return f"room-{index}"


def add_carriers(mei: Any, marks: Sequence[Mark], first_staff: Mapping[str, int]) -> None:
    """Put a carrier for each mark into an MEI tree. ``first_staff`` is the number of the first staff of each part."""
    home: dict[str, Any] = {}
    for measure in mei.iter(MEI + "measure"):
        for element in measure.iter(MEI + "note"):
            home[element.get(XML_ID, "")] = measure
    for index, mark in enumerate(marks):
        measure = home.get(f"{PREFIX}{mark.first.number}")
        if measure is None or f"{PREFIX}{mark.last.number}" not in home:
            continue
        measure.append(_carrier(index, mark, first_staff.get(mark.part, 1) + mark.staff - 1))


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
