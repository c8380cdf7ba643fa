"""A piece of a line knows its whole line; what is found in it is what would be found if there were nothing else."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from figures.random_lines import random_lines

from annotator.figures.registry import KINDS, Kind

IN_LINES = [kind for kind in KINDS if kind.detect]


@pytest.mark.parametrize("kind", IN_LINES, ids=lambda kind: kind.name)
def test_a_piece_has_the_figures_of_a_line_of_its_own(kind: Kind) -> None:
    assert kind.detect
    chance = random.Random(kind.name)
    for line in random_lines(25, seed=len(kind.name)):
        if chance.random() < 0.5:
            list(kind.detect(line))  # something is known of the whole line
        for _ in range(4):
            first, stop = sorted(chance.sample(range(len(line) + 1), 2))
            piece = line.slice(first, stop)
            assert list(kind.detect(piece)) == list(kind.detect(replace(piece)))
