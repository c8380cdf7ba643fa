"""The score drawn as one endless system: where its bars and notes stand when nothing stretches or squeezes them.

Conventions: widths and places are in the page's drawing units. Bars are counted from 0.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from annotator.pages.boxes import Box, boxes_of
from annotator.pages.shades import heads_of
from annotator.pages.svg import SVG, classes, numbers, tag


@dataclass(frozen=True, slots=True)
class Strip:
    """The heads and the bar of each note by its number, the left ends of all bars and the right end of the last, from left to right.

    ``start`` is the width of what begins a system (clef, key).
    """

    heads: Mapping[int, Box]
    bar_of: Mapping[int, int]
    edges: Sequence[float]
    start: float

    @property
    def widths(self) -> list[float]:
        """The natural width of each bar."""
        return [right - left for left, right in pairwise(self.edges)]


NO_STRIP = Strip({}, {}, (), 0.0)


def read_strip(drawn: Any, staff_of: Mapping[int, int]) -> Strip:
    """Read a drawn strip; ``staff_of`` is the staff of each note, through all parts from 1."""
    heads: dict[int, Box] = {}
    bar_of: dict[int, int] = {}
    edges = [0.0]
    start = 0.0
    for bar, measure in enumerate(each for each in drawn.iter(SVG + "g") if "measure" in classes(each)):
        staff = next((each for each in measure if "staff" in classes(each)), None)
        lines = [] if staff is None else [each for each in staff if tag(each) == "path"]
        left, _, right, *_ = numbers(lines[0].get("d")) if lines else [edges[-1], 0.0, edges[-1]]
        if bar == 0:
            edges[0] = left
            start = 0.0 if staff is None else _head_width(staff, left)
        edges.append(right)
        for head in heads_of(measure, staff_of):
            heads.setdefault(head.number, head.box)
            bar_of.setdefault(head.number, bar)
    return Strip(heads, bar_of, edges, start)


def _head_width(staff: Any, left: float) -> float:
    """How far clef and key signature of a staff reach."""
    right = left
    for child in staff:
        if "clef" in classes(child) or "keySig" in classes(child):
            right = max([right, *(box.right for box in boxes_of(child))])
    return right - left
