"""What stands over a page of the handout: title, names, the class, lines for the pupil's name and the date, the page's own heading.

Conventions: the first page of a file carries all of it, later pages their own heading only. ``Heading.title`` is the score's or the one
asked for; an empty class has no line.
"""

from __future__ import annotations

from dataclasses import dataclass

from lxml import etree

from annotator.pages.paper import MARGIN, Paper, draw_foot
from annotator.pages.svg import SVG
from annotator.products.handout.sheet import BODY, PAGE_HEADING, SUBTITLE, TITLE, Letters, Sheet
from annotator.words.handout import title_words

SIDE = 10.0 * MARGIN
THIN = 12.0
MOST_LINES = 3  # of a title


@dataclass(frozen=True, slots=True)
class Heading:
    """Title and composer of the piece, and the class it is handed out to (may be empty)."""

    title: str
    composer: str
    group: str
    language: str


def draw_page_head(sheet: Sheet, heading: Heading) -> float:
    """Draw the full head of a first page and return where it ends."""
    middle, right = sheet.width / 2, sheet.width - SIDE
    y = SIDE
    for line in TITLE.wrapped(heading.title, 0.95 * (right - SIDE))[:MOST_LINES]:
        y += TITLE.size
        sheet.text(middle, y, line, TITLE, "middle")
    if heading.group or heading.composer:
        y += 1.5 * SUBTITLE.size
        sheet.text(SIDE, y, _cut(heading.group, SUBTITLE, 0.48 * (right - SIDE)), SUBTITLE)
        sheet.text(right, y, _cut(heading.composer, SUBTITLE, 0.48 * (right - SIDE)), SUBTITLE, "end")
    y += 2.2 * BODY.size
    date = SIDE + 0.62 * (right - SIDE)
    _blank(sheet, SIDE, date - 500.0, y, title_words("name", heading.language))
    _blank(sheet, date, right, y, title_words("date", heading.language))
    return y + 1.2 * BODY.size


def draw_page_heading(sheet: Sheet, y: float, text: str) -> float:
    """Draw the heading of a page's contents and return where it ends."""
    sheet.text(SIDE, y + PAGE_HEADING.size, text, PAGE_HEADING)
    return y + 1.9 * PAGE_HEADING.size


def draw_page_foot(sheet: Sheet, page: int, pages: int, title: str, notice: str, paper: Paper) -> None:
    """Draw the foot that every page has."""
    inside = etree.SubElement(sheet.group, SVG + "g", {"transform": f"translate({SIDE:.0f}, {10 * paper.top:.0f})"})
    draw_foot(inside, page, pages, title, "", notice, paper)


def _blank(sheet: Sheet, left: float, right: float, y: float, word: str) -> None:
    """Draw a word and a line to write on."""
    sheet.text(left, y, word)
    sheet.line(left + BODY.width(word + " "), y + 0.1 * BODY.size, right, y + 0.1 * BODY.size, THIN)


def _cut(text: str, letters: Letters, width: float) -> str:
    """Return the beginning of a text that has room."""
    lines = letters.wrapped(text, width - letters.width(" …"))
    return " …".join([lines[0], ""]).rstrip() if len(lines) > 1 else "".join(lines)
