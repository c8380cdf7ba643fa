"""What is no figure is not called one: random leaps in irregular rhythm, and grace, cue and hidden notes."""

from __future__ import annotations

import random

import pytest
from figures.lines_from_text import texture_of

from annotator.figures.candidates import find_candidates
from annotator.options.settings import Options

LENGTHS = ("1", "2", "3", "1", "4", "5")


def random_line(seed: int, count: int = 60) -> str:
    """Return a line of random leaps of a tritone or more, no chord and no value twice in a row."""
    chance = random.Random(seed)
    height, word, length = 0, [], ""
    for _ in range(count):
        height = chance.choice([h for h in range(-20, 21) if 6 <= abs(h - height) <= 17 and (h - height) % 12 in (6, 10, 11, 1)])
        length = chance.choice([other for other in LENGTHS if other != length])
        name = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")[height % 12]
        word.append(f"{name}{5 + height // 12}*{length}")
    return " ".join(word)


@pytest.mark.parametrize("seed", range(60))
def test_random_leaps_in_irregular_rhythm_hold_no_figure(seed: int) -> None:
    found = find_candidates(texture_of(random_line(seed)), Options())
    assert not found, [(figure.kind, [n.id for n in figure.struck]) for figure in found]
