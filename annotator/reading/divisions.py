"""The one resolution of a score: how many ticks a quarter note has.

Conventions
-----------
* The least common multiple of all divisions in the score, so that every duration is a whole number of ticks; and of the tuplets that those
  divisions cannot express, so that their exact lengths are whole numbers too.
* A part whose divisions are missing where its first note stands has those that this note's shape and duration imply, else 1.

Source: MusicXML 4.0, element ``divisions``.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import lcm
from typing import Any

from annotator.reading.attributes import sane_divisions
from annotator.reading.layout import PartLayout
from annotator.reading.limits import Limits
from annotator.reading.notes import gather, shaped_quarters, whole
from annotator.reading.repairs import Repairs

FINEST_TUPLET = 64  # more notes than this in the time of others are left as the file rounds them


def resolution_of(root: Any, starts: Iterable[int], limits: Limits) -> int:
    """Return the ticks of a quarter note. ``starts`` are the divisions the parts start with."""
    texts: dict[str, set[str | None]] = {"divisions": set(), "actual-notes": set()}
    for element in root.iter(*texts):
        texts[element.tag].add(element.text)
    divisions = {*starts, *(sane_divisions(text, limits) or 1 for text in texts["divisions"])}
    tuplets = {whole(text) or 1 for text in texts["actual-notes"]}
    rounded = {number for number in tuplets if 1 < number <= FINEST_TUPLET and any(each % number for each in divisions)}
    resolution = 1
    for number in [*sorted(divisions), *sorted(rounded)]:
        finer = lcm(resolution, number)
        if finer <= limits.resolution:
            resolution = finer
    return lcm(resolution, 8) if rounded else resolution  # dots and short notes inside such tuplets


def first_divisions(layout: PartLayout, place: str, limits: Limits, repairs: Repairs) -> int:
    """Return the divisions a part starts with; where none stand before its first note, what that note implies."""
    for measure in layout.measures:
        for child in measure.content if measure.content is not None else ():
            if child.tag == "attributes":
                for element in child.iterchildren("divisions"):
                    if found := sane_divisions(element.text, limits):
                        return found
            elif child.tag == "note" and child.find("grace") is None:
                repairs.add("divisions missing, taken from the first note", f"{place}, bar {measure.number}")
                return _implied(child, limits)
    return 1


def _implied(note: Any, limits: Limits) -> int:
    """Return the divisions that fit a note's duration to its shape, else 1."""
    draft, divided, shape, *_ = gather(note, 0)
    quarters = shaped_quarters(shape, draft.tuplet)
    implied = Fraction(whole(divided) or 0) / quarters if quarters else Fraction(1)
    return int(implied) if implied.denominator == 1 and 1 <= implied <= limits.divisions else 1
