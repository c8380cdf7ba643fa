"""Marked notes: those that are not what an unmarked note would be, event by event."""

from __future__ import annotations

from figures.lines_from_text import line_of, names
from figures.random_lines import random_lines

from annotator.figures.marked import marked_in
from annotator.theory.intervals import unmarked


def test_a_sign_counts_to_the_end_of_its_bar_and_for_its_height_alone() -> None:
    line = line_of("F#4 F4 F#4 F#5 | F#4 F#4", unit=1)
    assert names(tuple(marked_in(line, range(len(line))))) == "F#4 F4 F#4 F#5 F#4"


def test_they_are_what_the_page_does_not_give() -> None:
    for line in random_lines(40):
        want = [
            note
            for event in line.events
            for note in event.notes
            if note.pitch != unmarked(line.bars[note.bar], note.staff, event.tick, note.key, note.pitch.diatonic)
        ]
        assert marked_in(line, range(len(line))) == want
        there = {note.number for event in line.events[8:14] for note in event.notes}
        assert marked_in(line.slice(5, 30), range(3, 9)) == marked_in(line, range(8, 14)) == [note for note in want if note.number in there]
