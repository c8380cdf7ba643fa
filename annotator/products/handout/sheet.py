"""The pages of a handout that we set ourselves: their head, text, pictures and foot; and what stands below the music of an engraved page.

Conventions
-----------
* Lengths are hundredths of a millimetre from the upper left corner of the paper, y downwards; text stands on its baseline.
* Widths of text are those of ``pages.fonts``. Music characters are SMuFL code points, drawn by the painter from the engraver's
  outlines; one em is four staff spaces.
* ``Sheet.top`` is where its free room begins, ``bottom`` where that ends, above the foot. A sheet that is laid over an engraved page has
  nothing drawn on it but what goes into that page.
* The first page of a file carries title, names and lines for the pupil's name and the date, later pages their own heading only.

Rule: no page is a third empty. What is left of a page, where it is more than ``EMPTY`` of it, gets lines for notes in the lesson.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from lxml import etree

from annotator.pages import fonts
from annotator.pages.boxes import boxes_of
from annotator.pages.paper import MARGIN, POINT, Paper, cut_text, draw_foot, paper_of
from annotator.pages.svg import SVG, classes, margin_of, numbers, parsed
from annotator.products.handout.lesson import Lesson
from annotator.words.phrases import title_words

SIDE = 10.0 * MARGIN
THIN = 12.0
BELOW_MUSIC = 700.0
ABOVE_FOOT = 1300.0
"""Left free above the lower edge of the inner page for its foot."""
EMPTY = 0.22
"""Share of the paper's height that may stay empty."""
TO_WRITE = 900.0  # from one line to write on to the next
MOST_LINES = 3  # of a title

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
HEADING_ROOM = 1.9 * PAGE_HEADING.size


class Sheet:
    """One page. What is drawn later lies over what was drawn before."""

    family = f"{fonts.FAMILY}, Times, serif"

    def __init__(self, paper: Paper, top: float = SIDE) -> None:
        self.paper, self.width, self.height = paper, 10.0 * paper.width, 10.0 * paper.height
        self.top, self.bottom = top, self.height - SIDE - ABOVE_FOOT
        attributes = {
            "width": f"{paper.width / 10:g}mm",
            "height": f"{paper.height / 10:g}mm",
            "viewBox": f"0 0 {self.width:.0f} {self.height:.0f}",
            "font-family": self.family,
            "id": "sheet",
        }
        self._root = etree.Element(SVG + "svg", attributes, nsmap=NAMESPACES)
        self.group: Any = etree.SubElement(self._root, SVG + "g", {"class": "sheet"})

    @property
    def room(self) -> float:
        """How wide it is between the margins."""
        return self.width - 2 * SIDE

    def head(self, lesson: Lesson) -> None:
        """Draw the full head of a first page."""
        right, half = self.width - SIDE, 0.48 * self.room
        for line in TITLE.wrapped(lesson.score.title, 0.95 * self.room)[:MOST_LINES]:
            self.top += TITLE.size
            self.text(self.width / 2, self.top, line, TITLE, "middle")
        if lesson.group or lesson.composer:
            self.top += 1.5 * SUBTITLE.size
            self.text(SIDE, self.top, cut_text(lesson.group, SUBTITLE.size, half, italic=True), SUBTITLE)
            self.text(right, self.top, cut_text(lesson.composer, SUBTITLE.size, half, italic=True), SUBTITLE, "end")
        self.top += 2.2 * BODY.size
        date = SIDE + 0.62 * self.room
        for left, end, word in ((SIDE, date - 500.0, "name"), (date, right, "date")):
            told, below = lesson.titled(word), self.top + 0.1 * BODY.size
            self.text(left, self.top, told)
            self.line(left + BODY.width(told + " "), below, end, below, THIN)
        self.top += 1.2 * BODY.size

    def heading(self, text: str) -> None:
        """Draw the heading of what follows."""
        self.text(SIDE, self.top + PAGE_HEADING.size, text, PAGE_HEADING)
        self.top += HEADING_ROOM

    def foot(self, page: int, pages: int, title: str, notice: str = "") -> None:
        """Draw the foot that every page has."""
        inside = etree.SubElement(self.group, SVG + "g", {"transform": f"translate({SIDE:.0f}, {10 * self.paper.top:.0f})"})
        draw_foot(inside, page, pages, title, "", notice, self.paper)

    def fill(self, language: str) -> None:
        """Draw lines to write on where so much of the page is left."""
        if self.bottom - self.top < EMPTY * self.height:
            return
        self.heading(title_words("notes", language))
        while self.top + TO_WRITE <= self.bottom:
            self.top += TO_WRITE
            self.line(SIDE, self.top, SIDE + self.room, self.top, 10.0)

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

    def lines(self, x: float, y: float, lines: Sequence[str], letters: Letters = BODY) -> float:
        """Write lines below a height and return where they end."""
        for line in lines:
            y += letters.line
            self.text(x, y, line, letters)
        return y

    def music(self, x: float, y: float, code: int, space: float) -> None:
        """Draw a music character; ``space`` is the distance of two staff lines."""
        element = self._add("text", x=x, y=y)
        element.set("font-size", f"{4 * space:.1f}px")
        element.text = chr(code)

    def line(self, x1: float, y1: float, x2: float, y2: float, thickness: float, colour: str = "#000000") -> None:
        """Draw a straight line."""
        element = self._add("path")
        element.set("d", f"M{x1:.1f} {y1:.1f} L{x2:.1f} {y2:.1f}")
        element.attrib.update({"color": colour, "stroke-width": f"{thickness:g}"})

    def box(self, x: float, y: float, width: float, height: float, fill: str = "none", edge: float = 0.0) -> None:
        """Draw a rectangle, filled or with an edge or both."""
        element = self._add("rect", x=x, y=y, width=width, height=height)
        element.attrib.update({"fill": fill, "stroke-width": f"{edge:g}"})

    def picture(self, x: float, y: float, width: float, height: float, svg: str) -> None:
        """Put a picture of ours in a place of the page, as large as it fits."""
        inner = parsed(svg)
        for name, value in (("x", x), ("y", y), ("width", width), ("height", height)):
            inner.set(name, f"{value:.1f}")
        wide, high = (inner.get("viewBox") or "0 0 100% 100%").split()[2:]
        for nested in inner.iterdescendants(SVG + "svg"):  # the painter takes shares of the whole page
            nested.attrib.update({"width": nested.get("width", wide), "height": nested.get("height", high)})
        self.group.append(inner)

    def _add(self, tag: str, **places: float) -> Any:
        return etree.SubElement(self.group, SVG + tag, {name: f"{value:.1f}" for name, value in places.items()})

    def to_svg(self) -> str:
        """Return the page as SVG text."""
        text: str = etree.tostring(self._root, encoding="unicode")
        return text + "\n"


class Scratch(Sheet):
    """A sheet on which something is drawn only to know how high it is."""

    def __init__(self) -> None:
        super().__init__(paper_of("a4"))

    def picture(self, x: float, y: float, width: float, height: float, svg: str) -> None:
        """Leave the picture out, for that takes long."""


def below_music(page: str, paper: Paper) -> Sheet:
    """Return a sheet to be laid over an engraved page, its room below the music."""
    margin = margin_of(parsed(page))
    shift = (*numbers(margin.get("transform")), 0.0, 0.0)[1] or 10.0 * paper.top
    low = max((box.bottom for child in margin if "sheet" not in classes(child) for box in boxes_of(child)), default=0.0)
    return Sheet(paper, low + shift + BELOW_MUSIC)


def laid_over(page: str, sheet: Sheet) -> str:
    """Return an engraved page with what is drawn on a sheet; as it was, where that is nothing."""
    if not len(sheet.group):
        return page
    root = parsed(page)
    _, _, width, height = numbers(root.get("viewBox"))
    size = {"x": "0", "y": "0", "width": f"{width:g}", "height": f"{height:g}", "viewBox": f"0 0 {sheet.width:g} {sheet.height:g}"}
    etree.SubElement(root, SVG + "svg", {"class": "sheet", "font-family": sheet.family, **size}).append(sheet.group)
    return str(etree.tostring(root, encoding="unicode")) + "\n"


def numbered(pages: Sequence[str], before: int, after: int) -> tuple[str, ...]:
    """Return engraved pages that are numbered among themselves, as pages of a larger file."""
    last, total = len(pages), before + len(pages) + after
    return tuple(reworded(page, {f"{number} / {last}": f"{number + before} / {total}"}) for number, page in enumerate(pages, 1))


def reworded(page: str, words: dict[str, str]) -> str:
    """Return a page with texts of its head and foot replaced by others."""
    root = parsed(page)
    for element in root.iter(SVG + "text"):
        if element.text in words and "label" not in classes(element):
            element.text = words[element.text]
    return str(etree.tostring(root, encoding="unicode")) + "\n"
