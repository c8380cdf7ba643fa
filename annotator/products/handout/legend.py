"""The legend: each kind of figure in the piece with its name, an example from the piece, where it stands, and what to read in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from annotator.pages.paper import Paper
from annotator.products.handout.blocks import GAP
from annotator.products.handout.examples import Example
from annotator.products.handout.filling import Room, new_page
from annotator.products.handout.heading import SIDE, draw_page_heading
from annotator.products.handout.sheet import BODY, HEADING, PAGE_HEADING, SMALL_ITALIC, Sheet
from annotator.words import in_the_key, kind_name, rule_words
from annotator.words.handout import bars_words, times_words, title_words

PICTURE = 0.58
"""Share of the page's width that a picture may take."""

BESIDE = 700.0  # between the widest picture and the text


@dataclass(frozen=True, slots=True)
class Entry:
    """The block of one kind: the picture at the left, in so much room, and name, sentence and bars beside it."""

    example: Example
    language: str
    left: float

    def _lines(self, width: float) -> list[str]:
        return BODY.wrapped(rule_words(self.example.kind, self.language), self._room(width))

    def _room(self, width: float) -> float:
        return width - self.left - BESIDE

    def _where(self, width: float) -> list[str]:
        times = times_words(self.example.times, self.language)
        return SMALL_ITALIC.wrapped(f"{times}: {bars_words(self.example.bars, self.language)}", self._room(width))

    def height(self, width: float) -> float:
        """Return its height."""
        text = HEADING.line + len(self._lines(width)) * BODY.line + (len(self._where(width)) + 0.3) * SMALL_ITALIC.line
        return max(text, 100 * self.example.picture.height_mm) + 250.0

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> None:
        """Draw it."""
        picture = self.example.picture
        sheet.picture(x, y, 100 * picture.width_mm, 100 * picture.height_mm, picture.svg)
        left = x + self.left + BESIDE
        y += HEADING.size
        sheet.text(left, y, kind_name(self.example.kind, self.language), HEADING)
        for line in self._lines(width):
            y += BODY.line
            sheet.text(left, y, line)
        y += 0.3 * SMALL_ITALIC.line
        for line in self._where(width):
            y += SMALL_ITALIC.line
            sheet.text(left, y, line, SMALL_ITALIC)


@dataclass(frozen=True, slots=True)
class Remark:
    """A sentence that holds for all kinds, below them."""

    text: str

    def height(self, width: float) -> float:
        """Return its height."""
        return len(SMALL_ITALIC.wrapped(self.text, width)) * SMALL_ITALIC.line

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> None:
        """Draw it."""
        for line in SMALL_ITALIC.wrapped(self.text, width):
            y += SMALL_ITALIC.line
            sheet.text(x, y, line, SMALL_ITALIC)


def picture_width(paper: Paper) -> float:
    """Return how wide an example may be, in millimetres."""
    return PICTURE * paper.inner_width / 100


def place_legend(found: Sequence[Example], rooms: Sequence[Room], paper: Paper, language: str) -> list[Room]:
    """Draw the legend in the rooms that there are and on as many new pages as it needs.

    Returns what is left of all of them, the new pages behind the others.
    """
    widest = 100 * max((example.picture.width_mm for example in found), default=0.0)
    entries: list[Entry | Remark] = [Entry(example, language, widest) for example in found]
    if entries:
        entries.append(Remark(in_the_key(language)))
    left: list[Room] = []
    while entries or len(left) < len(rooms):
        room = rooms[len(left)] if len(left) < len(rooms) else new_page(paper)
        fitting = _fitting(entries, room)
        if not fitting and len(left) >= len(rooms):
            fitting = 1  # taller than a page: it is drawn all the same
        y = draw_page_heading(room.sheet, room.top, title_words("legend", language)) if fitting else room.top
        for entry in entries[:fitting]:
            entry.draw(room.sheet, SIDE, y, room.width)
            y += entry.height(room.width) + GAP
        entries = entries[fitting:]
        left.append(room.below(y))
    return left


def _fitting(entries: Sequence[Entry | Remark], room: Room) -> int:
    """Return how many of the next entries have room under a heading."""
    ends = accumulate((entry.height(room.width) + GAP for entry in entries), initial=room.top + 1.9 * PAGE_HEADING.size)
    return sum(end - GAP <= room.bottom for end in list(ends)[1:])
