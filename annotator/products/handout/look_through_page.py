"""The look-through page: head, columns of facts to tick off, and the chart of bars below them. It is one side of paper, always.

Rule: where there is too much to tell, the tallest section tells a row less (``…`` stands for the rest), and so on; sections of two rows
come last, and in the end the chart is left out.
"""

from __future__ import annotations

from collections.abc import Sequence

from annotator.pages.paper import Paper
from annotator.products.handout.blocks import GAP, Block, Frame, Placed, Section, bottom_of, flow
from annotator.products.handout.chart import Chart
from annotator.products.handout.facts import LookThrough
from annotator.products.handout.filling import Room, new_page
from annotator.products.handout.heading import SIDE, Heading, draw_page_head, draw_page_heading
from annotator.products.handout.sections import sections
from annotator.products.handout.sheet import Sheet
from annotator.words import count_words
from annotator.words.handout import title_words

COLUMN = 9000.0
"""About how wide a column of text is."""

GUTTER = 900.0


def look_through_page(facts: LookThrough, heading: Heading, paper: Paper) -> Room:
    """Return the page, without its foot, as the room that is left on it."""
    language = heading.language
    page = new_page(paper)
    top = draw_page_head(page.sheet, heading)
    top = draw_page_heading(page.sheet, top, title_words("look-through", language))
    notes, to_read = sum(each.notes for each in facts.counts), sum(each.to_read for each in facts.counts)
    chart = Chart(title_words("chart", language), count_words(notes, to_read, language), facts.counts, language)
    frame = _columns(page.width, top, page.bottom)
    room = 1.3 * GAP + chart.height(page.width)
    blocks = sections(facts, language)
    placed = flow(blocks, _columns(page.width, top, page.bottom - room))
    while placed[-1].page:
        shorter = _shortened(blocks, frame.width)
        if shorter is None and not room:
            break
        blocks, room = (blocks, 0.0) if shorter is None else (shorter, room)
        placed = flow(blocks, _columns(page.width, top, page.bottom - room))
    y = _draw(placed, frame, page.sheet)
    if room:
        chart.draw(page.sheet, SIDE, y + 1.3 * GAP, page.width)
        y += room
    return page.below(y + 2 * GAP)


def _shortened(blocks: Sequence[Block], width: float) -> list[Block] | None:
    """Return the blocks with a row less in the tallest section that can spare one; None where each has one row."""
    for fewest in (3, 2):
        able = [block for block in blocks if isinstance(block, Section) and block.told >= fewest]
        if able:
            tallest = max(able, key=lambda block: block.height(width))
            return [block.shorter() if block is tallest and isinstance(block, Section) else block for block in blocks]
    return None


def _draw(placed: Sequence[Placed], frame: Frame, sheet: Sheet) -> float:
    """Draw the blocks of the page and return where they end."""
    for each in placed:
        if not each.page:
            each.block.draw(sheet, each.x, each.y, frame.width)
    return bottom_of(placed, 0, frame.width, frame.first_top)


def _columns(inner: float, first_top: float, bottom: float) -> Frame:
    number = max(1, round(inner / COLUMN))
    width = (inner - (number - 1) * GUTTER) / number
    return Frame(tuple(SIDE + each * (width + GUTTER) for each in range(number)), width, first_top, SIDE, bottom)
