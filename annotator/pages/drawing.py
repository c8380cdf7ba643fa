"""Our marks as SVG: a bracket with its words, in one group for each figure and system.

Conventions
-----------
Drawn in the coordinates of the page's margin group. The line of a bracket has a gap for each word on it, hooks towards the staff at its
ends, and dashes instead of a hook where the figure goes on in another system. The whole bracket is one path.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from lxml import etree

from annotator.marks.marking import Mark
from annotator.marks.style import Style
from annotator.music.score import Note
from annotator.pages import fonts
from annotator.pages.boxes import Box
from annotator.pages.svg import SVG
from annotator.pages.wording import Fitting, Word, Wording

DASH, SPACE = 60.0, 40.0
DASHES = 3
"""How many dashes show that a bracket goes on; between them there is ``SPACE`` beside the line's own thickness (its caps are square)."""

TICK = 0.6
"""How long a tick on a bracket is, in hooks."""


@dataclass(frozen=True, slots=True)
class Pen:
    """The measures of a style in drawing units: line thickness, hook length, letter size, distance of the outer rows."""

    line: float
    hook: float
    size: float
    family: str

    @property
    def half(self) -> float:
        """From the middle of a line of text down to its baseline."""
        return 0.34 * self.size

    @property
    def row(self) -> float:
        """From one row of words to the next."""
        return 1.0 * self.size

    @property
    def writing(self) -> float:
        """How high the room is that a pupil writes in."""
        return 1.7 * self.size

    def width(self, text: str) -> float:
        """Width of a text."""
        return fonts.text_width(text, self.size, family=self.family)

    def fitting(self) -> Fitting:
        """Room around words, in proportion to the letters."""
        return Fitting(0.26 * self.size, 0.22 * self.size, self.width)


def pen_of(style: Style) -> Pen:
    """Return the measures of a style."""
    return Pen(style.line_width, 14.0 * style.unit, style.label_size, fonts.FAMILIES.get(style.font, fonts.FAMILY))


@dataclass(frozen=True, slots=True)
class Bracket:
    """One figure's bracket in one system.

    Its notes there, its ends, which of them are open, its words, the direction away from the staff, and where on it copies begin.
    """

    mark: Mark
    notes: tuple[Note, ...]
    left: float
    right: float
    opens_left: bool
    opens_right: bool
    outward: int
    wording: Wording
    ticks: tuple[float, ...] = ()

    def boxes(self, pen: Pen) -> tuple[Box, ...]:
        """Return the room it takes, relative to its line: the line with its hooks, and each word."""
        hook = 0.0 if self.opens_left and self.opens_right else pen.hook
        inward = -self.outward
        thick = pen.line / 2
        top, bottom = min(0.0, inward * hook) - thick, max(0.0, inward * hook) + thick
        boxes = [Box(self.left - thick, top, self.right + thick, bottom)]
        for word in self.wording.words:
            if not word.text:
                if word.row:  # room to write in
                    boxes.append(Box(word.left, min(0.0, self.outward * pen.writing), word.right, max(0.0, self.outward * pen.writing)))
                continue
            ink = fonts.text_box(word.text, pen.size, family=pen.family)
            base = self.baseline(word, pen)
            boxes.append(Box(word.left, base + min(ink[1], -0.66 * pen.size), word.right, base + max(ink[3], 0.0)))
        return tuple(boxes)

    def baseline(self, word: Word, pen: Pen) -> float:
        """Return the height of a word's baseline, relative to the line."""
        first = 1.0 if any(each.row == 0 for each in self.wording.words) else 0.62
        away = 0.0 if word.row == 0 else (word.row - 1) * pen.row + first * pen.size
        return self.outward * away + pen.half


def path_data(bracket: Bracket, y: float, pen: Pen) -> str:
    """Return the path of a bracket whose line is at height ``y``."""
    gaps = sorted(
        (max(word.left - pen.fitting().air, bracket.left), min(word.right + pen.fitting().air, bracket.right))
        for word in bracket.wording.words
        if word.row == 0
    )
    hook = y - bracket.outward * pen.hook
    pieces = [] if bracket.opens_left else [f"M{bracket.left:.0f} {hook:.0f} L{bracket.left:.0f} {y:.0f}"]
    start = bracket.left
    for left, right in [*gaps, (bracket.right, bracket.right)]:
        pieces += _stroke(bracket, start, left, y, SPACE + pen.line)
        start = right
    tick = y - bracket.outward * TICK * pen.hook
    on_line = [x for x in bracket.ticks if not any(left <= x <= right for left, right in gaps)]  # none through a word
    pieces += [f"M{x:.0f} {y:.0f} L{x:.0f} {tick:.0f}" for x in on_line]
    if not bracket.opens_right:
        pieces.append(f"M{bracket.right:.0f} {y:.0f} L{bracket.right:.0f} {hook:.0f}")
    return " ".join(pieces)


def _stroke(bracket: Bracket, start: float, end: float, y: float, space: float) -> list[str]:
    """Return a stretch of the line, dashed at an open end."""
    pieces = []
    dashed = DASHES * (DASH + space)
    if bracket.opens_left and start == bracket.left:
        stop = min(end, start + dashed)
        pieces += _dashes(start, stop, y, space)
        start = stop
    if bracket.opens_right and end == bracket.right:
        begin = max(start, end - dashed)
        pieces += list(_dashes(begin + space if begin > start else begin, end, y, space))
        end = begin
    if end - start > 1:
        pieces.append(f"M{start:.0f} {y:.0f} L{end:.0f} {y:.0f}")
    return pieces


def _dashes(start: float, end: float, y: float, space: float) -> list[str]:
    pieces = []
    while start < end - 1:
        pieces.append(f"M{start:.0f} {y:.0f} L{min(start + DASH, end):.0f} {y:.0f}")
        start += DASH + space
    return pieces


def draw(margin: Any, bracket: Bracket, y: float, style: Style, pen: Pen, group: Any = None) -> Any:
    """Add a bracket and its words to a page; return its group. ``group`` is that of the figure's other hand in the same system."""
    mark = bracket.mark
    colour = style.bracket(mark.family)
    words = style.label_colour
    if group is None:
        group = etree.SubElement(margin, SVG + "g", {"class": f"figure {mark.kind}", "data-figure": mark.id})
    path = etree.Element(SVG + "path", {"class": "bracket", "d": path_data(bracket, y, pen), "fill": "none", "stroke": colour})
    path.attrib.update({"color": colour, "stroke-width": f"{pen.line:g}", "stroke-linecap": "square"})
    group.insert(0 if mark.labels[0] else len(group.findall(SVG + "path")), path)
    for word in bracket.wording.words:
        if not word.text.strip():
            continue
        element = etree.SubElement(
            group,
            SVG + "text",
            {
                "class": "label",
                "x": f"{word.left:.1f}",
                "y": f"{y + bracket.baseline(word, pen):.1f}",
                "font-family": pen.family,
                "font-size": f"{pen.size:g}px",
                "fill": words,
                "textLength": f"{word.width:.1f}",
                "lengthAdjust": "spacingAndGlyphs",
            },
        )
        element.text = word.text
    return group
