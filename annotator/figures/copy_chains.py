"""Chains: stretches of a row that copy what lies a given number of strokes before, odd notes among them.

Rule
----
* At most one note in three of a copy is odd, none in a copy of less than six notes.
* A chain neither begins nor ends with an odd stroke, nor with a fragment of no more strokes than are odd beside it.

Source of the numbers: read off pages by eye, no source.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from operator import eq

from annotator.figures.copy_rows import ON_BAR, Odd, Row

FEWEST_WITH_ODD = 6  # notes of a copy in which some may be odd
PART_ODD = 3  # at most one note in so many

BEFORE = 3  # strokes at most that may be odd after a bar line, before what is copied

PACE = 1 << 24  # more than any number of a rhythm

Span = tuple[int, int]
"""First stroke and the one after the last."""


def paces_of(row: Row, numbers: Sequence[int]) -> list[int]:
    """Return how each stroke of a row comes after the one before: equal where it is as far off in time and in the row's ``numbers``."""
    return [PACE * (after - before) + rhythm for before, after, rhythm in zip([0, *numbers], numbers, row.rhythm, strict=False)]


def runs_apart(paces: Sequence[int], distance: int) -> Iterator[Span]:
    """Yield the runs of two strokes and more that go, each stroke after the one before, as those ``distance`` before."""
    alike = map(eq, paces[distance + 1 :], paces[1:])
    return ((first + distance, stop + distance + 1) for first, stop in runs(alike))


def runs(alike: Iterable[bool]) -> Iterator[Span]:
    """Yield where some places are marked, run by run.

    >>> list(runs([False, True, True, False, True]))
    [(1, 3), (4, 5)]
    """
    return (run.span() for run in re.finditer(b"\1+", bytes(alike)))


def chained(row: Row, found: Sequence[Span], distance: int, group: int, least: int, odd: Odd) -> Iterator[Span]:
    """Yield the chains of some runs, copies of ``group`` strokes, ``least`` strokes long. ``odd`` tells the odd notes of a stroke."""
    most = max(1, group // PART_ODD)
    chain: list[Span] = []
    end = 0
    for run in [*found, (len(row) + group, 0)]:
        if chain and (run[0] - end > most or not _goes_on(row, end, run[0], distance)):
            if end - chain[0][0] >= least:
                yield from _settled(row, chain, group, odd) if len(chain) > 1 else chain
            chain = []
        chain.append(run)
        end = run[1]


def _goes_on(row: Row, end: int, first: int, distance: int) -> bool:
    """Return whether what is between the end of a run and the first stroke of the next is in the same rhythm as its model."""
    return row.rhythm[end : first + 1] == row.rhythm[end - distance : first + 1 - distance]


def _settled(row: Row, chain: list[Span], group: int, odd: Odd) -> Iterator[Span]:
    """Yield a chain, cut where it has too many odd notes."""
    strange = {place: len(odd(place)) for before, after in pairwise(chain) for place in range(before[1], after[0])}
    waiting = [chain]
    while waiting:
        chain = _trimmed(waiting.pop(), strange)
        at = _where_too_odd(row, chain, group, strange) if len(chain) > 1 else None
        if at is None:
            yield chain[0][0], chain[-1][1]
        else:
            waiting += [chain[at:], chain[:at]]


def _where_too_odd(row: Row, chain: Sequence[Span], group: int, strange: Mapping[int, int]) -> int | None:
    """Return which run of a chain comes after the widest gap of the first copy that has too many odd notes, None where none has.

    ``strange`` says of each stroke between the runs how many of its notes are odd.
    """
    gaps = [(before[1], after[0]) for before, after in pairwise(chain)]
    starts = [gap[0] for gap in gaps]
    first, stop = chain[0][0], chain[-1][1]
    near = 0
    for begin in range(first, stop, group):
        end = min(begin + group, stop)
        while near < len(gaps) and gaps[near][1] <= begin:
            near += 1
        here = range(near, max(near, bisect_left(starts, end)))
        count = sum([strange[place] for at in here for place in range(max(begin, gaps[at][0]), min(end, gaps[at][1]))])
        notes = row.notes(begin, end)
        if count and (notes < FEWEST_WITH_ODD or PART_ODD * count > notes):
            return 1 + max(here, key=lambda at: gaps[at][1] - gaps[at][0])
    return None


def _trimmed(chain: list[Span], strange: Mapping[int, int]) -> list[Span]:
    """Return a chain less the fragments at its ends that are no larger than what is odd beside them."""
    beside = [sum([strange[place] > 0 for place in range(before[1], after[0])]) for before, after in pairwise(chain)]
    first, last = 0, len(chain) - 1
    while first < last and chain[first][1] - chain[first][0] <= beside[first]:
        first += 1
    while first < last and chain[last][1] - chain[last][0] <= beside[last - 1]:
        last -= 1
    return chain[first : last + 1]


def to_the_bar_line(row: Row, span: Span, distance: int, group: int, odd: Odd) -> int:
    """Return where a chain begins: on the bar line before it, if only a few odd notes lie between, else where it does."""
    first, stop = span
    strange = 0
    for place in range(first, max(first - BEFORE, row.segment[first] + distance) - 1, -1):
        strange += len(odd(place)) if place < first else 0
        if row.places[place] == ON_BAR:
            notes = row.notes(place, min(stop, place + group))
            return place if notes >= FEWEST_WITH_ODD and (PART_ODD + 1) * strange <= notes else first
        if row.rhythm[place] != row.rhythm[place - distance]:
            return first
    return first
