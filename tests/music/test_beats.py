"""The length of the beat, the half bar and the bar in the usual time signatures."""

from __future__ import annotations

from fractions import Fraction

import pytest

from annotator.music.beats import bar_ticks, beat_ticks
from annotator.music.score import Bar, Time, key_of

QUARTER = 12  # ticks


def bar_in(upper: tuple[int, ...], lower: int) -> Bar:
    time = Time(upper, lower)
    return Bar(0, "1", Fraction(0), 0, int(time.quarters * QUARTER), key_of(0), time)


@pytest.mark.parametrize(
    ("upper", "lower", "beat", "whole"),
    [
        ((4,), 4, 12, 48),
        ((2,), 4, 12, 24),
        ((3,), 4, 12, 36),
        ((2,), 2, 24, 48),
        ((6,), 8, 18, 36),
        ((12,), 8, 18, 72),
        ((9,), 8, 18, 54),
        ((3,), 8, 6, 18),
        ((6,), 4, 12, 72),
        ((3, 2), 8, 6, 30),
    ],
)
def test_beats_are_counted_as_a_player_counts(upper: tuple[int, ...], lower: int, beat: int, whole: int) -> None:
    bar = bar_in(upper, lower)
    assert (beat_ticks(bar, QUARTER), bar_ticks(bar, QUARTER)) == (beat, whole)


def test_free_time_has_beats_but_no_bars() -> None:
    bar = Bar(0, "1", Fraction(0), 0, 60, key_of(0), None)
    assert (beat_ticks(bar, QUARTER), bar_ticks(bar, QUARTER)) == (12, None)
