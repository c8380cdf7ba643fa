"""What an excerpt takes of a score: which parts, which bars, which staves.

Conventions
-----------
* Bars are meant by their printed numbers, word for word (``5``, ``6a``, ``X1``): from the first bar so numbered to the next one, from
  there on, that bears the last number; bars that bear it too right behind (a bar split at a repeat) belong to it.
* Parts are cut at the same bars, counted from the start: bars of one number stand above each other.
* A piano that is two parts of the document is cut as these two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from annotator.errors import UsageError
from annotator.marks.finding import parts_looked_at
from annotator.music.score import Part, Score
from annotator.options.option import Bars, value_of
from annotator.options.settings import Options, row_of


@dataclass(frozen=True, slots=True)
class Taken:
    """What is taken of one part: the indices of its bars, and its staves from the top, by number."""

    part: Part
    bars: range
    staves: tuple[int, ...]

    @property
    def whole(self) -> bool:
        """Whether all staves are taken."""
        return len(self.staves) == self.part.staves


def numbered(score: Score, first: str, last: str, parts: tuple[str, ...] | None) -> range:
    """Return the indices of the bars from one printed number to another; a ``UsageError`` says which is not there."""
    longest = max(_chosen(score, parts), key=lambda part: len(part.bars))
    return bar_range([bar.number for bar in longest.bars], first, last)


def taken(score: Score, bars: range, hand: str, parts: tuple[str, ...] | None) -> tuple[Taken, ...]:
    """Return what an excerpt takes of each part; a ``UsageError`` says what is not there."""
    value_of(row_of("hand"), hand)
    chosen = [half for part in _chosen(score, parts) for half in part.written]
    found = [Taken(part, _within(bars, part), _staves(part, hand)) for part in chosen]
    found = [each for each in found if each.staves and each.bars]
    if not found:
        raise UsageError(f"no staff of this score is the {hand} hand's: leave --hand out")
    return tuple(found)


def _chosen(score: Score, parts: tuple[str, ...] | None) -> tuple[Part, ...]:
    """Return the parts to look at, at least one."""
    chosen = parts_looked_at(score, Options(parts=parts))
    if not chosen:
        names = ", ".join(name for part in score.parts for name in part.names)
        raise UsageError(f"no keyboard part to cut an excerpt from: name one with --parts; this score has {names}")
    return chosen


def one_stretch(bars: Bars | None) -> tuple[str, str]:
    """Return the first and last printed number of the bars of an excerpt; nothing said: all. It is one stretch, or a ``UsageError``."""
    if bars is not None and len(bars) > 1:
        raise UsageError("an excerpt is one stretch of bars, such as 5-12: give them one by one")
    return bars[0] if bars else ("", "")


def bar_range(numbers: Sequence[str], first: str, last: str) -> range:
    """Return the indices of the bars from one printed number to another; an empty one is an open end.

    >>> bar_range(["0", "1", "2", "2", "3", "1", "2"], "1", "2")
    range(1, 4)
    """
    if not numbers:
        raise UsageError("there are no bars to cut an excerpt from")
    first, last = first or numbers[0], last or numbers[-1]
    for number in (first, last):
        if number not in numbers:
            raise UsageError(f"there is no bar {number}: the bars go from {numbers[0]} to {numbers[-1]}")
    start = numbers.index(first)
    if last not in numbers[start:]:
        raise UsageError(f"bars {first}-{last} run backwards: give the first bar first")
    stop = numbers.index(last, start) + 1
    while stop < len(numbers) and numbers[stop] == last:
        stop += 1
    return range(start, stop)


def _within(bars: range, part: Part) -> range:
    return range(min(bars.start, len(part.bars)), min(bars.stop, len(part.bars)))


def _staves(part: Part, hand: str) -> tuple[int, ...]:
    """Return the staves of a part that a hand plays."""
    return tuple(
        staff
        for staff in range(1, part.staves + 1)
        if hand == "both" or (staff in part.left_staves) == (hand == "left")
    )
