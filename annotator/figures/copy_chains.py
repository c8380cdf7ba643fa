"""Chains: stretches of a row that copy what lies a given number of strokes before, odd notes among them.

Rule
----
* At most one note in three of a copy is odd, none in a copy of less than six notes.
* A chain neither begins nor ends with an odd stroke, nor with a fragment of no more strokes than are odd beside it.

Source of the numbers: read off pages by eye, no source.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import compress, count, pairwise
from operator import and_, eq, ne, sub

from annotator.figures.copy_rows import ON_BAR, Row

FEWEST_WITH_ODD = 6  # notes of a copy in which some may be odd
PART_ODD = 3  # at most one note in so many

BEFORE = 3  # strokes at most that may be odd after a bar line, before what is copied

Span = tuple[int, int]
"""First stroke and the one after the last."""

Odd = Callable[[int], int]
"""How many notes of a stroke are not as its model has them."""


def runs_apart(row: Row, numbers: Sequence[int], distance: int) -> dict[int, list[Span]]:
    """Return the runs of two strokes and more that are moved alike from those ``distance`` before, in the same rhythm, by their move."""
    moves = list(map(sub, numbers[distance:], numbers))
    paced = map(eq, row.rhythm[distance + 1 :], row.rhythm[1:])
    return _by_move(moves, map(and_, paced, map(eq, moves[1:], moves)), distance)


def runs_beside(moves: Sequence[int], paced: Iterable[bool]) -> dict[int, list[Span]]:
    """Return the runs of two strokes and more that are moved alike, by their move, from how far each stroke is moved.

    ``paced`` says of each but the first whether it comes after the one before as its model does.
    """
    return _by_move(moves, map(and_, paced, map(eq, moves[1:], moves)), 0)


def _by_move(moves: Sequence[int], alike: Iterable[bool], offset: int) -> dict[int, list[Span]]:
    """Return the runs in which each stroke is like the one before, by their move; ``moves`` begin with the stroke ``offset``."""
    found: dict[int, list[Span]] = {}
    marks = [False, *alike, False]
    edges = compress(count(), map(ne, marks[1:], marks))
    for first, last in zip(edges, edges, strict=True):
        runs = found.get(moves[first])
        if runs is None:
            found[moves[first]] = [(first + offset, last + 1 + offset)]
        else:
            runs.append((first + offset, last + 1 + offset))
    return found


def chained(row: Row, runs: Sequence[Span], distance: int, group: int, least: int, odd: Odd) -> Iterator[Span]:
    """Yield the chains of some runs, copies of ``group`` strokes, ``least`` strokes long. ``odd`` counts the odd notes of a stroke."""
    most = max(1, group // PART_ODD)
    chain: list[Span] = []
    for run in [*runs, (len(row) + group, 0)]:
        if chain and not _goes_on(row, chain[-1], run, distance, most):
            if chain[-1][1] - chain[0][0] >= least:
                yield from _settled(row, chain, group, odd)
            chain = []
        chain.append(run)


def _goes_on(row: Row, run: Span, following: Span, distance: int, most: int) -> bool:
    """Return whether two runs are one chain: what is between is short and in the same rhythm."""
    if following[0] - run[1] > most:
        return False
    rhythm = row.rhythm
    return all(rhythm[place] == rhythm[place - distance] for place in range(run[1], following[0] + 1))


def _settled(row: Row, chain: list[Span], group: int, odd: Odd) -> Iterator[Span]:
    """Yield a chain, cut where it has too many odd notes."""
    waiting = [chain]
    while waiting:
        chain = _trimmed(waiting.pop(), odd)
        if not chain:
            continue
        at = _where_too_odd(row, chain, group, odd) if len(chain) > 1 else None
        if at is None:
            yield chain[0][0], chain[-1][1]
        else:
            waiting += [chain[at:], chain[:at]]


def _where_too_odd(row: Row, chain: Sequence[Span], group: int, odd: Odd) -> int | None:
    """Return which run of a chain comes after the widest gap of the first copy that has too many odd notes, None where none has."""
    gaps = [(before[1], after[0]) for before, after in pairwise(chain)]
    starts = [gap[0] for gap in gaps]
    first, stop = chain[0][0], chain[-1][1]
    near = 0
    for begin in range(first, stop, group):
        end = min(begin + group, stop)
        while near < len(gaps) and gaps[near][1] <= begin:
            near += 1
        here = range(near, max(near, bisect_left(starts, end)))
        strange = sum(odd(place) for at in here for place in range(max(begin, gaps[at][0]), min(end, gaps[at][1])))
        notes = row.notes(begin, end)
        if strange and (notes < FEWEST_WITH_ODD or PART_ODD * strange > notes):
            return 1 + max(here, key=lambda at: gaps[at][1] - gaps[at][0])
    return None


def _trimmed(chain: list[Span], odd: Odd) -> list[Span]:
    """Return a chain less the fragments at its ends that are no larger than what is odd beside them."""
    strange = [sum(odd(place) > 0 for place in range(before[1], after[0])) for before, after in pairwise(chain)]
    first, last = 0, len(chain) - 1
    while first < last and chain[first][1] - chain[first][0] <= strange[first]:
        first += 1
    while first < last and chain[last][1] - chain[last][0] <= strange[last - 1]:
        last -= 1
    return chain[first : last + 1]


def to_the_bar_line(row: Row, span: Span, distance: int, group: int, odd: Odd) -> int:
    """Return where a chain begins: on the bar line before it, if only a few odd notes lie between, else where it does."""
    first, stop = span
    strange = 0
    for place in range(first, max(first - BEFORE, row.segment[first] + distance) - 1, -1):
        strange += odd(place) if place < first else 0
        if row.places[place] == ON_BAR:
            notes = row.notes(place, min(stop, place + group))
            return place if notes >= FEWEST_WITH_ODD and (PART_ODD + 1) * strange <= notes else first
        if row.rhythm[place] != row.rhythm[place - distance]:
            return first
    return first
