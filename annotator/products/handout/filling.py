"""What stands below the music of an engraved page, or below our own text: room for more, and lines to write on where there is no more.

Conventions: a ``Room`` is a sheet and from where to where it is free, in hundredths of a millimetre from the upper edge of the paper. A
sheet that is laid over an engraved page has nothing drawn on it but what goes into that page.

Rule: no page is a third empty. What is left of a page, where it is more than ``EMPTY`` of it, gets lines for notes in the lesson.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from lxml import etree

from annotator.pages.boxes import boxes_of
from annotator.pages.paper import Paper
from annotator.pages.svg import SVG, classes, numbers
from annotator.products.handout.heading import SIDE, draw_page_heading
from annotator.products.handout.sheet import Sheet
from annotator.words.handout import title_words

BELOW_MUSIC = 700.0
ABOVE_FOOT = 1300.0
"""Left free above the lower edge of the inner page for its foot."""
EMPTY = 0.22
"""Share of the paper's height that may stay empty."""
LINES = 900.0  # from one line to write on to the next
THIN = 10.0


@dataclass(frozen=True, slots=True)
class Room:
    """A sheet and the room on it that is free."""

    sheet: Sheet
    top: float
    bottom: float

    def below(self, top: float) -> Room:
        """Return what is left of it below a height."""
        return Room(self.sheet, top, self.bottom)

    @property
    def width(self) -> float:
        """How wide it is between the margins."""
        return self.sheet.width - 2 * SIDE


def new_page(paper: Paper) -> Room:
    """Return an empty page of ours."""
    sheet = Sheet(paper)
    return Room(sheet, SIDE, bottom_of(sheet))


def bottom_of(sheet: Sheet) -> float:
    """Return where the room of a page ends, above its foot."""
    return sheet.height - SIDE - ABOVE_FOOT


def below_music(page: str, paper: Paper) -> Room:
    """Return the room below the music of an engraved page, on a sheet to be laid over it."""
    margin = next(each for each in _parsed(page).iter(SVG + "g") if "page-margin" in classes(each))
    shift = (*numbers(margin.get("transform")), 0.0, 0.0)[1] or 10.0 * paper.top
    low = max((box.bottom for child in margin if "sheet" not in classes(child) for box in boxes_of(child)), default=0.0)
    sheet = Sheet(paper)
    return Room(sheet, low + shift + BELOW_MUSIC, bottom_of(sheet))


def laid_over(page: str, sheet: Sheet) -> str:
    """Return an engraved page with what is drawn on a sheet; as it was, where that is nothing."""
    if not len(sheet.group):
        return page
    root = _parsed(page)
    _, _, width, height = numbers(root.get("viewBox"))
    size = {"x": "0", "y": "0", "width": f"{width:g}", "height": f"{height:g}", "viewBox": f"0 0 {sheet.width:g} {sheet.height:g}"}
    etree.SubElement(root, SVG + "svg", {"class": "sheet", "font-family": sheet.family, **size}).append(sheet.group)
    return str(etree.tostring(root, encoding="unicode")) + "\n"


def numbered(pages: Sequence[str], before: int, after: int) -> tuple[str, ...]:
    """Return engraved pages that are numbered among themselves, as pages of a larger file."""
    last, total = len(pages), before + len(pages) + after
    return tuple(reworded(page, {f"{number} / {last}": f"{number + before} / {total}"}) for number, page in enumerate(pages, 1))


def reworded(page: str, words: dict[str, str]) -> str:
    """Return a page with texts of its head and foot replaced by others."""
    root = _parsed(page)
    for element in root.iter(SVG + "text"):
        if element.text in words and "label" not in classes(element):
            element.text = words[element.text]
    return str(etree.tostring(root, encoding="unicode")) + "\n"


def fill(room: Room, language: str) -> None:
    """Draw lines to write on where so much of the page is left."""
    if room.bottom - room.top < EMPTY * room.sheet.height:
        return
    y = draw_page_heading(room.sheet, room.top, title_words("notes", language))
    while y + LINES <= room.bottom:
        y += LINES
        room.sheet.line(SIDE, y, SIDE + room.width, y, THIN)


def _parsed(page: str) -> Any:
    return etree.fromstring(page.encode(), etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True))
