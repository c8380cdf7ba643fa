"""Equal stretches: the same as when every range is tried."""

from __future__ import annotations

import random

import pytest

from annotator.figures.equal import equal_stretches


@pytest.mark.parametrize("apart", [1, 2, 3])
@pytest.mark.parametrize("fewest", [4, 6])
def test_they_are_the_longest_ranges(apart: int, fewest: int) -> None:
    chance = random.Random(apart * fewest)
    for size in range(40):
        row = [chance.choice("aaab") for _ in range(size)]
        even = [
            (first, stop)
            for first in range(size)
            for stop in range(first + fewest, size + 1)
            if all(row[place] == row[place - apart] for place in range(first + apart, stop))
        ]
        longest = [one for one in even if not any(other != one and other[0] <= one[0] and one[1] <= other[1] for other in even)]
        assert list(equal_stretches(row, apart, fewest)) == longest
