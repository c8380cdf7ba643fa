"""Plain and marked on paper: system above system, or on facing pages; each page one SVG text that the PDF is painted from.

Conventions
-----------
* A ``Sheet`` is what is alike on all pages beside the music. Everything on a page is drawn in its margin group, in hundredths of a
  millimetre.
* A pair is a system without marks and the same system with them below it: one drawing used twice, so that every note stands exactly above
  its marked twin.

Rules
-----
* No pair is split, and there are as few pages as can be, filled as evenly as can be. What is left over on a page goes between its pairs,
  up to a limit. If the tallest pair is higher than the page, all pairs are made smaller by the same factor.
* Facing pages: plain on the left, marked on the right, the same systems on both. The pages of a booklet face each other from its second
  page on, so a front page comes first: title, names, what is left to read, and how to print.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby, islice
from typing import Any

from lxml import etree

from annotator.marks.style import Style
from annotator.pages import fonts
from annotator.pages.boxes import around, boxes_of
from annotator.pages.paper import MARGIN, POINT, HeadLine, Paper, draw_foot, text_line
from annotator.pages.svg import SVG
from annotator.products.compare.plain_and_marked import NAMESPACES, Cut, System, plain

WITHIN, BETWEEN, WIDEST = 380.0, 900.0, 2600.0
"""Room from ink to ink: between the two of a pair, between pairs at least, and between pairs at most."""

BELOW_HEAD = 700.0
WORD = 7.5 * POINT
WORD_AT = -420.0
"""Size of the words at the left, and where their middle stands, in the margin."""

TITLE, LINE, SMALL = 24.0 * POINT, 12.0 * POINT, 10.0 * POINT
"""Sizes on the front page."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """What all pages carry beside the music: the style; title, legend and copyright notice for the foot."""

    style: Style
    title: str
    legend: str
    notice: str


def pair_pages(cut: Cut, sheet: Sheet, words: tuple[str, str]) -> tuple[str, ...]:
    """Return the pages as SVG texts. ``words`` stand left of the plain and of the marked systems."""
    head = [] if cut.head is None else [cut.head]
    top = around([box for each in head for box in boxes_of(each)]).bottom + BELOW_HEAD if head else 0.0
    room = cut.paper.inner_height
    scale = min(1.0, (room - top) / max(_height(system) for system in cut.systems))
    counts = _dealt([scale * _height(system) for system in cut.systems], top, room)
    systems = iter(cut.systems)
    texts = []
    for number, count in enumerate(counts, 1):
        first = number == 1
        pairs = _pairs(list(islice(systems, count)), scale, top if first else 0.0, room, words)
        texts.append(_text_of(cut, sheet, [*head, *pairs] if first else pairs, number, len(counts)))
    return tuple(texts)


def facing_pages(cut: Cut, sheet: Sheet, words: tuple[str, str], front: Sequence[str], people: Sequence[HeadLine]) -> tuple[str, ...]:
    """Return the pages as SVG texts: the front page, then plain and marked in turn.

    ``words`` name the two in the page foot; ``front`` are the lines on the front page below title and names.
    """
    pages = 1 + 2 * (1 + cut.systems[-1].page)
    texts = [_text_of(cut, sheet, [_front(cut.paper, front, people)], 1, pages, "")]
    for page, systems in groupby(cut.systems, key=lambda system: system.page):
        here = list(systems)
        head = [cut.head] if page == 0 and cut.head is not None else []
        left = [_group([plain(each.music)], "plain") for each in here]
        right = [_group([each.music, *each.figures], "marked") for each in here]
        texts.append(_text_of(cut, sheet, [*copy.deepcopy(head), *left], 2 + 2 * page, pages, words[0]))
        texts.append(_text_of(cut, sheet, [*head, *right], 3 + 2 * page, pages, f"{words[1]} · {sheet.legend}"))
    return tuple(texts)


def _height(system: System) -> float:
    """Return the height of a pair, with the room between its two, before it is made smaller."""
    return system.bare.bottom - system.bare.top + WITHIN + system.ink.bottom - system.ink.top


def _dealt(heights: Sequence[float], top: float, room: float) -> list[int]:
    """Deal pairs of some heights out to pages; return how many each page has.

    From the last pair on back, the best deal of the rest is known: how many pages, how uneven, the pairs of each.
    """
    best: list[tuple[int, float, list[int]]] = [(0, 0.0, [])]
    for start in range(len(heights) - 1, -1, -1):
        free = room - (top if start == 0 else 0.0)
        choices = []
        for count in range(1, len(heights) - start + 1):
            used = sum(heights[start : start + count]) + BETWEEN * (count - 1)
            if count > 1 and used > free:
                break
            pages, unevenness, counts = best[-count]
            choices.append((pages + 1, unevenness + ((free - used) / room) ** 2, [count, *counts]))
        best.append(min(choices))
    return best[-1][2]


def _pairs(systems: Sequence[System], scale: float, top: float, room: float, words: tuple[str, str]) -> list[Any]:
    """Return the pairs of a page, each system plain and marked with its words beside it."""
    left = room - top - scale * sum(_height(system) for system in systems)
    between = min(WIDEST, left / (len(systems) - 1)) if len(systems) > 1 else 0.0
    content = []
    y = top
    for system in systems:
        upper_at = y - scale * system.bare.top
        lower_at = y + scale * (system.bare.bottom - system.bare.top + WITHIN - system.ink.top)
        middle = scale * _middle(system)
        upper, lower = (f"translate(0.0, {at:.1f}) scale({scale:.4f})" for at in (upper_at, lower_at))
        content += [_group([plain(system.music)], "plain", upper), _word(words[0], upper_at + middle)]
        content += [_group([system.music, *system.figures], "marked", lower), _word(words[1], lower_at + middle)]
        y += scale * _height(system) + between
    return content


def _middle(system: System) -> float:
    """Return the height halfway between the highest and the lowest note: near the middle of the staves."""
    whole = around(list(system.notes.values()) or [system.bare])
    return (whole.top + whole.bottom) / 2


def _word(text: str, middle: float) -> Any:
    """Return a word that is read from below, in the left margin."""
    turned = f"translate({WORD_AT:.0f}, {middle:.0f}) rotate(-90)"
    return _group([text_line(text, 0.0, 0.0, WORD, "middle", italic=True)], "sheet", turned)


def _front(paper: Paper, front: Sequence[str], people: Sequence[HeadLine]) -> Any:
    """Return the lines of the front page, in its upper third."""
    middle, y = paper.inner_width / 2, paper.inner_height / 4
    lines = []
    for line in (*(line for line in people if line.side == "middle"), *(line for line in people if line.side != "middle")):
        title = line.side == "middle"
        lines.append(text_line(line.text, middle, y, TITLE * line.points / 18.0 if title else line.size, "middle", line.italic))
        y += (2.2 if title else 1.6) * LINE
    y += 2 * LINE
    for text in front:
        lines.append(text_line(text, middle, y, SMALL, "middle"))
        y += 1.7 * SMALL
    return _group(lines, "sheet")


def _text_of(cut: Cut, sheet: Sheet, content: Iterable[Any], number: int, pages: int, legend: str | None = None) -> str:
    """Return a page with some groups on it; ``legend`` stands in the foot in place of the usual one."""
    width, height = cut.paper.width, cut.paper.height
    size = {"width": f"{width / 10:g}mm", "height": f"{height / 10:g}mm"}
    root = etree.Element(SVG + "svg", {"viewBox": f"0 0 {width} {height}"} | size, nsmap=NAMESPACES)
    definitions = etree.SubElement(root, SVG + "defs")
    etree.SubElement(root, SVG + "style").text = cut.rules
    look = {"color": sheet.style.ink, "fill": sheet.style.ink, "font-family": f"{fonts.FAMILY}, Times, serif"}
    box = f"0 0 {10 * width} {10 * height}"
    drawing = etree.SubElement(root, SVG + "svg", {"class": "definition-scale", "viewBox": box} | look)
    place = f"translate({10 * MARGIN}, {10 * cut.paper.top})"
    margin = etree.SubElement(drawing, SVG + "g", {"class": "page-margin", "transform": place})
    margin.extend(content)
    draw_foot(margin, number, pages, sheet.title, sheet.legend if legend is None else legend, sheet.notice, cut.paper)
    used = {each.get("href", "").removeprefix("#") for each in margin.iter(SVG + "use")}
    definitions.extend(copy.deepcopy(glyph) for name, glyph in cut.glyphs.items() if name in used)
    text: str = etree.tostring(root, encoding="unicode")
    return text


def _group(children: Iterable[Any], name: str, transform: str = "") -> Any:
    """Return children as one group."""
    element = etree.Element(SVG + "g", {"class": name} | ({"transform": transform} if transform else {}))
    element.extend(children)
    return element
