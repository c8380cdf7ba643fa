"""The chart: how many notes each bar has, and how many of them must be read, as columns in black and grey.

Conventions: a column stands for a bar; its black part are the notes to read, the grey part over it the notes that follow from a bracket.
All rows of the chart have one scale. Grey is light enough and has an edge, so that it prints in black and white.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from annotator.products.handout.blocks import draw_heading, heading_height
from annotator.products.handout.facts import BarCount
from annotator.products.handout.sheet import SMALL, Sheet
from annotator.words.handout import title_words

MOST_IN_ROW = 48  # bars
MOST_ROWS = 4
HIGH, LOW = 1500.0, 1000.0  # the highest column of a chart of one row, of several
BETWEEN = 0.22  # of a column's width: the gap to the next
GREY = "#C4C4C4"
FOOT = 1.9  # lines of small text below the columns of a row
KEY = 260.0  # side of the boxes that explain the colours


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

    def height(self, width: float) -> float:
        """Return its height."""
        return heading_height() + 0.6 * SMALL.line + len(self.rows) * (self.high + FOOT * SMALL.line)

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> None:
        """Draw it."""
        draw_heading(sheet, x, y, self.heading)
        self._key(sheet, x + width, y + SMALL.size)
        rows = self.rows
        most = max((count.notes for count in self.counts), default=0)
        left = x + SMALL.width(f"{most} ")
        step = min((x + width - left) / max(len(row) for row in rows), 900.0) if rows else 0.0
        base = y + heading_height() + 0.6 * SMALL.line
        for row in rows:
            base += self.high
            self._row(sheet, left, base, step, most, row)
            base += FOOT * SMALL.line

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
