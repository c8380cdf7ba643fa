"""Groups: a line cut into beats, half bars, bars and pairs of bars, to be compared one with the next.

Conventions
-----------
* A group begins on a beat (half bar, bar line) with a note struck there, and its last note ends where the next group begins.
* A row is an unbroken chain of such groups, given by the events at which they begin, and the event after the last.
* Each line is cut up once, whichever kind asks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from annotator.lines import Line
from annotator.score import Bar
from annotator.theory.beats import bar_ticks, beat_ticks, half_bar_ticks

FEWEST = 3  # notes of a group

Row = list[int]
"""First events of the groups of a row, then the event after the last group."""


def rows_of_groups(line: Line) -> list[Row]:
    """Return the rows of a line, at least two groups each: by beats, by half bars, by bars, by pairs of bars."""
    kept: list[Row] | None = line.__dict__.get("rows of groups")
    if kept is None:
        kept = line.__dict__["rows of groups"] = list(_all_rows(line))
    return kept


def _all_rows(line: Line) -> Iterator[Row]:
    yield from _rows(line, beat_ticks)
    yield from _rows(line, half_bar_ticks)
    bars = list(_rows(line, bar_ticks))
    yield from bars
    for row in bars:
        for phase in (0, 1):
            pairs = row[phase::2]
            if len(pairs) > 2:
                yield pairs


def _rows(line: Line, length_in: Callable[[Bar, int], int | None]) -> Iterator[Row]:
    """Yield the rows of groups of the length that each bar gives."""
    bars, resolution = line.bars, line.resolution
    lengths: dict[object, int | None] = {}
    row: Row = []
    begun = length = end = 0  # of the last group of the row: where it begins, how long it is; where the last event ends
    here, size, origin = -1, 0, 0
    for place, event in enumerate(line.events):
        tick = event.tick
        if event.bar != here:
            here = event.bar
            bar = bars[here]
            if bar.time not in lengths:
                lengths[bar.time] = length_in(bar, resolution)
            size, origin = lengths[bar.time] or 0, bar.tick - bar.offset
        if row and not event.joined:
            if end == begun + length:
                row.append(place)
            if len(row) > 2:
                yield row
            row = []
        if size and (tick - origin) % size == 0:
            if row and tick != begun + length:
                if len(row) > 2:
                    yield row
                row = []
            row.append(place)
            begun, length = tick, size
        end = tick + event.ticks
    if row and end == begun + length:
        row.append(len(line.events))
    if len(row) > 2:
        yield row
