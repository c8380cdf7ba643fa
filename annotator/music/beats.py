"""Beats: how long the beat and the bar are, as a player counts them.

Rule
----
In a compound time (6, 9, 12 … over 8 or smaller) three of the lower number make a beat; otherwise one does. Free time is
counted in quarters and has no bars to repeat.

Source: time signatures are common practice (any primer of notation).

>>> from fractions import Fraction
>>> from annotator.music.score import Time, key_of
>>> bar = Bar(0, "1", Fraction(0), 0, 36, key_of(0), Time((12,), 8))
>>> beat_ticks(bar, 6), bar_ticks(bar, 6)
(9, 36)
"""

from __future__ import annotations

from annotator.music.score import Bar


def beat_ticks(bar: Bar, resolution: int) -> int:
    """Return the length of a beat in ticks; ``resolution`` is ticks in a quarter note."""
    if bar.time is None:
        return resolution
    one = 4 * resolution // bar.time.beat_type
    upper = bar.time.beats
    compound = bar.time.beat_type >= 8 and len(upper) == 1 and upper[0] > 3 and upper[0] % 3 == 0
    return max(1, 3 * one if compound else one)


def bar_ticks(bar: Bar, resolution: int) -> int | None:
    """Return the length of a full bar in ticks by its time signature, None in free time."""
    return None if bar.time is None else 4 * sum(bar.time.beats) * resolution // bar.time.beat_type


def on_count(bar: Bar, tick: int, span: int) -> bool:
    """Return whether a tick stands a whole number of spans of so many ticks after the bar line, or the bar is no whole number of them."""
    return (bar.ticks + bar.offset) % span != 0 or (tick - bar.tick + bar.offset) % span == 0
