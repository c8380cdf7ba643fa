"""Pairs: the rows are the longest of joined pairs, and where the leading line may run is never missed."""

from __future__ import annotations

from figures.random_lines import random_lines

from annotator.figures.pairs import FEWEST, leading_line, may_run, rows_of_pairs
from annotator.figures.runs import detect_scale_runs
from annotator.lines import Line
from annotator.settings import Options


def plain_rows(line: Line) -> list[tuple[int, int]]:
    rows: list[list[int]] = []
    for place, event in enumerate(line.events):
        if len(event.notes) != 2 or not event.whole:
            continue
        if rows and rows[-1][1] == place and event.joined:
            rows[-1][1] += 1
        else:
            rows.append([place, place + 1])
    return [(first, stop) for first, stop in rows if stop - first >= FEWEST]


def test_rows_are_the_longest_of_joined_pairs() -> None:
    found = 0
    for line in random_lines(80):
        rows = rows_of_pairs(line)
        assert [(row.first, row.stop) for row in rows] == plain_rows(line)
        found += len(rows)
    assert found > 20


def test_parts_of_a_row_are_equally_wide_and_as_long_as_can_be() -> None:
    for line in random_lines(80, seed=2):
        for row in rows_of_pairs(line):
            pairs = [event.notes for event in line.events]
            letters = [two[1].pitch.diatonic - two[0].pitch.diatonic if len(two) == 2 else None for two in pairs]
            sizes = [two[1].pitch.semitone - two[0].pitch.semitone if len(two) == 2 else None for two in pairs]
            for widths, parts in ((letters, [part[:2] for part in row.letters]), (sizes, [part[:2] for part in row.sizes])):
                begun = [place for place in range(row.first, row.stop) if place == row.first or widths[place] != widths[place - 1]]
                spans = zip(begun, [*begun[1:], row.stop], strict=True)
                assert parts == [(first, stop) for first, stop in spans if stop - first >= FEWEST]
            assert all(wide == letters[first] for first, _, wide in row.letters)
            assert all(wides == set(letters[first:stop]) for first, stop, wides in row.sizes)


def test_where_the_leading_line_runs_it_may() -> None:
    runs = 0
    for line in random_lines(120, seed=3):
        for row in rows_of_pairs(line):
            pairs = line.slice(row.first, row.stop)
            lead = leading_line(pairs)
            assert [event.notes[0] for event in lead.events] == [event.notes[-1 if line.hand == "right" else 0] for event in pairs.events]
            found = list(detect_scale_runs(lead, Options()))
            runs += len(found)
            assert may_run(pairs) or not found
    assert runs
