"""Bars made wider where a bracket is too short for its words.

Conventions
-----------
A *stretch* goes from one note of a staff to another, or to the end of the first one's bar. Widths are in the page's drawing units.

Rule
----
No text may be wider than its bracket. Where even the shortest wording is, the engraver is given two unseen chord symbols, at the first and
at the last note: it keeps chord symbols apart, so the first one, as wide as the words, pushes the notes between them apart.
The bar then counts as so much wider when the systems are chosen.

Source: that the engraver keeps its ``harm`` elements apart was measured (Verovio 6).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from lxml import etree

from annotator.pages.carriers import CLASS, MEI, homes
from annotator.pages.render_copy import PREFIX

LETTER, POINTS = "n", 6.0
LETTER_WIDTH = 0.5 * POINTS * 35.28
"""What the unseen symbols are made of: half an em wide in any Times, one point is 35.28 hundredths of a millimetre."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """From the note numbered ``first`` to ``last`` (0: to the end of its bar): how wide it must be, and how much of that its bar lacks.

    ``narrow``: on the page as it is; else it only would be in a narrower system.
    ``staff`` counts through all parts from 1, ``side`` is the side of the staff the bracket is on.
    """

    first: int
    last: int
    staff: int
    side: str
    width: float
    missing: float
    narrow: bool = True


Stretches = Mapping[tuple[int, int], Stretch]


def with_more(known: Stretches, found: Iterable[Stretch]) -> dict[tuple[int, int], Stretch]:
    """Return the stretches known with those found too narrow, or nearly so; one that was known and is not wide enough asks for more."""
    together = dict(known)
    for each in found:
        before = together.get((each.first, each.last))
        if before is None:
            together[each.first, each.last] = each
        elif each.narrow:
            width, missing = max(each.width, before.width) + each.missing, before.missing + each.missing
            together[each.first, each.last] = replace(each, width=width, missing=missing)
    return together


def widen(mei: Any, stretches: Stretches) -> None:
    """Put what keeps the ends of each stretch apart into an MEI tree; it is taken off the page with the carriers."""
    home = homes(mei) if stretches else {}
    for stretch in stretches.values():
        count = math.ceil(stretch.width / LETTER_WIDTH)
        for number, letters in ((stretch.first, count), (stretch.last, 1)):
            measure = home.get(f"{PREFIX}{number}")
            if measure is not None:
                measure.append(_symbol(number, letters, stretch))


def _symbol(number: int, letters: int, stretch: Stretch) -> Any:
    attributes = {"startid": f"#{PREFIX}{number}", "staff": str(stretch.staff), "place": stretch.side, "type": CLASS}
    symbol = etree.Element(MEI + "harm", attributes)
    text = etree.SubElement(symbol, MEI + "rend", {"fontsize": f"{POINTS:g}pt", "halign": "left"})
    text.text = LETTER * letters
    return symbol


def widened(natural: Sequence[float], bar_of: Mapping[int, int], stretches: Stretches) -> list[float]:
    """Return the natural widths of the bars with what is missing in them; ``bar_of`` is the bar of each note."""
    widths = list(natural)
    for stretch in stretches.values():
        index = bar_of.get(stretch.first)
        if index is not None and index < len(widths):
            widths[index] += stretch.missing
    return widths
