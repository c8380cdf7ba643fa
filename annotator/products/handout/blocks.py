"""Blocks: pieces of a page that know their height in a given width, and their flow into columns and pages.

Rule
----
Blocks keep their order and are never cut. Where all of them fit on the page they are divided where the longest column is shortest, so that
the columns end alike; else each column is filled to its end, and what is left goes to the next page.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Protocol

from annotator.products.handout.sheet import BODY, HEADING, SMALL_ITALIC, Sheet

GAP = 420.0  # between blocks
TICK = 250.0  # side of the box to tick
INDENT = 400.0  # of the rows below a heading
FAR = 300.0  # at least between the left and the right text of a row


class Block(Protocol):
    """A piece of a page."""

    def height(self, width: float) -> float:
        """Return its height in a column of that width."""
        ...

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> None:
        """Draw it; its upper left corner is at (x, y)."""
        ...


@dataclass(frozen=True, slots=True)
class Row:
    """What (to the left) and where (to the right, smaller); music characters in ``what`` are allowed."""

    what: str
    where: str = ""

    def lines(self, width: float) -> list[tuple[str, str]]:
        """Return the lines of the row as (left, right)."""
        room = width - INDENT
        if BODY.width(self.what) + FAR + SMALL_ITALIC.width(self.where) <= room:
            return [(self.what, self.where)]
        left = BODY.wrapped(self.what, room)
        right = SMALL_ITALIC.wrapped(self.where, 0.8 * room)
        if left and right and BODY.width(left[-1]) + FAR + SMALL_ITALIC.width(right[0]) <= room:
            joined = [(left[-1], right[0])]
            return [(line, "") for line in left[:-1]] + joined + [("", line) for line in right[1:]]
        return [(line, "") for line in left] + [("", line) for line in right]


MORE = Row("…")
"""The last row of a section that does not tell all."""


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with a box to tick, and rows."""

    heading: str
    rows: tuple[Row, ...]

    def shorter(self) -> Section:
        """Return it with its last row left out and ``…`` in its place."""
        told = [row for row in self.rows if row != MORE]
        return Section(self.heading, (*told[:-1], MORE))

    @property
    def told(self) -> int:
        """How many rows say something."""
        return sum(row != MORE for row in self.rows)

    def height(self, width: float) -> float:
        """Return its height."""
        return heading_height() + sum(len(row.lines(width)) for row in self.rows) * BODY.line

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> None:
        """Draw it."""
        draw_heading(sheet, x, y, self.heading)
        y += heading_height() + BODY.size
        for left, right in (line for row in self.rows for line in row.lines(width)):
            if left:
                sheet.text(x + INDENT, y, left)
            if right:
                sheet.text(x + width, y, right, SMALL_ITALIC, "end")
            y += BODY.line


def heading_height() -> float:
    """Return the height of a heading with the room below it."""
    return 1.2 * HEADING.line


def draw_heading(sheet: Sheet, x: float, y: float, text: str) -> None:
    """Draw a heading with its box to tick."""
    sheet.box(x, y + 0.15 * HEADING.size, TICK, TICK, edge=14)
    sheet.text(x + INDENT, y + HEADING.size, text, HEADING)


@dataclass(frozen=True, slots=True)
class Placed:
    """A block and where it stands: page (from 0) and upper left corner."""

    block: Block
    page: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Frame:
    """Where blocks may stand: columns with their left edges and width; top on the first page and on later ones; bottom."""

    columns: tuple[float, ...]
    width: float
    first_top: float
    top: float
    bottom: float


def flow(blocks: Sequence[Block], frame: Frame) -> list[Placed]:
    """Place blocks in the columns of as many pages as they need."""
    heights = [block.height(frame.width) for block in blocks]
    parts = _balanced(heights, len(frame.columns), frame.bottom - frame.first_top) or _filled(heights, frame)
    placed = []
    for number, part in enumerate(parts):
        page, column = divmod(number, len(frame.columns))
        y = frame.top if page else frame.first_top
        for index in part:
            placed.append(Placed(blocks[index], page, frame.columns[column], y))
            y += heights[index] + GAP
    return placed


def _balanced(heights: Sequence[float], columns: int, room: float) -> list[range] | None:
    """Return which blocks go into which column of one page, None where they do not fit."""
    best: tuple[float, list[range]] | None = None
    for cuts in combinations(range(len(heights) + 1), columns - 1):
        edges = (0, *cuts, len(heights))
        parts = [range(a, b) for a, b in pairwise(edges)]
        tallest = max(_tall(heights, part) for part in parts)
        if tallest <= room and (best is None or tallest < best[0]):
            best = tallest, parts
    return best[1] if best else None


def _tall(heights: Sequence[float], part: range) -> float:
    return sum(heights[index] for index in part) + GAP * max(0, len(part) - 1)


def _filled(heights: Sequence[float], frame: Frame) -> list[range]:
    """Fill column after column; a block that is taller than any column has one of its own."""
    parts: list[range] = []
    start = 0
    while start < len(heights):
        room = frame.bottom - (frame.top if len(parts) >= len(frame.columns) else frame.first_top)
        stop = start + 1
        while stop < len(heights) and _tall(heights, range(start, stop + 1)) <= room:
            stop += 1
        parts.append(range(start, stop))
        start = stop
    return parts


def bottom_of(placed: Sequence[Placed], page: int, width: float, default: float) -> float:
    """Return where the lowest block of a page ends."""
    return max((each.y + each.block.height(width) for each in placed if each.page == page), default=default)
