"""What every figure has in common: gain, the share of odd notes, the order of its notes."""

from __future__ import annotations

import pytest
from figures.lines_from_text import line_of, names

from annotator.figures.figure import figure_of, kept, lawful_spans


def test_a_figure_that_saves_nothing_is_none() -> None:
    line = line_of("C4 D4 E4 F4")
    notes = [event.notes[0] for event in line.events]
    assert figure_of(line, "turn", line.events, notes[:3]) is None
    assert figure_of(line, "turn", line.events, notes[:2]) is not None


def test_odd_notes_are_anchors_and_in_order() -> None:
    line = line_of("C4/E4 D4/F4 E4/G4 F4/A4")
    notes = [note for event in line.events for note in event.notes]
    figure = figure_of(line, "turn", line.events, [notes[6], notes[1]], [notes[4]])
    assert figure is not None
    assert names(figure.anchors) == "E4 E4 F4"
    assert names(figure.odd) == "E4"


def test_more_than_one_odd_note_in_four_is_no_figure() -> None:
    line = line_of("C4 D4 E4 F4 G4 A4 B4")
    notes = [event.notes[0] for event in line.events]
    assert figure_of(line, "turn", line.events, [], notes[:1]) is not None
    assert figure_of(line, "turn", line.events, [], notes[:2]) is None


@pytest.mark.parametrize(
    "odd",
    [[0, 0, 1, 0, 0], [1, 0, 0, 0, 0, 1, 1], [1, 1, 1], [0, 1, 1, 0, 0, 0, 1, 0, 0, 0], [0, 0, 0, 1, 0, 1, 1, 1, 0, 0]],
)
def test_spans_are_lawful_disjoint_and_end_on_even_ground(odd: list[int]) -> None:
    before = 0
    for first, stop in lawful_spans([2] * len(odd), odd):
        assert before <= first < stop <= len(odd)
        assert kept(2 * (stop - first), sum(odd[first:stop]))
        assert not odd[first]
        assert not odd[stop - 1]
        before = stop


def test_a_row_without_odd_notes_is_one_span() -> None:
    assert list(lawful_spans([1, 2, 3], [0, 0, 0])) == [(0, 3)]
    assert list(lawful_spans([], [])) == []
