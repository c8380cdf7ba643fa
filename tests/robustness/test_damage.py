"""Damaged scores, the whole way.

Only the program's own errors escape, plain gives the source back, marking twice is marking once, every figure shown holds the law, what
is to be read and what is grey make up all notes. 100,000 runs of the seed below were done: none broke any of it.
"""

from __future__ import annotations

import pytest
from robustness.damage import POOL, STUDIES, SUITE, damaged_bytes, damaged_tree, sweep

SEED = 20_261
FEW = 250
MANY_TREES, MANY_BYTES = 60_000, 40_000
PIECE = 5_000


def test_the_pool_is_the_test_suite_and_the_examples() -> None:
    """144 files in music21's wheel, by count."""
    assert len(SUITE) == len(POOL) >= 140 and STUDIES


def test_damaged_trees() -> None:
    outcomes = sweep(damaged_tree, SEED, range(FEW))
    assert outcomes["figures"] > FEW // 5 and outcomes["refused"] < FEW // 10, outcomes


def test_damaged_bytes() -> None:
    outcomes = sweep(damaged_bytes, SEED, range(FEW))
    assert outcomes["figures"] > FEW // 50 and outcomes["refused"] > FEW // 4, outcomes


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, MANY_TREES, PIECE))
def test_many_damaged_trees(first: int) -> None:
    assert sum(sweep(damaged_tree, SEED, range(first, first + PIECE)).values()) == PIECE


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, MANY_BYTES, PIECE))
def test_many_damaged_bytes(first: int) -> None:
    assert sum(sweep(damaged_bytes, SEED, range(first, first + PIECE)).values()) == PIECE
