"""Groups: a line cut up, compared with the plain definition."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from figures.lines_from_text import line_of
from figures.random_lines import random_lines

from annotator.figures.groups import Row, rows_of_groups
from annotator.lines import Line
from annotator.score import Bar
from annotator.theory.beats import bar_ticks, beat_ticks, half_bar_ticks


def plain(line: Line, length_in: Callable[[Bar, int], int | None]) -> Iterator[Row]:
    """Yield the rows of one length: each group begins on a multiple of it in the bar, and ends where the next begins."""
    events, lasts = line.events, {stop - 1 for _, stop in line.stretches}

    def group_end(place: int) -> int | None:
        """Return when the group that begins at an event ends, None where none begins."""
        bar = line.bars[events[place].bar]
        beat, length = beat_ticks(bar, line.resolution), length_in(bar, line.resolution)
        offset = events[place].tick - bar.tick + bar.offset
        return events[place].tick + length if length and not offset % length and not offset % beat else None

    row: Row = []
    for place, event in enumerate(events):
        begins = group_end(place) is not None
        goes_on = bool(row) and event.joined and event.tick == group_end(row[-1])
        if row and (not event.joined or (begins and not goes_on)):
            yield row
            row = []
        if begins:
            row.append(place)
        if row and place in lasts and event.tick + event.ticks == group_end(row[-1]):
            yield [*row, place + 1]
            row = []
    yield row


def all_rows(line: Line) -> list[Row]:
    """Return the rows that hold two groups at least, those by pairs of bars last."""
    bars = [row for row in plain(line, bar_ticks) if len(row) > 2]
    rows = [row for length_in in (beat_ticks, half_bar_ticks) for row in plain(line, length_in) if len(row) > 2]
    return [*rows, *bars, *(row[phase::2] for row in bars for phase in (0, 1) if len(row[phase::2]) > 2)]


def test_a_line_by_beats_half_bars_and_bars() -> None:
    line = line_of(" ".join(["C4 D4 E4 F4"] * 12))
    assert list(rows_of_groups(line)) == [list(range(0, 49, 4)), list(range(0, 49, 8)), [0, 16, 32, 48]]


def test_they_are_what_the_definition_says() -> None:
    for line in random_lines(60, events=90):
        assert list(rows_of_groups(line)) == all_rows(line)
