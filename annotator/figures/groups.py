"""Groups: a line cut into beats, half bars, bars and pairs of bars, to be compared one with the next.

Conventions
-----------
* A group begins on a beat (half bar, bar line) with a note struck there, and its last note ends where the next group begins.
* A row is an unbroken chain of such groups, given by the events at which they begin, and the event after the last.
* Each line is cut up once, whichever kind asks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from annotator.lines import Line
from annotator.score import Bar, Time
from annotator.theory.beats import bar_ticks, beat_ticks, half_bar_ticks

FEWEST = 3  # notes of a group

Row = list[int]
"""First events of the groups of a row, then the event after the last group."""


Place = tuple[int, int, int]
"""An event of a line, its bar, and how many ticks after the bar's beginning it comes; the beginning of an upbeat is not printed."""

LengthIn = Callable[[Bar, int], int | None]
"""Says how long a group is in a bar, in ticks, None where the bar has none; it is also given the ticks of a quarter note."""


def rows_of_groups(line: Line) -> list[Row]:
    """Return the rows of a line, at least two groups each: by beats, by half bars, by bars, by pairs of bars."""
    kept: list[Row] | None = line.__dict__.get("rows of groups")
    if kept is None:
        kept = line.__dict__["rows of groups"] = list(_all_rows(line))
    return kept


def _all_rows(line: Line) -> Iterator[Row]:
    origins = [bar.tick - bar.offset for bar in line.bars]
    events = [(place, event.bar, event.tick - origins[event.bar]) for place, event in enumerate(line.events)]
    beats = _starts(line, events, beat_ticks)
    yield from _rows(line, *beats)
    yield from _rows(line, *_starts(line, beats[0], half_bar_ticks))
    bars = list(_rows(line, *_starts(line, beats[0], bar_ticks)))
    yield from bars
    for row in bars:
        for phase in (0, 1):
            pairs = row[phase::2]
            if len(pairs) > 2:
                yield pairs


def _starts(line: Line, places: Sequence[Place], length_in: LengthIn) -> tuple[list[Place], list[int]]:
    """Return those of some places that a group of the given length begins at, and that length in each bar; half bars begin on beats."""
    lengths = _lengths(line.bars, line.resolution, length_in)
    return [place for place in places if lengths[place[1]] and not place[2] % lengths[place[1]]], lengths


def _lengths(bars: Sequence[Bar], resolution: int, length_in: LengthIn) -> list[int]:
    """Return the length of a group in each bar, in ticks; 0 where the bar has none."""
    lengths: list[int] = []
    time: Time | None = None
    for bar in bars:
        if not lengths or bar.time is not time:
            time, length = bar.time, length_in(bar, resolution) or 0
        lengths.append(length)
    return lengths


def _rows(line: Line, starts: Sequence[Place], lengths: Sequence[int]) -> Iterator[Row]:
    """Yield the rows of groups that begin at ``starts``. ``lengths`` are those of a group in each bar."""
    events = line.events
    at = 0
    for _, stop in line.stretches:
        row: Row = []
        end = -1  # of the row's last group
        while at < len(starts) and starts[at][0] < stop:
            place, bar, _ = starts[at]
            tick = events[place].tick
            if row and tick != end:
                if len(row) > 2:
                    yield row
                row = []
            row.append(place)
            end = tick + lengths[bar]
            at += 1
        if row and events[stop - 1].tick + events[stop - 1].ticks == end:
            row.append(stop)
        if len(row) > 2:
            yield row
