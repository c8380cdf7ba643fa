"""Plain and marked, system above system: one drawing used twice, so that every note stands exactly above its marked twin.

Conventions
-----------
A pair is a system without marks and the same system with them below it. Heights are in hundredths of a millimetre.

Rule: no pair is split, and there are as few pages as can be, filled as evenly as can be. What is left over on a page goes between its
pairs, up to a limit. If the tallest pair is higher than the page, all pairs are made smaller by the same factor.
"""

from __future__ import annotations

import copy
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from annotator.pages.boxes import around, boxes_of
from annotator.pages.paper import POINT
from annotator.products.compare.sheets import Sheet, group, sheet_text, text_element
from annotator.products.compare.systems import Cut, System, plain, without_reasons

WITHIN, BETWEEN, WIDEST = 380.0, 900.0, 2600.0
"""Room from ink to ink: between the two of a pair, between pairs at least, and between pairs at most."""

BELOW_HEAD = 700.0
WORD = 7.5 * POINT
WORD_AT = -420.0
"""Size of the words at the left, and where their middle stands, in the margin."""


@dataclass(frozen=True, slots=True)
class Pair:
    """A system twice; heights are unscaled."""

    system: System

    @property
    def upper(self) -> float:
        """Height of the plain system's ink."""
        return self.system.bare.bottom - self.system.bare.top

    @property
    def height(self) -> float:
        """Height of both, with the room between them."""
        return self.upper + WITHIN + self.system.ink.bottom - self.system.ink.top


def pair_pages(cut: Cut, sheet: Sheet, words: tuple[str, str]) -> tuple[str, ...]:
    """Return the pages as SVG texts. ``words`` stand left of the plain and of the marked systems."""
    pairs = [Pair(system) for system in cut.systems]
    top = 0.0
    if cut.head is not None:
        top = around(list(boxes_of(cut.head))).bottom + BELOW_HEAD
    room = sheet.paper.inner_height
    scale = min(1.0, (room - top) / max(pair.height for pair in pairs))
    pages = _filled(pairs, scale, top, room)
    texts = []
    for number, page in enumerate(pages, 1):
        start = top if number == 1 else 0.0
        content = [copy.deepcopy(cut.head)] if number == 1 and cut.head is not None else []
        content += _page(page, scale, start, room, words)
        texts.append(sheet_text(sheet, content, number, len(pages)))
    return tuple(texts)


def _filled(pairs: Sequence[Pair], scale: float, top: float, room: float) -> list[Sequence[Pair]]:
    """Deal the pairs out to pages.

    From the last pair on back, the best deal of the rest is known: (pages, unevenness, how many pairs on its first page).
    """
    best: list[tuple[int, float, int]] = [(0, 0.0, 0)]
    for start in range(len(pairs) - 1, -1, -1):
        free = room - (top if start == 0 else 0.0)
        choices = []
        for count in range(1, len(pairs) - start + 1):
            used = sum(scale * pair.height for pair in pairs[start : start + count]) + BETWEEN * (count - 1)
            if count > 1 and used > free:
                break
            pages, unevenness, _ = best[-count]
            choices.append((pages + 1, unevenness + ((free - used) / room) ** 2, count))
        best.append(min(choices))
    dealt, start = [], 0
    while start < len(pairs):
        count = best[len(pairs) - start][2]
        dealt.append(pairs[start : start + count])
        start += count
    return dealt


def _page(pairs: Sequence[Pair], scale: float, top: float, room: float, words: tuple[str, str]) -> list[Any]:
    left = room - top - scale * sum(pair.height for pair in pairs)
    between = min(WIDEST, left / (len(pairs) - 1)) if len(pairs) > 1 else 0.0
    content = []
    y = top
    for pair in pairs:
        content += _drawn(pair, y, scale, words)
        y += scale * pair.height + between
    return content


def _drawn(pair: Pair, y: float, scale: float, words: tuple[str, str]) -> list[Any]:
    """Return the plain and the marked system of a pair, each with its word, from height ``y`` on."""
    system = pair.system
    upper = group([plain(system.music)], "plain", (0.0, y - scale * system.bare.top), scale)
    lower_at = y + scale * (pair.upper + WITHIN - system.ink.top)
    marked = [without_reasons(system.music), *(copy.deepcopy(each) for each in system.figures)]
    lower = group(marked, "marked", (0.0, lower_at), scale)
    middle = scale * _middle(system)
    return [upper, _word(words[0], y - scale * system.bare.top + middle), lower, _word(words[1], lower_at + middle)]


def _middle(system: System) -> float:
    """Return the height halfway between the highest and the lowest note: near the middle of the staves."""
    boxes = list(system.notes.values()) or [system.bare]
    whole = around(boxes)
    return (whole.top + whole.bottom) / 2


def _word(text: str, middle: float) -> Any:
    """Return a word that is read from below, in the left margin."""
    word = group([text_element(text, 0.0, 0.0, WORD, "middle", font_style="italic")], "sheet")
    word.set("transform", f"translate({WORD_AT:.0f}, {middle:.0f}) rotate(-90)")
    return word
