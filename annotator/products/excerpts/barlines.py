"""Bar lines at the cut: repeats and endings stay only where both their ends are in the excerpt.

Rule
----
* A repeat that goes back to before the excerpt, or a repeat sign whose way back is behind it, is gone; within the excerpt a double bar
  stands in its place, for a part of the piece begins or ends there.
* The brackets of first and second endings stay only where all endings of that place are in the excerpt.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from annotator.products.excerpts.moments import Moment
from annotator.products.excerpts.section import Section


def mend_barlines(section: Section) -> None:
    """Take away repeats and endings that hang."""
    bars = section.taken.bars
    groups = _ending_groups(section.bars)
    whole = {place for group in groups if group[0] in bars and group[-1] in bars for place in group}
    kept_back, kept_forward = _repeats(section.bars, bars, groups)
    for place, measure in zip(bars, section.measures, strict=True):
        for barline in measure.findall("barline"):
            for ending in barline.findall("ending"):
                if place not in whole:
                    barline.remove(ending)
            repeat = barline.find("repeat")
            if repeat is not None:
                forward = repeat.get("direction") == "forward"
                if place not in (kept_forward if forward else kept_back):
                    _unrepeat(barline, repeat, place == (bars[0] if forward else bars[-1]))
            if not len(barline):
                measure.remove(barline)


def _unrepeat(barline: Any, repeat: Any, at_edge: bool) -> None:
    """Take a repeat sign away; leave a double bar, or nothing at the edge of the excerpt."""
    barline.remove(repeat)
    style = barline.find("bar-style")
    if style is not None and at_edge:
        barline.remove(style)
    elif style is not None:
        style.text = "light-light"


def _barlines(bars: Sequence[Sequence[Moment]], tag: str) -> list[tuple[int, Any]]:
    """Return all elements of a kind within bar lines, each with its bar."""
    return [
        (place, element)
        for place, bar in enumerate(bars)
        for moment in bar
        if moment.tag == "barline"
        for element in moment.element.findall(tag)
    ]


def _ending_groups(bars: Sequence[Sequence[Moment]]) -> list[range]:
    """Return the bars of each group of neighbouring endings."""
    groups: list[range] = []
    start: int | None = None
    for place, ending in _barlines(bars, "ending"):
        if ending.get("type") == "start":
            start = place
        elif start is not None:
            if groups and groups[-1].stop == start:
                groups[-1] = range(groups[-1].start, place + 1)
            else:
                groups.append(range(start, place + 1))
            start = None
    return groups


def _repeats(bars: Sequence[Sequence[Moment]], taken: range, groups: list[range]) -> tuple[set[int], set[int]]:
    """Return the bars taken whose way back, and those whose forward sign, stay."""
    back: set[int] = set()
    forward: set[int] = set()
    begin, signed, before = 0, False, -1
    for place, repeat in _barlines(bars, "repeat"):
        if repeat.get("direction") == "forward":
            begin, signed, before = place, True, -1
            continue
        if before >= 0 and not any(before in group and place in group for group in groups):
            begin, signed = before + 1, False
        before = place
        if begin in taken and place in taken:
            back.add(place)
            if signed:
                forward.add(begin)
    return back, forward
