"""The look-through page: head, columns of facts to tick off, and the chart of bars below them. One page, more if it must be."""

from __future__ import annotations

from annotator.engraving.paper import Paper
from annotator.handout.blocks import GAP, Frame, bottom_of, flow
from annotator.handout.chart import Chart
from annotator.handout.facts import LookThrough
from annotator.handout.heading import SIDE, Heading, draw_page_head, draw_page_heading
from annotator.handout.sections import sections
from annotator.handout.sheet import Sheet
from annotator.words import count_words
from annotator.words.handout import title_words

COLUMN = 9000.0
"""About how wide a column of text is."""

GUTTER = 900.0
FOOT = 1300.0
"""Left free above the lower edge of the inner page for its foot."""


def look_through_pages(facts: LookThrough, heading: Heading, paper: Paper) -> list[Sheet]:
    """Return the pages, without their feet."""
    language = heading.language
    sheets = [Sheet(paper)]
    top = draw_page_head(sheets[0], heading)
    top = draw_page_heading(sheets[0], top, title_words("look-through", language))
    notes, to_read = sum(each.notes for each in facts.counts), sum(each.to_read for each in facts.counts)
    chart = Chart(title_words("chart", language), count_words(notes, to_read, language), facts.counts, language)
    inner = sheets[0].width - 2 * SIDE
    bottom = sheets[0].height - SIDE - FOOT
    frame = _columns(inner, top, bottom - chart.height(inner) - GAP)
    blocks = sections(facts, language)
    placed = flow(blocks, frame)
    if any(each.page for each in placed):
        frame = _columns(inner, top, bottom)
        placed = flow(blocks, frame)
    last = max((each.page for each in placed), default=0)
    y = bottom_of(placed, last, frame.width, frame.top if last else frame.first_top) + 1.3 * GAP
    if y + chart.height(inner) > bottom:
        last, y = last + 1, frame.top
    sheets += [Sheet(paper) for _ in range(last)]
    for each in placed:
        each.block.draw(sheets[each.page], each.x, each.y, frame.width)
    chart.draw(sheets[last], SIDE, y, inner)
    return sheets


def _columns(inner: float, first_top: float, bottom: float) -> Frame:
    number = max(1, round(inner / COLUMN))
    width = (inner - (number - 1) * GUTTER) / number
    return Frame(tuple(SIDE + each * (width + GUTTER) for each in range(number)), width, first_top, SIDE, bottom)
