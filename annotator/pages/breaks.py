"""Where a system ends: even systems, chosen for the whole piece at once; and a page, where the last one would hold next to nothing.

Conventions
-----------
Widths are in the page's drawing units. ``natural`` is a bar's width as the engraver sets it on one endless system.

Rule
----
A system of bars is stretched or squeezed by ``room / natural width``. Its cost is the square of what that differs from 1.08 (a little
air is good), squeezing four times as dear as stretching. The last system is left as it falls, but one that would be less than
half full costs what is missing, so that no last bar stands alone. Dynamic programming finds the cheapest whole.

Pages are filled from the first, but where that leaves less than a third of a page to the last, the last three share their systems evenly;
of two pages the second gets a third.

Source: the method is the usual one for breaking lines of text; the 1.08 was tried out.

>>> even_breaks([100.0] * 7, room=400.0, start=0.0)
(4,)
>>> even_breaks([100.0] * 9, room=400.0, start=0.0)
(4, 7)
"""

from __future__ import annotations

from collections.abc import Sequence

AIR = 1.08
SQUEEZE = 4.0
MOST_BARS = 40
"""Bars looked at for one system."""


def _cost(natural: float, room: float, last: bool) -> float:
    ratio = room / natural
    if last and ratio >= 1.0:
        missing = max(0.0, 0.5 - natural / room)
        return 2.0 * missing * missing
    off = ratio - AIR
    return off * off * (SQUEEZE if off < 0 else 1.0) + (1000.0 * (0.8 - ratio) if ratio < 0.8 else 0.0)


def even_breaks(natural: Sequence[float], room: float, start: float, forced: frozenset[int] = frozenset()) -> tuple[int, ...]:
    """Return the indexes of the bars that begin a new system, the first bar not among them.

    ``start`` is the width of clef and key signature at the start of every system but the first, whose bar has them already.
    """
    count = len(natural)
    best = [0.0] + [float("inf")] * count
    origin = [0] * (count + 1)
    for end in range(1, count + 1):
        width = 0.0
        for begin in range(end - 1, max(-1, end - 1 - MOST_BARS), -1):
            width += natural[begin]
            whole = width + (start if begin else 0.0)
            if whole > 1.35 * room and begin < end - 1:
                break
            cost = best[begin] + _cost(max(whole, 1.0), room, end == count)
            if cost < best[end]:
                best[end], origin[end] = cost, begin
            if begin in forced:
                break
    ends = []
    place = count
    while place > 0:
        place = origin[place]
        if place:
            ends.append(place)
    return tuple(reversed(ends))


def even_pages(systems: Sequence[int]) -> tuple[int, ...]:
    """Return how many systems each page should have, given how many it has when pages are filled from the first.

    >>> even_pages([6, 6, 6, 1])
    (6, 5, 4, 4)
    >>> even_pages([6, 6, 3])
    (6, 6, 3)
    """
    if len(systems) < 2 or 3 * systems[-1] >= systems[-2] or systems[-2] < 3:
        return tuple(systems)
    full, shared = systems[:-3], systems[-3:]
    each, more = divmod(sum(shared), len(shared))
    spread = [each + (index < more) for index in range(len(shared))]
    if len(shared) < 3 or any(wanted > there for wanted, there in zip(spread[:-1], shared[:-1], strict=True)):
        last = -(-(shared[-2] + shared[-1]) // 3)
        spread = [*shared[:-2], shared[-2] + shared[-1] - last, last]
    return (*full, *spread)
