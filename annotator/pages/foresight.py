"""The first guess: which bars will be too short for the words on them, told before a page is drawn.

Conventions: places are in the page's drawing units, from the left margin.

Rule
----
Once it is known where the systems end, each is a piece of the strip made as wide as the page: what begins it (clef, key) keeps its width,
notes move apart or together alike, their heads keep their width. Where a stretch is to be wider, what is in it moves apart and what follows
moves on. On systems foreseen so, brackets are made and measured as on those of a page; what was foreseen wrong is found on the drawn page.

Source: measured on the engraver's pages; that a last system is left as it is below ``LEAST_LAST`` is the engraver's default.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from itertools import accumulate, pairwise

from annotator.marks.marking import Mark
from annotator.pages.boxes import Box
from annotator.pages.brackets import Setting, System, bracket_in, stretch_of, systems_of
from annotator.pages.strip import Strip
from annotator.pages.widening import Stretch

LEAST_LAST = 0.8
"""From what part of the page's width on the last system is made as wide as the page."""

Warp = Callable[[float], float]


def foreseen(strip: Strip, first_bars: Sequence[int], width: float, known: Iterable[Stretch]) -> list[System]:
    """Return the systems that begin with these bars (and with the first) as they will be on pages of an inner width."""
    moved = _warp(strip, known)
    systems = []
    heads: list[dict[int, Box]] = [{} for _ in range(len(first_bars) + 1)]
    for number, box in strip.heads.items():
        heads[bisect_right(first_bars, strip.bar_of[number])][number] = box
    count = len(strip.edges) - 1
    for index, (begin, end) in enumerate(pairwise([0, *first_bars, count])):
        left = moved(strip.edges[begin]) + (0.0 if begin else strip.start)
        music = max(moved(strip.edges[end]) - left, 1.0)
        short = end == count and music + strip.start < LEAST_LAST * width
        factor = 1.0 if short else (width - strip.start) / music

        def place(x: float, left: float = left, factor: float = factor) -> float:
            """Return where on its system something of the strip stands."""
            return strip.start + (moved(x) - left) * factor

        here = {
            number: Box(at := place(box.left), box.top, at + box.right - box.left, box.bottom) for number, box in heads[index].items()
        }
        systems.append(System(index, here, {}, 0.0, place(strip.edges[end]), {}))
    return systems


def _warp(strip: Strip, known: Iterable[Stretch]) -> Warp:
    """Return what moves a place of the strip to where it is once these stretches are as wide as they must be."""
    gains: list[tuple[float, float]] = []
    for each in known:
        if each.first not in strip.heads:
            continue
        left = strip.heads[each.first].left
        right = strip.heads[each.last].left if each.last in strip.heads else strip.edges[strip.bar_of[each.first] + 1]
        if right > left and each.width > right - left:
            gain = each.width / (right - left) - 1.0
            gains += [(left, gain), (right, -gain)]
    if not gains:
        return lambda x: x
    gains.sort()
    places = [place for place, _ in gains]
    slopes = list(accumulate(gain for _, gain in gains))
    moved = [0.0, *accumulate(slope * (b - a) for slope, (a, b) in zip(slopes, pairwise(places), strict=False))]

    def warp(x: float) -> float:
        """Return a place with what it is moved by: up to the last change of slope, and from there."""
        index = bisect_right(places, x) - 1
        return x if index < 0 else x + moved[index] + slopes[index] * (x - places[index])

    return warp


def too_short(systems: Sequence[System], marks: Sequence[Mark], setting: Setting) -> list[Stretch]:
    """Return the stretches of systems that are too narrow for the words on them, or nearly so."""
    found = []
    for index, mark in enumerate(marks):
        for place in systems_of(mark, setting):
            made = bracket_in(systems[place], index, mark, setting)
            stretch = stretch_of(made[0], setting) if made is not None else None
            if stretch is not None:
                found.append(stretch)
    return found
