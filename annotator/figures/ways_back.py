"""The way back: what was just struck, backwards from a turning stroke; by itself, or after copies that go octaves away.

Rule
----
* The turning stroke is struck once, and is the highest or the lowest of the way there and back.
* A way back does not end shortly after a bar line. It is no longer than sixteen strokes, and no longer than the way there.

Source of the numbers: read off pages by eye, no source.
"""

from __future__ import annotations

from collections.abc import Container, Iterator

from annotator.figures.copies import OCTAVE, RETROGRADE, Copy, Move, figure_of
from annotator.figures.copy_rows import Row
from annotator.figures.figure import Figure
from annotator.figures.lines import Texture

LONGEST = 16  # strokes
FEWEST_STROKES = 2
FEWEST_BACK = 4  # notes
FEWEST_THERE_AND_BACK = 5  # notes
SHORTLY = 4  # less than one in so many of a copy's strokes beyond a bar line are left out


def ways_back(texture: Texture, row: Row) -> Iterator[Figure]:
    """Yield the ways back in a row."""
    exact = row.exact
    for turn in range(2, len(row) - 2):
        if exact[turn - 1] != exact[turn + 1] or exact[turn - 2] != exact[turn + 2]:
            continue
        size = _up_to_the_bar_line(row, turn, _way_back(row, turn))
        if size < FEWEST_STROKES or not _turns(row, turn, size):
            continue
        model, strokes = row.strokes(turn - size, turn), row.strokes(turn + 1, turn + size + 1)
        figure = figure_of(Copy(RETROGRADE, row.line.hand, Move(), strokes, model, (), row.bars, texture.ties, row.fresh))
        if figure is not None and len(figure.grey) >= FEWEST_BACK:
            yield figure


def and_back(texture: Texture, row: Row, move: Move, first: int, stop: int, group: int, odd: Container[int]) -> Iterator[Figure]:
    """Yield the copies by octaves from ``first`` on that turn on their last stroke and go back, if those up to ``stop`` do so."""
    there = (stop - first) // group * group
    turn = first + there - 1
    if not there or turn + FEWEST_STROKES >= len(row):
        return
    back = min(_up_to_the_bar_line(row, turn, _way_back(row, turn)), turn - first + group)
    if back < FEWEST_STROKES or not _turns(row, turn, back):
        return
    model, strokes = row.strokes(first - group, first), row.strokes(first, turn + 1 + back)
    figure = figure_of(Copy(OCTAVE, row.line.hand, move, strokes, model, odd, row.bars, texture.ties, row.fresh, back=back))
    if figure is not None and len(figure.grey) >= FEWEST_THERE_AND_BACK:
        yield figure


def _turns(row: Row, turn: int, size: int) -> bool:
    """Return whether a stroke is higher, or lower, than those of the way to it."""
    heights = [row.events[place].notes[-1].pitch.semitone for place in range(turn - size, turn)]
    return not min(heights) <= row.events[turn].notes[-1].pitch.semitone <= max(heights)


def _way_back(row: Row, turn: int) -> int:
    """Return how many strokes are struck backwards after a turning stroke."""
    size = 0
    first = row.segment[turn]
    exact, rhythm = row.exact, row.rhythm
    while (
        size < LONGEST
        and turn - size > first
        and turn + size + 1 < len(row)
        and exact[turn - size - 1] == exact[turn + size + 1]
        and rhythm[turn - size] == rhythm[turn + size + 1]
    ):
        size += 1
    return size


def _up_to_the_bar_line(row: Row, turn: int, size: int) -> int:
    """Return how long a way back is that does not end shortly after a bar line."""
    bars = [row.events[place].bar for place in range(turn + 1, turn + size + 1)]
    over = sum(bar == bars[-1] for bar in bars) if bars and bars[-1] != bars[0] else 0
    return size - over if SHORTLY * over <= size else size
