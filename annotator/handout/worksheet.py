"""Worksheet and answers: the same pages, brackets numbered, the words left out in one and written in in the other.

Conventions
-----------
* The figures are numbered from 1 in time order. A figure that goes on in the next system has its number there in parentheses.
* Number and words stand on the outer side of the bracket's line, where the engraver has kept room to write; a chord name stands at the
  note where the chord changes.

Rule
----
The pages are engraved once, with brackets to be written on. The number and, for the answers, the longest wording that has room are put on
a copy of them each. So both have one layout, whatever is written.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from lxml import etree

from annotator.engraving import fonts
from annotator.engraving.boxes import SVG, around, classes, numbers
from annotator.engraving.drawing import Pen, pen_of
from annotator.engraving.geometry import boxes_of
from annotator.engraving.pages import engrave
from annotator.engraving.paper import Extra, HeadLine, Paper
from annotator.engraving.render_copy import render_copy
from annotator.handout.heading import Heading
from annotator.marking import Mark, Markings
from annotator.reading.document import Document
from annotator.score import Score
from annotator.style import Style
from annotator.words import foot_words
from annotator.words.handout import line_words, title_words

SMALLEST = 0.75
"""How far the letters of an answer may shrink where its bracket is short, of their usual size."""

NUMBER, RING, AFTER = 0.82, 0.56, 0.35
"""In sizes of the letters: the size of a number, half the height of the ring around it, the room after it."""

THIN = 14.0
"""Thickness of the ring's line, in hundredths of a millimetre."""

BLANKS = ("_" * 30, "_" * 14)


@dataclass(frozen=True, slots=True)
class Worksheets:
    """The pages of the worksheet and those of its answers, one beside the other."""

    worksheet: tuple[str, ...]
    answers: tuple[str, ...]


def worksheets(
    document: Document, score: Score, marked: Markings, style: Style, paper: Paper, breaks: str, heading: Heading
) -> Worksheets:
    """Engrave the worksheet of a score and write its answers. ``style`` is the look of the worksheet (its labels count as blank)."""
    style = replace(style, labels="blank", greying=False)
    language = heading.language
    bare = Markings(marked.marks, frozenset(), marked.anchors)
    pages = engrave(document, score, bare, style, replace(paper, extra=_extra(heading)), breaks, language)
    names = render_copy(document).names
    worded = [mark for mark in marked.marks if mark.labels[0]]
    made = {}
    for filled in (False, True):
        roots = [_parsed(page) for page in pages]
        writer = _Writer(worded, pen_of(style), style.label_colour, names, filled, paper.inner_width)
        for root in roots:
            writer.page(root)
            if filled:
                _reword(root, _kind_line(heading, "worksheet"), _kind_line(heading, "answers"))
                _reword(root, foot_words(False, True, language), foot_words(False, False, language))
        made[filled] = tuple(etree.tostring(root, encoding="unicode") + "\n" for root in roots)
    return Worksheets(made[False], made[True])


def _parsed(page: str) -> Any:
    return etree.fromstring(page.encode(), etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True))


def _kind_line(heading: Heading, kind: str) -> str:
    return " · ".join(filter(None, (heading.group, title_words(kind, heading.language))))


def _extra(heading: Heading) -> Extra:
    """Return what the first page carries beside title and names: class, worksheet, lines for name and date, the notice on copying."""
    language = heading.language
    name, date = title_words("name", language), title_words("date", language)
    lines = (
        HeadLine("\u00a0", "middle", 3.0),  # air between the rows
        HeadLine(_kind_line(heading, "worksheet"), "middle", 11.0, True),
        HeadLine("\u00a0", "middle", 6.0),
        HeadLine(f"{name} {BLANKS[0]}  {date} {BLANKS[1]}", "start", 11.0),
    )
    return Extra(lines, line_words("permission", language))


def _reword(root: Any, old: str, new: str) -> None:
    """Replace a text of the page's head or foot by another."""
    for element in root.iter(SVG + "text"):
        if element.text == old and "label" not in classes(element):
            element.text = new


class _Writer:
    """Writes numbers, and where asked the words, on the brackets of one copy, page after page."""

    def __init__(
        self, marks: Sequence[Mark], pen: Pen, colour: str, names: Mapping[int, str], filled: bool, limit: float
    ) -> None:
        self._marks = {mark.id: mark for mark in marks}
        self._numbers = {mark.id: number for number, mark in enumerate(marks, 1)}
        self._pen, self._colour, self._names = pen, colour, names
        self._filled, self._limit = filled, limit
        self._wanted = {names[note.number] for mark in marks for note in (mark.first, *(note for note, _ in mark.changes))}
        self._heads: dict[str, tuple[int, float]] = {}
        self._systems = 0
        self._rings: Any = None
        self._next: dict[str, int] = {}

    def page(self, root: Any) -> None:
        """Write on all brackets of a page."""
        for system in (each for each in root.iter(SVG + "g") if "system" in classes(each)):
            self._read(system)
            self._systems += 1
        figures = [group for group in root.iter(SVG + "g") if group.get("data-figure")]
        self._rings = etree.SubElement(figures[-1].getparent(), SVG + "g", {"class": "sheet"}) if figures else None
        for group in figures:
            figure = group.get("data-figure")
            path = group.find(SVG + "path") if figure in self._marks else None
            if path is not None:
                self._bracket(group, self._marks[figure], numbers(path.get("d")))

    def _read(self, system: Any) -> None:
        """Remember the system and the left edge of the notes that words belong to, by their ids on the page."""
        for group in system.iter(SVG + "g"):
            if group.get("id") in self._wanted and "note" in classes(group):
                heads = [box for each in group.iter(SVG + "g") if "notehead" in classes(each) for box in boxes_of(each)]
                if heads:
                    self._heads[group.get("id")] = self._systems, around(heads).left

    def _bracket(self, group: Any, mark: Mark, places: list[float]) -> None:
        """Write on the bracket of a figure in one system; its brackets come system after system."""
        first = mark.id not in self._next
        system = self._next.get(mark.id, self._heads[self._names[mark.first.number]][0])
        self._next[mark.id] = system + 1
        left, right, heights = min(places[::2]), max(places[::2]), places[1::2]
        size = self._pen.size
        base = min(heights) - 0.4 * size if mark.side == "above" else max(heights) + 1.05 * size
        number = self._numbers[mark.id]
        if first:
            start = self._start(left, str(number), mark.labels[-1])
            x = start + self._ringed(group, start, base, str(number)) + AFTER * size
            right = right if start == left else self._limit
        else:
            x = left + 0.1 * size + self._word(group, left + 0.1 * size, base, f"({number})", size) + 0.45 * size
        if not self._filled:
            return
        named = [(self._heads.get(self._names[note.number], (-1, 0.0)), text) for note, text in mark.changes]
        changes = sorted((at, text) for (where, at), text in named if where == system)
        if first:
            x += self._label(group, x, base, mark.labels, (changes[0][0] if changes else right) - 0.1 * size)
        for at, text in changes:
            x = max(x + 0.3 * size, at)
            x += self._word(group, x, base, text, size)

    def _start(self, left: float, number: str, shortest: str) -> float:
        """Return where a number stands: at the bracket's left end, or further left, for the shortest answer to end at the margin."""
        needed = 2 * self._radius(number) + AFTER * self._pen.size + SMALLEST * self._pen.width(shortest)
        return max(0.0, min(left, self._limit - needed))

    def _radius(self, number: str) -> float:
        """Return half the width of the ring around a number."""
        size = NUMBER * self._pen.size
        width = fonts.text_width(number, size, bold=True, family=self._pen.family)
        return max(0.5 * width + 0.14 * size, RING * self._pen.size)

    def _ringed(self, group: Any, x: float, base: float, number: str) -> float:
        """Write a number in a ring, so that nobody takes it for a finger; return the width of the ring."""
        size = NUMBER * self._pen.size
        width = fonts.text_width(number, size, bold=True, family=self._pen.family)
        radius = self._radius(number)
        ring = etree.SubElement(self._rings, SVG + "ellipse", {"cx": f"{x + radius:.1f}", "cy": f"{base - 0.34 * size:.1f}"})
        ring.attrib.update({"rx": f"{radius:.1f}", "ry": f"{RING * self._pen.size:.1f}"})
        ring.set("style", f"fill:none; stroke:{self._colour}; stroke-width:{THIN:g}")
        self._word(group, x + radius - width / 2, base, number, size, bold=True)
        return 2 * radius

    def _label(self, group: Any, x: float, base: float, labels: Sequence[str], end: float) -> float:
        """Write the longest wording that has room up to ``end``, the shortest in smaller letters where none has; return its width."""
        size = self._pen.size
        text = next((each for each in labels if self._pen.width(each) <= end - x), None)
        if text is None:
            text = labels[-1]
            size *= max(SMALLEST, min(1.0, (end - x) / max(1.0, self._pen.width(text))))
        return self._word(group, x, base, text, size)

    def _word(self, group: Any, x: float, base: float, text: str, size: float, bold: bool = False) -> float:
        width = fonts.text_width(text, size, bold, family=self._pen.family)
        attributes = {
            "class": "label",
            "x": f"{x:.1f}",
            "y": f"{base:.1f}",
            "font-family": self._pen.family,
            "font-size": f"{size:.1f}px",
            "fill": self._colour,
            "textLength": f"{width:.1f}",
            "lengthAdjust": "spacingAndGlyphs",
        }
        element = etree.SubElement(group, SVG + "text", attributes | ({"font-weight": "bold"} if bold else {}))
        element.text = text
        return width
