"""The blocks of a page: rows of text, the chart of bars, the outer notes on staves; and their flow into columns.

Rule
----
Blocks keep their order and are never cut. Where all of them fit on the page they are divided where the
longest column is shortest, so that the columns end alike; else each column is filled to its end, and the rest is left.

Conventions
-----------
* In the chart a column stands for a bar; its black part are the notes to read, the grey part over it the notes that follow from a bracket.
  All its rows have one scale. Grey is light enough and has an edge, so that it prints in black and white.
* An outer note stands on a staff with the clef that is in force where it is met, an ottava sign over or under it where the score has one,
  with its ledger lines; under it its name and its bar. The accidental is always drawn, also one of the key signature.

Source: SMuFL 1.4 (W3C) for the characters; heights of the clefs' lines: MusicXML 4.0, ``clef``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from math import ceil
from typing import NamedTuple, Protocol

from annotator.music.names import name_of
from annotator.music.score import Clef, Pitch, ledger_lines
from annotator.pages import fonts
from annotator.pages.paper import Paper
from annotator.products.handout.sheet import BODY, HEADING, HEADING_ROOM, SIDE, SMALL, SMALL_ITALIC, Scratch, Sheet
from annotator.words.phrases import bars_words, note_name, title_words

GAP = 420.0  # between blocks
GUTTER = 900.0  # between columns
TICK = 250.0  # side of the box to tick
INDENT = 400.0  # of the rows below a heading
MOST_ON_PAGE = 120  # blocks
FAR = 300.0  # at least between the left and the right text of a row
HEADING_HEIGHT = 1.2 * HEADING.line  # with the room below it

class Block(Protocol):
    """A piece of a page."""

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> float:
        """Draw it in a column of that width, its upper left corner at (x, y); return where it ends."""
        ...


def height_of(block: Block, width: float) -> float:
    """Return the height of a block in a column of that width."""
    return block.draw(Scratch(), 0.0, 0.0, width)


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


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with a box to tick, and rows."""

    heading: str
    rows: Sequence[Row]

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> float:
        """Draw it."""
        draw_heading(sheet, x, y, self.heading)
        y += HEADING_HEIGHT + BODY.size
        for left, right in (line for row in self.rows for line in row.lines(width)):
            if left:
                sheet.text(x + INDENT, y, left)
            if right:
                sheet.text(x + width, y, right, SMALL_ITALIC, "end")
            y += BODY.line
        return y - BODY.size


def draw_heading(sheet: Sheet, x: float, y: float, text: str) -> None:
    """Draw a heading with its box to tick."""
    sheet.box(x, y + 0.15 * HEADING.size, TICK, TICK, edge=14)
    sheet.text(x + INDENT, y + HEADING.size, text, HEADING)


@dataclass(frozen=True, slots=True)
class Frame:
    """Where blocks may stand: columns with their left edges and their width, from ``top`` to ``bottom``."""

    columns: tuple[float, ...]
    width: float
    top: float
    bottom: float


def frame_of(sheet: Sheet, columns: int, below: float = 0.0) -> Frame:
    """Return so many columns in the free room of a page, ``below`` left free under them."""
    width = (sheet.room + GUTTER) / columns - GUTTER
    return Frame(tuple(SIDE + each * (width + GUTTER) for each in range(columns)), width, sheet.top, sheet.bottom - below)


Placed = tuple[Block, float, float]
"""A block and where its upper left corner stands."""


def flow(blocks: Sequence[Block], frame: Frame) -> list[Placed]:
    """Place the blocks that have room, at least the first of each column; the others are left out."""
    heights = [height_of(block, frame.width) for block in blocks]
    room = frame.bottom - frame.top
    placed: list[Placed] = []
    for x, part in zip(frame.columns, _balanced(heights, len(frame.columns), room) or _filled(heights, room), strict=False):
        y = frame.top
        for index in part:
            placed.append((blocks[index], x, y))
            y += heights[index] + GAP
    return placed


def draw_all(placed: Sequence[Placed], sheet: Sheet, width: float) -> None:
    """Draw blocks; the free room of the page begins where the lowest of them ends."""
    sheet.top = max([block.draw(sheet, x, y, width) for block, x, y in placed], default=sheet.top)


def over_pages(
    blocks: Sequence[Block], there: Sequence[Sheet], paper: Paper, columns: int, heading: str = "", fewest: int = 1
) -> list[Sheet]:
    """Draw blocks on the pages that are there and on as many new ones as it takes; return all of them, the new ones last.

    A page that is there is passed by where not so many blocks as the ``fewest`` have room below each other.
    """
    pages, left = list(there), list(blocks)
    place = 0
    while left:
        if place == len(pages):
            pages.append(Sheet(paper))
        page = pages[place]
        place += 1
        frame = frame_of(page, columns)
        free = page.bottom - page.top - (HEADING_ROOM if heading else 0.0)
        if place <= len(there) and free < sum(height_of(block, frame.width) + GAP for block in left[:fewest]) - GAP:
            continue
        if heading:
            page.heading(heading)
            frame = frame_of(page, columns)
        placed = flow(left[:MOST_ON_PAGE], frame)
        draw_all(placed, page, frame.width)
        page.top += GAP
        left = left[len(placed) :]
    return pages


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


def _filled(heights: Sequence[float], room: float) -> list[range]:
    """Fill column after column; a block that is taller than any column has one of its own."""
    parts: list[range] = []
    start = 0
    while start < len(heights):
        stop = start + 1
        while stop < len(heights) and _tall(heights, range(start, stop + 1)) <= room:
            stop += 1
        parts.append(range(start, stop))
        start = stop
    return parts


MOST_IN_ROW = 48  # bars
MOST_ROWS = 4
HIGH, LOW = 1500.0, 1000.0  # the highest column of a chart of one row, of several
BETWEEN = 0.22  # of a column's width: the gap to the next
GREY = "#C4C4C4"
FOOT = 1.9  # lines of small text below the columns of a row
KEY = 260.0  # side of the boxes that explain the colours


class BarCount(NamedTuple):
    """One bar of the chart: its printed number, the notes struck in it and those of them that must be read."""

    number: str
    notes: int
    to_read: int


@dataclass(frozen=True, slots=True)
class Chart:
    """The block: a heading, the line that counts, and the columns."""

    heading: str
    headline: str
    counts: tuple[BarCount, ...]
    language: str

    @property
    def rows(self) -> list[tuple[BarCount, ...]]:
        """The bars, row by row, as even as can be."""
        number = min(MOST_ROWS, ceil(len(self.counts) / MOST_IN_ROW)) or 1
        length = ceil(len(self.counts) / number) or 1
        return [self.counts[start : start + length] for start in range(0, len(self.counts), length)]

    @property
    def high(self) -> float:
        """How high the highest column is."""
        return HIGH if len(self.rows) < 2 else LOW

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> float:
        """Draw it."""
        draw_heading(sheet, x, y, self.heading)
        self._key(sheet, x + width, y + SMALL.size)
        rows = self.rows
        most = max((count.notes for count in self.counts), default=0)
        left = x + SMALL.width(f"{most} ")
        step = min((x + width - left) / max(len(row) for row in rows), 900.0) if rows else 0.0
        base = y + HEADING_HEIGHT + 0.6 * SMALL.line
        for row in rows:
            base += self.high
            self._row(sheet, left, base, step, most, row)
            base += FOOT * SMALL.line
        return base

    def _row(self, sheet: Sheet, x: float, base: float, step: float, most: int, row: tuple[BarCount, ...]) -> None:
        unit = self.high / max(1, most)
        sheet.line(x, base, x + step * len(row), base, 14)
        sheet.line(x, base - self.high, x + step * len(row), base - self.high, 5, "#A0A0A0")
        sheet.text(x - 0.5 * SMALL.size, base - self.high + 0.35 * SMALL.size, str(most), SMALL, "end")
        every = _every(row, step)
        for number, count in enumerate(row):
            left, wide = x + (number + BETWEEN / 2) * step, (1 - BETWEEN) * step
            if count.notes:
                sheet.box(left, base - unit * count.notes, wide, unit * (count.notes - count.to_read), GREY, 6)
                sheet.box(left, base - unit * count.to_read, wide, unit * count.to_read, "#000000")
            if number % every == 0:
                sheet.text(left + wide / 2, base + SMALL.line, count.number, SMALL, "middle")

    def _key(self, sheet: Sheet, right: float, base: float) -> None:
        """Say what black and grey are, and the sum, right-aligned on the heading's line."""
        for text, fill in ((title_words("follows", self.language), GREY), (title_words("to-read", self.language), "#000000")):
            sheet.text(right, base, text, SMALL, "end")
            right -= SMALL.width(text) + 1.6 * KEY
            sheet.box(right, base - 0.8 * KEY, KEY, 0.8 * KEY, fill, 6)
            right -= 1.5 * KEY
        sheet.text(right, base, self.headline, SMALL, "end")


def _every(row: tuple[BarCount, ...], step: float) -> int:
    """Return after how many bars a number can stand again."""
    widest = max(SMALL.width(count.number) for count in row) + 0.6 * SMALL.size
    return next((each for each in (1, 2, 4, 5, 10, 20) if each * step >= widest), 50)


SPACE = 150.0  # between two staff lines: a staff 6 mm high
CLEFS = {"G": 0xE050, "F": 0xE062, "C": 0xE05C}
CLEFS_SHIFTED = {("G", -1): 0xE052, ("G", 1): 0xE053, ("F", -1): 0xE064, ("F", 1): 0xE065}
SIGNS = {-2: 0xE264, -1: 0xE260, 0: 0xE261, 1: 0xE262, 2: 0xE263}
WHOLE = 0xE0A2
OTTAVA = {1: 0xE511, 2: 0xE515, -1: 0xE51C, -2: 0xE51D}
STAFF_LINE = 14.0


class Extreme(NamedTuple):
    """The lowest or highest note of a hand.

    ``pitch`` is the key to strike, ``clef`` the one in force there, ``ottava`` by how many octaves an ottava line makes it sound higher
    than it is written (negative: lower), ``bar`` its printed bar.
    """

    hand: str
    pitch: Pitch
    clef: Clef
    ottava: int
    bar: str


def place_on_staff(extreme: Extreme) -> int:
    """Return how many half spaces a note stands above the lowest line of its staff."""
    return extreme.pitch.diatonic - 7 * extreme.ottava - extreme.clef.lowest


@dataclass(frozen=True, slots=True)
class Compass:
    """The block: a heading, and for each hand its lowest and its highest note."""

    heading: str
    extremes: tuple[Extreme, ...]
    language: str

    def _reach(self) -> tuple[int, int]:
        """Return the half spaces needed above and below the lowest staff line, signs included."""
        places = [place_on_staff(extreme) for extreme in self.extremes]
        above = max([12, *(place + (5 if e.ottava > 0 else 4) for place, e in zip(places, self.extremes, strict=True))])
        below = max([4, *(-place + (5 if e.ottava < 0 else 2) for place, e in zip(places, self.extremes, strict=True))])
        return above, below

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> float:
        """Draw it."""
        draw_heading(sheet, x, y, self.heading)
        above, below = self._reach()
        left, room = x + INDENT, width - INDENT
        wide = room / max(2, len(self.extremes))
        names = y + HEADING_HEIGHT + BODY.size
        lowest = names + 0.4 * BODY.size + above * SPACE / 2
        for number, extreme in enumerate(self.extremes):
            start = left + number * wide
            if number == 0 or self.extremes[number - 1].hand != extreme.hand:
                sheet.text(start, names, title_words(extreme.hand, self.language))
            self._note(sheet, start, lowest, wide - 250.0, extreme)
            text = note_name(name_of(extreme.pitch), self.language) + ", " + bars_words(((extreme.bar, extreme.bar),), self.language)
            base = lowest + below * SPACE / 2 + SMALL_ITALIC.size
            for line in SMALL_ITALIC.wrapped(text, wide - 100.0):
                sheet.text(start, base, line, SMALL_ITALIC)
                base += SMALL_ITALIC.line
        return y + HEADING_HEIGHT + BODY.line + (above + below) * SPACE / 2 + SMALL_ITALIC.line * 2

    def _note(self, sheet: Sheet, x: float, lowest: float, width: float, extreme: Extreme) -> None:
        for line in range(5):
            sheet.line(x, lowest - line * SPACE, x + width, lowest - line * SPACE, STAFF_LINE)
        clef = extreme.clef
        code = CLEFS_SHIFTED.get((clef.sign, clef.octaves), CLEFS[clef.sign])
        sheet.music(x + 0.4 * SPACE, lowest - (clef.line - 1) * SPACE, code, SPACE)
        place = place_on_staff(extreme)
        y = lowest - place * SPACE / 2
        head = 4 * SPACE * fonts.glyph(chr(WHOLE)).advance
        start = x + max(0.62 * width, 5.2 * SPACE)
        for ledger in ledger_lines(place):
            height = lowest - ledger * SPACE / 2
            sheet.line(start - 0.35 * SPACE, height, start + head + 0.35 * SPACE, height, 1.4 * STAFF_LINE)
        sheet.music(start, y, WHOLE, SPACE)
        alter = int(extreme.pitch.alter)
        if alter in SIGNS and alter:
            sheet.music(start - 4 * SPACE * fonts.glyph(chr(SIGNS[alter])).advance - 0.3 * SPACE, y, SIGNS[alter], SPACE)
        if extreme.ottava in OTTAVA:
            away = min(y, lowest - 4 * SPACE) - 1.0 * SPACE if extreme.ottava > 0 else max(y, lowest) + 2.4 * SPACE
            sheet.music(start - 0.3 * SPACE, away, OTTAVA[extreme.ottava], 0.8 * SPACE)
