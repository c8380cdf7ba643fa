"""Steps of a line: what counts as one, and that a piece of a line has its steps."""

from __future__ import annotations

import pytest
from figures.lines_from_text import line_of
from figures.random_lines import random_lines

from annotator.music.intervals import BY_LETTER, BY_SEMITONE, CONJUNCT, SMALL, steps_of


@pytest.mark.parametrize(
    ("text", "by_letter", "conjunct", "small", "by_semitone"),
    [
        ("C4 D4", "u", "u", "u", "."),
        ("E4 F4", "u", "u", "u", "u"),
        ("F4 E4", "d", "d", "d", "d"),
        ("Ab4 B4", "u", "u", "u", "."),  # an augmented second
        ("C4 C#4", ".", ".", "u", "u"),
        ("C4 Eb4", ".", ".", "u", "."),
        ("C4 E4", ".", ".", ".", "."),
        ("E#4 F4", "u", ".", ".", "."),  # one key, two letters
        ("Cb4 B3", "d", ".", ".", "."),
        ("E#4 Fb4", "u", ".", ".", "d"),  # the letter goes up, the key down
        ("C4 C4", ".", ".", ".", "."),
        ("C5 C4", ".", ".", ".", "."),
        ("C4 r D4", "-", "-", "-", "-"),
        ("C4/E4 D4", "-", "-", "-", "-"),
        ("C4 D4/F4", "-", "-", "-", "-"),
    ],
)
def test_what_is_a_step(text: str, by_letter: str, conjunct: str, small: str, by_semitone: str) -> None:
    line = line_of(text)
    assert [steps_of(line.moves, steps) for steps in (BY_LETTER, CONJUNCT, SMALL, BY_SEMITONE)] == [by_letter, conjunct, small, by_semitone]


def test_a_piece_of_a_line_has_its_steps() -> None:
    for line in random_lines(5):
        steps = steps_of(line.moves, CONJUNCT)
        assert len(steps) == len(line) - 1
        for first, stop in ((0, 1), (0, 9), (5, 6), (7, 30), (len(line) - 3, len(line))):
            assert steps_of(line.slice(first, stop).moves, CONJUNCT) == steps[first : stop - 1]
