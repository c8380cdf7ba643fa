"""A voice of written times laid out in bars: notes cut at barlines and tied, chords put together, what overlaps in lines of its own.

Conventions
-----------
* Times are ``Fraction`` quarter notes from the beginning; in a ``Struck`` they count from its bar.
* A meter that changes inside a bar holds from the next bar on.
* Lines of a bar: each chord goes to the first line that is free when it begins, the longer first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from annotator.formats.midi_events import Stroke


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar: where it begins, how long it is, and its meter if it is another than that of the bar before."""

    start: Fraction
    length: Fraction
    meter: tuple[int, int] | None


@dataclass(frozen=True, slots=True)
class Struck:
    """Keys struck together in a bar: onset and length in quarters; the keys, each with whether it is tied from before and onwards."""

    onset: Fraction
    length: Fraction
    keys: tuple[tuple[int, bool, bool], ...]


def bars_of(meters: Sequence[tuple[Fraction, int, int]], last: Fraction) -> list[Bar]:
    """Return the bars up to a time; 4/4 until a meter is named."""
    bars: list[Bar] = []
    now, meter, waiting = Fraction(0), (0, 0), list(meters)
    while now < last or not bars:
        named = meter if bars else (4, 4)
        while waiting and waiting[0][0] <= now:
            named = waiting.pop(0)[1:]
        length = Fraction(named[0] * 4, named[1])
        bars.append(Bar(now, length, named if named != meter else None))
        now, meter = now + length, named
    return bars


def lay_out(strokes: Sequence[Stroke], bars: Sequence[Bar]) -> list[list[list[Struck]]]:
    """Return for each bar its lines, for each line what is struck in it."""
    within: list[dict[tuple[Fraction, Fraction], list[tuple[int, bool, bool]]]] = [defaultdict(list) for _ in bars]
    place = 0
    for stroke in strokes:
        while place + 1 < len(bars) and bars[place + 1].start <= stroke.onset:
            place += 1
        for bar, found in zip(bars[place:], within[place:], strict=True):
            if bar.start >= stroke.end:
                break
            onset, end = max(stroke.onset, bar.start), min(stroke.end, bar.start + bar.length)
            key = (stroke.key, onset > stroke.onset, end < stroke.end)
            found[onset - bar.start, end - bar.start].append(key)
    return [_lines(found) for found in within]


def _lines(found: dict[tuple[Fraction, Fraction], list[tuple[int, bool, bool]]]) -> list[list[Struck]]:
    """Return the lines of one bar."""
    lines: list[list[Struck]] = []
    for onset, end in sorted(found, key=lambda span: (span[0], -span[1])):
        struck = Struck(onset, end - onset, tuple(sorted(found[onset, end])))
        free = next((line for line in lines if line[-1].onset + line[-1].length <= onset), None)
        if free is None:
            lines.append([struck])
        else:
            free.append(struck)
    return lines or [[]]
