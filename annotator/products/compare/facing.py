"""Plain and marked on facing pages: plain on the left, marked on the right, the same systems on both.

Rule: the pages of a booklet face each other from its second page on, so a front page comes first: title, names, what is left to read, and
how to print.
"""

from __future__ import annotations

import copy
from collections.abc import Sequence
from typing import Any

from annotator.pages.paper import POINT, HeadLine
from annotator.products.compare.sheets import Sheet, group, sheet_text, text_element
from annotator.products.compare.systems import Cut, System, plain, without_reasons

TITLE, LINE, SMALL = 24.0 * POINT, 12.0 * POINT, 10.0 * POINT


def facing_pages(cut: Cut, sheet: Sheet, words: tuple[str, str], front: Sequence[str], people: Sequence[HeadLine]) -> tuple[str, ...]:
    """Return the pages as SVG texts: the front page, then plain and marked in turn.

    ``words`` name the two in the page foot; ``front`` are the lines on the front page below title and names.
    """
    pages = 1 + 2 * len(cut.pages)
    texts = [sheet_text(sheet, _front(sheet, front, people), 1, pages, "")]
    for index, systems in enumerate(cut.pages):
        here = [cut.systems[each] for each in systems]
        head = [copy.deepcopy(cut.head)] if index == 0 and cut.head is not None else []
        upper = [group([plain(each.music)], "plain") for each in here]
        lower = [group(_marked(each), "marked") for each in here]
        number = 2 + 2 * index
        texts.append(sheet_text(sheet, [*head, *upper], number, pages, words[0]))
        texts.append(sheet_text(sheet, [*copy.deepcopy(head), *lower], number + 1, pages, f"{words[1]} · {sheet.legend}"))
    return tuple(texts)


def _marked(system: System) -> list[Any]:
    return [without_reasons(system.music), *(copy.deepcopy(each) for each in system.figures)]


def _front(sheet: Sheet, front: Sequence[str], people: Sequence[HeadLine]) -> list[Any]:
    """Return the lines of the front page, in its upper third."""
    middle = sheet.paper.inner_width / 2
    y = sheet.paper.inner_height / 4
    lines = []
    title = next((line for line in people if line.side == "middle"), None)
    if title is not None:
        lines.append(text_element(title.text, middle, y, min(TITLE, TITLE * title.points / 18.0), "middle"))
        y += 2.2 * LINE
    for line in people:
        if line is not title:
            lines.append(text_element(line.text, middle, y, line.size, "middle", font_style="italic"))
            y += 1.6 * LINE
    y += 2 * LINE
    for text in front:
        lines.append(text_element(text, middle, y, SMALL, "middle"))
        y += 1.7 * SMALL
    return [group(lines, "sheet")]
