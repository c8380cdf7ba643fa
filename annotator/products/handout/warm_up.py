"""The warm-up page: the figures of a piece, each once, as short excerpts with their brackets: in the fingers before its first bar.

Rule
----
* Figures that one label names are one figure; of one that is there often, the first that can be shown in two bars is.
* Hands apart, then together: those of the right hand, those of the left, those that both hands play. Most frequent first.
* One page: where there is not room for all, the least frequent are left out.
* An excerpt shows all its notes black: the bracket names the figure, the fingers learn it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from annotator.figures.figure import Figure
from annotator.figures.registry import OWN, kind_of
from annotator.pages.paper import Paper
from annotator.products.excerpts import Snippet
from annotator.products.handout.blocks import GAP, Block, Frame, bottom_of, flow
from annotator.products.handout.examples import Source, picture_of
from annotator.products.handout.filling import fill, new_page
from annotator.products.handout.heading import SIDE, Heading, draw_page_foot, draw_page_head, draw_page_heading
from annotator.products.handout.look_through import bars_of, spans_of
from annotator.products.handout.sheet import BODY, HEADING, SMALL_ITALIC, Sheet
from annotator.words import labels
from annotator.words.handout import bars_words, line_words, times_words, title_words

GUTTER = 900.0
FEW = 4
"""Up to so many figures stand in one column, over the whole width."""
MOST = 16
"""The most figures that are tried; more have no room on any paper."""

Group = list[tuple[str, Figure]]
"""The figures of one label, each with its name in the report."""


@dataclass(frozen=True, slots=True)
class Warmth:
    """The block of one figure: its picture, and below it how often it comes and where. ``heading`` stands above the first of a hand."""

    picture: Snippet
    where: str
    heading: str = ""

    def height(self, width: float) -> float:
        """Return its height."""
        return self._above() + self._size(width)[1] + len(SMALL_ITALIC.wrapped(self.where, width)) * SMALL_ITALIC.line + 100.0

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> None:
        """Draw it."""
        if self.heading:
            sheet.text(x, y + HEADING.size, self.heading, HEADING)
        wide, high = self._size(width)
        sheet.picture(x, y + self._above(), wide, high, self.picture.svg)
        y += self._above() + high + 100.0
        for line in SMALL_ITALIC.wrapped(self.where, width):
            y += SMALL_ITALIC.line
            sheet.text(x, y - 0.25 * SMALL_ITALIC.line, line, SMALL_ITALIC)

    def _above(self) -> float:
        return 1.6 * HEADING.line if self.heading else 0.0

    def _size(self, width: float) -> tuple[float, float]:
        scale = min(1.0, width / (100 * self.picture.width_mm))
        return 100 * scale * self.picture.width_mm, 100 * scale * self.picture.height_mm


def warm_up_page(source: Source, heading: Heading, paper: Paper, notice: str) -> str:
    """Return the page as SVG text."""
    language = heading.language
    room = new_page(paper)
    sheet = room.sheet
    top = draw_page_heading(sheet, draw_page_head(sheet, heading), title_words("warm-up", language))
    groups = _groups(source)[:MOST]
    columns = 1 if len(groups) <= FEW else 2
    width = (sheet.width - 2 * SIDE - (columns - 1) * GUTTER) / columns
    lefts = tuple(SIDE + each * (width + GUTTER) for each in range(columns))
    frame = Frame(lefts, width, top, SIDE, room.bottom)
    if not groups:
        sheet.text(SIDE, top + BODY.size, line_words("none", language))
    pictures = {id(group): _block(replace(source, width=width / 100), group, f"w{at}-", language) for at, group in enumerate(groups)}
    for most in range(len(groups), 0, -1):
        blocks = _in_order(groups[:most], pictures, language)
        placed = flow(blocks, frame)
        if most == 1 or not any(each.page for each in placed):
            for each in placed:
                each.block.draw(sheet, each.x, each.y, width)
            fill(room.below(bottom_of(placed, 0, width, top) + 2 * GAP), language)
            break
    draw_page_foot(sheet, 1, 1, heading.title, notice, paper)
    return sheet.to_svg()


def _groups(source: Source) -> list[Group]:
    """Return the figures under one label each, most frequent first, then as they come."""
    found: dict[tuple[str, str, str], Group] = {}
    for name, figure in source.report.figures:
        if figure.kind != OWN.name:
            found.setdefault((figure.kind, _played_by(figure), labels(figure, source.options.language)[0]), []).append((name, figure))
    return sorted(found.values(), key=len, reverse=True)


def _played_by(figure: Figure) -> str:
    """Return ``right``, ``left`` or ``together``."""
    both = figure.both_hands or kind_of(figure.kind).family == "hands"
    return "together" if both else figure.hand


def _block(source: Source, group: Group, prefix: str, language: str) -> Warmth:
    bars = next(part.bars for part in source.score.parts if part.id == group[0][1].part)
    where = bars_words(spans_of((index for _, figure in group for index in bars_of(figure)), bars), language)
    picture = picture_of(replace(source, style=replace(source.style, greying=False, note_names_on_anchors=False)), group, prefix)
    return Warmth(picture, f"{times_words(len(group), language)}: {where}")


def _in_order(groups: Sequence[Group], pictures: dict[int, Warmth], language: str) -> list[Block]:
    """Return the blocks, hands apart and then together, the first of each with its heading."""
    blocks: list[Block] = []
    for hand in ("right", "left", "together"):
        own = [pictures[id(group)] for group in groups if _played_by(group[0][1]) == hand]
        blocks += [replace(block, heading=title_words(hand, language) if at == 0 else "") for at, block in enumerate(own)]
    return blocks
