"""A snippet: a little score engraved as one small picture, our marks drawn, cropped to its ink.

Conventions
-----------
* The picture goes through the same engraving as a page, on a bare paper: no title, no head, no foot. Lines that do not fill the width
  stay as narrow as their notes are, so a snippet may be narrower than asked for, never wider.
* Lengths are millimetres; a snippet is drawn at the size of its style's staff.
* Ids in the picture begin with its prefix, so that several can stand in one page.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from lxml import etree

from annotator.errors import EngraverError
from annotator.marks.marking import Markings
from annotator.marks.style import Style
from annotator.music.score import Score
from annotator.pages.boxes import Box, around, boxes_of
from annotator.pages.engraving import engrave
from annotator.pages.paper import MARGIN, Paper
from annotator.pages.svg import SVG, classes, numbers
from annotator.reading import Document

AIR = 60.0
"""Left free around the ink, in hundredths of a millimetre."""

TALL = 20000
"""Height of the paper, in tenths of a millimetre: room for all systems on one page."""

HREF = "{http://www.w3.org/1999/xlink}href"


@dataclass(frozen=True, slots=True)
class Snippet:
    """One picture: its SVG text, its width and height in millimetres."""

    svg: str
    width_mm: float
    height_mm: float

    def _repr_svg_(self) -> str:
        """Show it in a notebook."""
        return self.svg


def engrave_snippet(
    document: Document,
    score: Score,
    markings: Markings,
    style: Style,
    width_mm: float,
    language: str = "en",
    prefix: str = "",
) -> Snippet:
    """Engrave an unmarked document with these marks as one picture, at most ``width_mm`` wide.

    ``prefix`` stands before every id in it (a letter first). Raises ``EngraverError``.
    """
    paper = Paper(round(10 * width_mm - 2 * AIR / 10) + 2 * MARGIN, TALL, bare=True)
    pages = engrave(document, score, markings, style, paper, "even", language).pages
    if len(pages) > 1:
        raise EngraverError("too much music for one picture: take fewer bars")
    page = etree.fromstring(pages[0].encode())
    width, height = _crop(page, _ink(page), width_mm)
    if prefix:
        _prefix(page, prefix)
    page.insert(0, etree.Comment(" made by annotator "))
    text: str = etree.tostring(page, encoding="unicode")
    return Snippet(text + "\n", width, height)


def _ink(page: Any) -> Box:
    """Return the room of all that is drawn, in hundredths of a millimetre of the paper."""
    margin = next(each for each in page.iter(SVG + "g") if "page-margin" in classes(each))
    x, y = numbers(margin.get("transform"))
    return around([box for child in margin for box in boxes_of(child)]).moved(x, y)


def _crop(page: Any, ink: Box, most: float) -> tuple[float, float]:
    """Cut the picture down to its ink; return its width and height in millimetres. What stands out over the width makes all smaller."""
    left, top = ink.left - AIR, ink.top - AIR
    wide, high = round(ink.right + AIR - left), round(ink.bottom + AIR - top)
    inner = next(each for each in page.iter(SVG + "svg") if "definition-scale" in classes(each))
    inner.set("viewBox", f"{left:.0f} {top:.0f} {wide} {high}")
    page.set("viewBox", f"0 0 {wide / 10:g} {high / 10:g}")
    scale = min(1.0, 100 * most / wide)
    width, height = round(scale * wide / 100, 2), round(scale * high / 100, 2)
    page.set("width", f"{width:g}mm")
    page.set("height", f"{height:g}mm")
    return width, height


def _prefix(page: Any, prefix: str) -> None:
    """Put a prefix before every id, and wherever one is referred to."""
    names = {element.get("id"): prefix + element.get("id") for element in page.iter(etree.Element) if element.get("id")}
    for element in page.iter(etree.Element):
        for name in ("id", "href", HREF):
            value = element.get(name)
            if value is not None:
                mark = "#" if value.startswith("#") else ""
                element.set(name, mark + names.get(value.removeprefix("#"), value.removeprefix("#")))
    for sheet in page.iter(SVG + "style"):
        sheet.text = re.sub(r"#([\w-]+)", lambda found: "#" + names.get(found[1], found[1]), sheet.text or "")
