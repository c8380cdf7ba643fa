"""A bracket: which of its three wordings it can carry, where along it its words stand, how much room it takes, how it is drawn.

Conventions
-----------
x and widths are in the drawing units of the page's margin group, all heights relative to the bracket's line. ``row`` 0 is on the line, in a
gap of it; 1 and 2 are outside of it, away from the staff.

Rule
----
The longest wording that leaves a bit of line on both sides is taken, one size throughout and never squeezed; it stands in the middle
of a short bracket and near the beginning of a long one. Where chord names stand at later notes, each stands at its note, and the label
has the stretch before the first of them. What does not fit on the line stands outside it. Where a pupil is to write the words in, the line
is left whole, to be written on, but for a gap before each note where another chord name belongs.

The line has hooks towards the staff at its ends, and dashes instead of a hook where the figure goes on in another system. The whole bracket
is one path, and stands with its words in one group for each figure and system.

Source: the measures (margins in staff spaces) were tried out on pages.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from lxml import etree

from annotator.marks.marking import Mark
from annotator.marks.style import Style
from annotator.music.score import Note
from annotator.pages import fonts
from annotator.pages.boxes import Box
from annotator.pages.svg import SVG

LONG = 2.2
"""From how many times the label's width on a bracket counts as long."""

DASH, SPACE = 60.0, 40.0
DASHES = 3
"""How many dashes show that a bracket goes on; between them there is ``SPACE`` beside the line's own thickness (its caps are square)."""

TICK = 0.6
"""How long a tick on a bracket is, in hooks."""

HALF, WRITING = 0.34, 1.7
"""From the middle of a line of text down to its baseline, and how high the room is that a pupil writes in, in letter sizes."""


@dataclass(frozen=True, slots=True)
class Word:
    """A text on a bracket: what, from where, how wide, in which row, and whether it is the label (or a chord name)."""

    text: str
    left: float
    width: float
    row: int
    label: bool

    @property
    def right(self) -> float:
        """Where it ends."""
        return self.left + self.width


@dataclass(frozen=True, slots=True)
class Pen:
    """The measures of a style in drawing units: line thickness, hook length, letter size; and the family of the letters."""

    line: float
    hook: float
    size: float
    family: str

    @property
    def air(self) -> float:
        """Room to keep at either side of a text on the line."""
        return 0.26 * self.size

    @property
    def rest(self) -> float:
        """The shortest bit of line left beside that."""
        return 0.22 * self.size

    def width(self, text: str) -> float:
        """Width of a text."""
        return fonts.text_width(text, self.size, family=self.family)


def pen_of(style: Style) -> Pen:
    """Return the measures of a style."""
    return Pen(style.line_width, 14.0 * style.unit, style.label_size, fonts.FAMILIES.get(style.font, fonts.FAMILY))


def word_bracket(left: float, right: float, labels: Sequence[str], changes: Sequence[tuple[float, str]], pen: Pen) -> tuple[Word, ...]:
    """Return the words of a bracket: one of its labels (longest first), and ``changes``, chord names at x, left to right."""
    names = _names(right, changes, pen)
    end = min((name.left - pen.air for name in names if name.row == 0), default=right)
    if not labels:
        return tuple(names)
    for text in labels:
        width = pen.width(text)
        if width + 2 * (pen.air + pen.rest) <= end - left:
            return Word(text, _start(left, end, width, pen), width, 0, True), *names
    text = next((each for each in labels if pen.width(each) <= right - left), labels[-1])
    width, row = pen.width(text), 1 + max((name.row for name in names), default=0)
    return Word(text, (left + right - width) / 2, width, row, True), *names


def room_to_write(left: float, right: float, changes: Sequence[tuple[float, str]], pen: Pen) -> tuple[Word, ...]:
    """Return what a bracket says that is to be written on: nothing along all of it, and a gap before each note where its chord changes."""
    gaps = (Word("", x - 2 * pen.air, 0.0, 0, False) for x, _ in changes if x - 4 * pen.air > left)
    return Word("", left, right - left, 1, True), *gaps


def _start(left: float, end: float, width: float, pen: Pen) -> float:
    """In the middle of a short stretch; near the beginning of a long one, so that it is read before its notes are played."""
    middle = (left + end - width) / 2
    return middle if end - left <= LONG * width else min(middle, left + 2 * (pen.air + pen.rest))


def _names(right: float, changes: Sequence[tuple[float, str]], pen: Pen) -> list[Word]:
    """Set each chord name at its note: on the line if there is room up to the next one and the bracket's end, else further out."""
    placed: list[Word] = []
    reach = [float("-inf")] * 3
    for x, text in changes:
        width = pen.width(text)
        on_line = x + width + pen.air + pen.rest <= right and x - 2 * pen.air >= reach[0]
        row = 0 if on_line else next((each for each in (1, 2) if x - pen.air >= reach[each]), 2)
        start = x if row == 0 else max(x, reach[row] + pen.air)
        placed.append(Word(text, start, width, row, False))
        reach[row] = start + width
    return placed


@dataclass(frozen=True, slots=True)
class Bracket:
    """One figure's bracket in one system.

    Its notes there, its ends, which of them are open, its words, the direction away from the staff (-1 up, 1 down), and where on it copies
    begin.
    """

    mark: Mark
    notes: tuple[Note, ...]
    left: float
    right: float
    opens_left: bool
    opens_right: bool
    outward: int
    words: tuple[Word, ...]
    ticks: tuple[float, ...] = ()

    def boxes(self, pen: Pen) -> tuple[Box, ...]:
        """Return the room it takes, relative to its line: the line with its hooks, and each word."""
        hook = 0.0 if self.opens_left and self.opens_right else -self.outward * pen.hook
        thick, out = pen.line / 2, self.outward * WRITING * pen.size
        boxes = [Box(self.left - thick, min(0.0, hook) - thick, self.right + thick, max(0.0, hook) + thick)]
        for word in self.words:
            if word.text:
                ink = fonts.text_box(word.text, pen.size, family=pen.family)
                base = self.baseline(word, pen)
                boxes.append(Box(word.left, base + min(ink[1], -0.66 * pen.size), word.right, base + max(ink[3], 0.0)))
            elif word.row:  # room to write in
                boxes.append(Box(word.left, min(0.0, out), word.right, max(0.0, out)))
        return tuple(boxes)

    def baseline(self, word: Word, pen: Pen) -> float:
        """Return the height of a word's baseline, relative to the line."""
        first = 1.0 if any(each.row == 0 for each in self.words) else 0.62
        away = 0.0 if word.row == 0 else (word.row - 1) * pen.size + first * pen.size
        return self.outward * away + HALF * pen.size


def _path_data(bracket: Bracket, y: float, pen: Pen) -> str:
    """Return the path of a bracket whose line is at height ``y``."""
    hook, tick, step = y - bracket.outward * pen.hook, y - bracket.outward * TICK * pen.hook, DASH + SPACE + pen.line
    gaps = [(word.left - pen.air, word.right + pen.air) for word in bracket.words if word.row == 0]
    ticks = [x for x in bracket.ticks if not any(left <= x <= right for left, right in gaps)]  # none through a word
    if bracket.opens_left:
        gaps += [(bracket.left + at * step + DASH, bracket.left + (at + 1) * step) for at in range(DASHES)]
    if bracket.opens_right:
        gaps += [(bracket.right - (at + 1) * step, bracket.right - at * step - DASH) for at in range(DASHES)]
    pieces = [] if bracket.opens_left else [_line(bracket.left, hook, bracket.left, y)]
    start = bracket.left
    for left, right in sorted([*gaps, (bracket.right, bracket.right)]):
        end = min(left, bracket.right)
        if end - start > 1:
            pieces.append(_line(start, y, end, y))
        start = max(start, right)
    pieces += [_line(x, y, x, tick) for x in ticks]
    if not bracket.opens_right:
        pieces.append(_line(bracket.right, y, bracket.right, hook))
    return " ".join(pieces)


def _line(x1: float, y1: float, x2: float, y2: float) -> str:
    return f"M{x1:.0f} {y1:.0f} L{x2:.0f} {y2:.0f}"


def draw(margin: Any, bracket: Bracket, y: float, style: Style, pen: Pen, group: Any = None) -> Any:
    """Add a bracket and its words to a page; return its group. ``group`` is that of the figure's other hand in the same system."""
    mark = bracket.mark
    colour = style.bracket(mark.family)
    if group is None:
        group = etree.SubElement(margin, SVG + "g", {"class": f"figure {mark.kind}", "data-figure": mark.id})
    path = etree.Element(SVG + "path", {"class": "bracket", "d": _path_data(bracket, y, pen), "fill": "none", "stroke": colour})
    path.attrib.update({"color": colour, "stroke-width": f"{pen.line:g}", "stroke-linecap": "square"})
    group.insert(0 if mark.labels[0] else len(group.findall(SVG + "path")), path)
    for word in bracket.words:
        if word.text.strip():
            attributes = {
                "class": "label",
                "x": f"{word.left:.1f}",
                "y": f"{y + bracket.baseline(word, pen):.1f}",
                "font-family": pen.family,
                "font-size": f"{pen.size:g}px",
                "fill": style.label_colour,
                "textLength": f"{word.width:.1f}",
                "lengthAdjust": "spacingAndGlyphs",
            }
            etree.SubElement(group, SVG + "text", attributes).text = word.text
    return group
