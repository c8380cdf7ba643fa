"""A page of text being set: lines, words, boxes and pictures, as one SVG text.

Conventions
-----------
* Lengths are hundredths of a millimetre from the upper left corner of the paper, y downwards; text stands on its baseline.
* Widths of text are those of ``engraving.fonts``. Music characters are SMuFL code points, drawn by the painter from the engraver's
  outlines; one em is four staff spaces.
* The page is for the PDF: the painter is the one that reads it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from lxml import etree

from annotator.pages import fonts
from annotator.pages.paper import POINT, Paper
from annotator.pages.svg import SVG

LINE = 1.25
"""From one line of text to the next, in sizes."""

NAMESPACES: dict[Any, str] = {None: SVG[1:-1], "xlink": "http://www.w3.org/1999/xlink"}


@dataclass(frozen=True, slots=True)
class Letters:
    """How text is set: its size in hundredths of a millimetre, bold, italic, its colour."""

    size: float
    bold: bool = False
    italic: bool = False
    colour: str = "#000000"

    @property
    def line(self) -> float:
        """From one line to the next."""
        return LINE * self.size

    def width(self, text: str) -> float:
        """Width of a text."""
        return fonts.text_width(text, self.size, self.bold, self.italic)

    def wrapped(self, text: str, width: float) -> list[str]:
        """Cut a text at its spaces into lines no wider than a width; a word that is wider is cut within."""
        lines: list[str] = []
        for word in text.split():
            grown = f"{lines[-1]} {word}" if lines else word
            if lines and self.width(grown) <= width:
                lines[-1] = grown
                continue
            while self.width(word) > width and len(word) > 1:
                fits = next((n for n in range(len(word) - 1, 1, -1) if self.width(word[:n]) <= width), 1)
                lines.append(word[:fits])
                word = word[fits:]
            lines.append(word)
        return lines


def points(size: float) -> float:
    """Return a size in points as hundredths of a millimetre."""
    return size * POINT


BODY = Letters(points(10.5))
HEADING = Letters(points(10.5), bold=True)
SMALL = Letters(points(8.5), colour="#404040")
SMALL_ITALIC = Letters(points(9), italic=True, colour="#303030")
TITLE = Letters(points(18))
SUBTITLE = Letters(points(11), italic=True)
PAGE_HEADING = Letters(points(14), bold=True)


class Sheet:
    """One page. What is drawn later lies over what was drawn before."""

    family = f"{fonts.FAMILY}, Times, serif"

    def __init__(self, paper: Paper) -> None:
        self.width, self.height = 10.0 * paper.width, 10.0 * paper.height
        attributes = {
            "width": f"{paper.width / 10:g}mm",
            "height": f"{paper.height / 10:g}mm",
            "viewBox": f"0 0 {self.width:.0f} {self.height:.0f}",
            "font-family": self.family,
            "id": "sheet",
        }
        self._root = etree.Element(SVG + "svg", attributes, nsmap=NAMESPACES)
        self._group = etree.SubElement(self._root, SVG + "g", {"class": "sheet"})

    def text(self, x: float, y: float, text: str, letters: Letters = BODY, anchor: str = "start") -> None:
        """Write a text; ``anchor`` is ``start``, ``middle`` or ``end``."""
        element = self._add("text", x=x, y=y)
        element.set("font-size", f"{letters.size:.1f}px")
        element.set("fill", letters.colour)
        if anchor != "start":
            element.set("text-anchor", anchor)
        if letters.bold:
            element.set("font-weight", "bold")
        if letters.italic:
            element.set("font-style", "italic")
        element.text = text

    def music(self, x: float, y: float, code: int, space: float) -> None:
        """Draw a music character; ``space`` is the distance of two staff lines."""
        element = self._add("text", x=x, y=y)
        element.set("font-size", f"{4 * space:.1f}px")
        element.text = chr(code)

    def line(self, x1: float, y1: float, x2: float, y2: float, thickness: float, colour: str = "#000000") -> None:
        """Draw a straight line."""
        element = self._add("path")
        element.set("d", f"M{x1:.1f} {y1:.1f} L{x2:.1f} {y2:.1f}")
        element.set("style", f"fill:none; stroke:{colour}; stroke-width:{thickness:g}")

    def box(self, x: float, y: float, width: float, height: float, fill: str = "none", edge: float = 0.0) -> None:
        """Draw a rectangle, filled or with an edge or both."""
        element = self._add("rect", x=x, y=y, width=width, height=height)
        element.set("style", f"fill:{fill}; stroke:{'#000000' if edge else 'none'}; stroke-width:{edge:g}")

    def picture(self, x: float, y: float, width: float, height: float, svg: str) -> None:
        """Put a picture of ours in a place of the page, as large as it fits.

        Its style rules are said of the picture by its id; here they hold for the whole page, whose own drawings carry their style along.
        """
        parser = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True)
        inner = etree.fromstring(svg.encode(), parser)
        for name, value in (("x", x), ("y", y), ("width", width), ("height", height)):
            inner.set(name, f"{value:.1f}")
        wide, high = (inner.get("viewBox") or "0 0 100% 100%").split()[2:]
        for nested in inner.iterdescendants(SVG + "svg"):  # the painter takes shares of the whole page
            nested.attrib.update({"width": nested.get("width", wide), "height": nested.get("height", high)})
        for rules in inner.iter(SVG + "style"):
            rules.text = re.sub(r"#[\w-]+\s+", "", rules.text or "")
        self._group.append(inner)

    def _add(self, tag: str, **places: float) -> Any:
        return etree.SubElement(self._group, SVG + tag, {name: f"{value:.1f}" for name, value in places.items()})

    @property
    def group(self) -> Any:
        """The element that all is drawn in, for furniture that draws itself."""
        return self._group

    def to_svg(self) -> str:
        """Return the page as SVG text."""
        text: str = etree.tostring(self._root, encoding="unicode")
        return text + "\n"
