"""Marked notes: those that are not what an unmarked note would be, so that their accidental must be seen."""

from __future__ import annotations

from figures.lines_from_text import line_of, names

from annotator.music.intervals import marked


def test_a_sign_counts_to_the_end_of_its_bar_and_for_its_height_alone() -> None:
    line = line_of("F#4 F4 F#4 F#5 | F#4 F#4", unit=1)
    assert names(tuple(event.notes[0] for event in line.events if marked(event.notes[0], line.bars))) == "F#4 F4 F#4 F#5 F#4"
