"""Worksheet and answers: the same pages, brackets numbered; under the music a line for each number, empty in one and filled in the other.

Conventions
-----------
* The figures are numbered from 1 in time order. A number stands on its bracket, as a label does; a figure that goes on in the next system
  has its number there in parentheses.
* The lines come in two columns, or three where that saves a page, below the music of the last page where there is room for some of them,
  else on a page of their own. The music is set closer where that saves a page.
* A line has room for the longest wording, with the chords that come in an accompaniment, in both: so both have one layout.
* Lines for name and date are on the worksheet only.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from annotator.marks.marking import Mark, Markings, markings
from annotator.marks.style import Style
from annotator.pages.paper import Paper
from annotator.products.handout.blocks import GAP, over_pages
from annotator.products.handout.lesson import Lesson
from annotator.products.handout.sheet import BODY, HEADING, THIN, Sheet, below_music, laid_over, numbered, reworded

NUMBER = 750.0  # the column of numbers
LINE = BODY.size + GAP  # from one line to the next: nearly eight millimetres to write in
COLUMNS = (2, 3)
"""How many columns there are, and what is tried where it saves a page."""
FEWEST = 3
"""So many lines must have room below the music, in each column, for any to stand there."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The block of one number: the number and lines to write on, written on where ``filled``."""

    number: int
    text: str
    filled: bool

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> float:
        """Draw it; the room to the next block is not counted."""
        y += BODY.size
        sheet.text(x + NUMBER - 250.0, y, str(self.number), HEADING, "end")
        for line in BODY.wrapped(self.text, width - NUMBER) or [""]:
            sheet.line(x + NUMBER, y + 80.0, x + width, y + 80.0, THIN)
            if self.filled:
                sheet.text(x + NUMBER + 50.0, y, line)
            y += LINE
        return y - BODY.size - GAP


def worksheets(lesson: Lesson, style: Style) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the pages of the worksheet and those of its answers; ``style`` is the look of both, whose labels are numbers."""
    marked = markings(lesson.report)
    worded = [mark for mark in marked.marks if mark.labels[0]]
    numbers = {mark.id: str(number) for number, mark in enumerate(worded, 1)}
    marks = tuple(replace(mark, labels=(numbers[mark.id] if mark.labels[0] else "",) * 3, changes=()) for mark in marked.marks)
    bare = Markings(marks, frozenset(), marked.anchors)
    style = replace(style, labels="fit", greying=False)
    taken_in, extra = lesson.taken_in.in_look(style, lesson.paper), lesson.sheet_extra("worksheet")
    blank, filled = ([Answer(number, _full(mark), told) for number, mark in enumerate(worded, 1)] for told in (False, True))
    tried: list[tuple[str, ...]] = []
    for full in (True, False):
        tried.append(lesson.engraved(bare, style, extra, taken_in, full))
        if len(_place(blank, tried[-1][-1], lesson.paper)) == 1:
            break
    pages = min(tried, key=lambda some: len(some) + len(_place(blank, some[-1], lesson.paper)))
    kinds = [lesson.headed(lesson.titled(kind)) for kind in ("worksheet", "answers")]
    words = {kinds[0]: kinds[1], lesson.name_line(): "", lesson.said("write"): ""}
    return _with_lines(pages, blank, lesson), tuple(reworded(page, words) for page in _with_lines(pages, filled, lesson))


def _with_lines(pages: Sequence[str], answers: Sequence[Answer], lesson: Lesson) -> tuple[str, ...]:
    """Return the pages with a line for each number, and with lines for notes where there is room left."""
    over, *own = _place(answers, pages[-1], lesson.paper)
    for sheet in (over, *own):
        sheet.fill(lesson.language)
    for number, sheet in enumerate(own, len(pages) + 1):
        sheet.foot(number, len(pages) + len(own), lesson.score.title)
    return (*numbered([*pages[:-1], laid_over(pages[-1], over)], 0, len(own)), *(sheet.to_svg() for sheet in own))


def _place(answers: Sequence[Answer], page: str, paper: Paper) -> list[Sheet]:
    """Draw the lines, in the columns that take the fewest pages; return the page over the music, then new ones."""
    top = below_music(page, paper).top
    return min((over_pages(answers, [Sheet(paper, top)], paper, columns, fewest=FEWEST) for columns in COLUMNS), key=len)


def _full(mark: Mark) -> str:
    """Return the longest wording of a mark, with the chords that come in it."""
    return ", ".join((mark.labels[0], *(text for _, text in mark.changes)))
