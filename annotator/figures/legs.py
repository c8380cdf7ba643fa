"""Legs: the stretches of a line that go one way by small steps in notes of equal value.

Conventions
-----------
* A leg is its first event, its last event and its way (1 up, -1 down). Its notes are single, each joined to the one before, of equal
  value but for the last, which may be longer.
* Legs that share a turning note are a chain; only legs of at least ``JOINED_LEG`` notes, both ends counted, are joined so, and no
  more than ``MOST_LEGS``; the next chain then begins on the note where the one before ends.

Source
------
Common practice, no source.

>>> list(chains(iter([(0, 4, 1), (4, 7, -1), (9, 13, 1)])))
[[(0, 4, 1), (4, 7, -1)], [(9, 13, 1)]]
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from annotator.figures.stepping import DOWN, UP
from annotator.lines import Line

JOINED_LEG = 4  # fewest notes of a leg that joins others, both its ends counted
MOST_LEGS = 8  # of one chain: a study that goes up and down for pages is no one thing to read

Leg = tuple[int, int, int]
"""First and last event, and 1 or -1 for up or down."""


def legs(line: Line, steps: str, fewest: int) -> Iterator[Leg]:
    """Yield the longest legs of a line, ``fewest`` notes at least; ``steps`` are its steps in the reading that counts."""
    up, down = UP * (fewest - 1), DOWN * (fewest - 1)
    if up not in steps and down not in steps:
        return
    for one_way in re.finditer(f"{up}+|{down}+", steps):
        way = 1 if one_way[0][0] == UP else -1
        for first, last in _even(line.ticks, *one_way.span()):
            if last - first + 1 >= fewest:
                yield first, last, way


def _even(ticks: Sequence[int], first: int, last: int) -> Iterator[tuple[int, int]]:
    """Yield the stretches of equal notes between two events, the last of a stretch equal or longer."""
    for here in range(first + 1, last + 1):
        if ticks[here] != ticks[first]:
            yield first, here if ticks[here] > ticks[first] else here - 1
            first = here
    yield first, last


def chains(legs: Iterator[Leg]) -> Iterator[list[Leg]]:
    """Gather legs into rows in which each begins on the last note of the one before."""
    chain: list[Leg] = []
    for leg in legs:
        if chain and not (
            joins(chain[-1]) and joins(leg) and chain[-1][1] == leg[0] and len(chain) < MOST_LEGS
        ):
            yield chain
            chain = []
        chain.append(leg)
    if chain:
        yield chain


def joins(leg: Leg) -> bool:
    """Return whether a leg is long enough to join others."""
    return leg[1] - leg[0] + 1 >= JOINED_LEG
