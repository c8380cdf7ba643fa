"""The length of the beat in the usual time signatures."""

from __future__ import annotations

from fractions import Fraction

import pytest

from annotator.music.score import Bar, Time, key_of

QUARTER = 12  # ticks


def bar_in(upper: tuple[int, ...], lower: int) -> Bar:
    time = Time(upper, lower)
    return Bar(0, "1", Fraction(0), 0, int(time.quarters * QUARTER), key_of(0), time)


@pytest.mark.parametrize(
    ("upper", "lower", "beat"),
    [
        ((4,), 4, 12),
        ((2,), 4, 12),
        ((3,), 4, 12),
        ((2,), 2, 24),
        ((6,), 8, 18),
        ((12,), 8, 18),
        ((9,), 8, 18),
        ((3,), 8, 6),
        ((6,), 4, 12),
        ((3, 2), 8, 6),
    ],
)
def test_beats_are_counted_as_a_player_counts(upper: tuple[int, ...], lower: int, beat: int) -> None:
    assert bar_in(upper, lower).beat_ticks(QUARTER) == beat


def test_free_time_is_counted_in_quarters() -> None:
    bar = Bar(0, "1", Fraction(0), 0, 60, key_of(0), None)
    assert bar.beat_ticks(QUARTER) == 12
