"""Groups: a line cut into beats, half bars, bars and pairs of bars, to be compared one with the next.

Conventions
-----------
* A group begins on a beat (half bar, bar line) with a note struck there, and its last note ends where the next group begins.
* A row is an unbroken chain of such groups, given by the events at which they begin, and the event after the last.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from annotator.lines import Line
from annotator.score import Bar
from annotator.theory.beats import bar_ticks, beat_ticks, half_bar_ticks

FEWEST = 3  # notes of a group

Row = list[int]
"""First events of the groups of a row, then the event after the last group."""

Start = tuple[int, int, int]
"""The event that a group begins at, and the ticks of the group's beginning and end."""

Lengths = tuple[int, int, int, int]
"""When a bar begins in ticks, that of an upbeat before its first note, and how long its beat, half bar and full bar are; 0: it has none."""


def rows_of_groups(line: Line) -> Iterator[Row]:
    """Yield the rows of a line, at least two groups each: by beats, by half bars, by bars, by pairs of bars."""
    lengths = _lengths(line.bars, line.resolution)
    beats = [
        (place, event.tick, offset, bar)
        for place, event in enumerate(line.events)
        if not (offset := event.tick - (bar := lengths[event.bar])[0]) % bar[1]
    ]
    rows: list[Row] = []
    for size in (1, 2, 3):  # half bars and bars begin on beats
        starts = [(place, tick, tick + bar[size]) for place, tick, offset, bar in beats if bar[size] and not offset % bar[size]]
        rows = list(_rows(line, starts))
        yield from rows
    for row in rows:
        for phase in (0, 1):
            pairs = row[phase::2]
            if len(pairs) > 2:
                yield pairs


def _lengths(bars: Sequence[Bar], resolution: int) -> list[Lengths]:
    """Return where each bar begins and how long the groups in it are."""
    found: list[Lengths] = []
    before: Bar | None = None
    for bar in bars:
        if before is None or bar.time is not before.time:
            beat, half, full = beat_ticks(bar, resolution), half_bar_ticks(bar, resolution) or 0, bar_ticks(bar, resolution) or 0
            before = bar
        found.append((bar.tick - bar.offset, beat, half, full))
    return found


def _rows(line: Line, starts: Sequence[Start]) -> Iterator[Row]:
    """Yield the rows of the groups that begin at ``starts``, stretch by stretch."""
    stretches = iter(line.stretches)
    row: Row = []
    stop, last = 0, -1  # of the stretch: the event after it; of the row: when its last group ends
    for place, tick, end in starts:
        if place >= stop:
            yield from _ended(line, row, stop, last)
            row = []
            while place >= stop:
                _, stop = next(stretches)
        elif tick != last:
            if len(row) > 2:
                yield row
            row = []
        row.append(place)
        last = end
    yield from _ended(line, row, stop, last)


def _ended(line: Line, row: Row, stop: int, end: int) -> Iterator[Row]:
    """Yield the row that a stretch ends with, its last group included where the stretch ends with that."""
    if row and line.events[stop - 1].tick + line.events[stop - 1].ticks == end:
        row.append(stop)
    if len(row) > 2:
        yield row
