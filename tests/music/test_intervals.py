"""Generic intervals, and what a note on another letter is."""

from __future__ import annotations

import pytest
from figures.lines_from_text import line_of

from annotator.music.intervals import (
    LETTERS,
    direction_of,
    goes_by_step,
    interval_name,
    is_given,
    unmarked,
    ways,
)
from annotator.music.names import Scale
from annotator.music.score import key_of, pitch_of


@pytest.mark.parametrize(
    ("low", "high", "name"),
    [("C4", "E4", "third"), ("E4", "G4", "third"), ("C4", "B4", "seventh"), ("D4", "D5", "octave"), ("C4", "E5", "tenth")],
)
def test_an_interval_is_counted_in_letters(low: str, high: str, name: str) -> None:
    one, other = (note.notes[0].pitch for note in line_of(f"{low} {high}").events)
    assert interval_name(other.diatonic - one.diatonic) == name
    assert interval_name(one.diatonic - other.diatonic) == name


def test_seconds_and_ninths_name_no_figure() -> None:
    assert [letters for letters in range(12) if interval_name(letters) is None] == [1, 8, 10, 11]
    assert sorted(LETTERS.values()) == [letters for letters in range(12) if interval_name(letters)]


def test_an_unmarked_note_takes_the_accidental_before_it_in_the_bar_and_octave() -> None:
    line = line_of("F#4 G4 A4 G4", bar=1, fifths=-1)
    bar, key = line.bars[0], key_of(-1)
    f, f_above, b = 31, 38, 34
    assert unmarked(bar, 1, 0, key, f) == pitch_of("F", 0, 4)
    assert unmarked(bar, 1, 3, key, f) == pitch_of("F", 1, 4)
    assert unmarked(bar, 1, 3, key, f_above) == pitch_of("F", 0, 5)
    assert unmarked(bar, 2, 3, key, f) == pitch_of("F", 0, 4)
    assert unmarked(bar, 1, 3, key, b) == pitch_of("B", -1, 4)


def test_melodic_minor_goes_up_one_way_and_down_another() -> None:
    line = line_of("G4 G#4")
    natural, raised = (event.notes[0] for event in line.events)
    scale = Scale("A", "melodic minor")
    assert [is_given(note, scale, up, line.bars) for note in (natural, raised) for up in (True, False)] == [False, True, True, False]
    assert [is_given(note, None, True, line.bars) for note in (natural, raised)] == [True, False]


def test_steps_and_ways() -> None:
    assert goes_by_step([28, 29, 30, 29])
    assert not goes_by_step([28, 29, 29])
    assert not goes_by_step([28, 30])
    assert ways([28, 29, 30, 29]) == [True, True, False, False]
    assert [direction_of(line) for line in ([28, 29], [29, 28], [28, 29, 28])] == ["up", "down", "turning"]
