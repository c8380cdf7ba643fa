"""Pairs: the rows of joined events of two notes in a line, how wide they are, and the line that leads them.

Conventions
-----------
* A row has ``FEWEST`` pairs at least, each joined to the one before; a pair beside a note held over by a tie is none.
* The leading line is the top note of each pair in the right hand, the bottom note in the left.
* Each line is looked through once, whichever the interval.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from annotator.figures.equal import equal_stretches
from annotator.figures.legs import JOINED_LEG
from annotator.figures.stepping import DOWN, OTHER, UP
from annotator.lines import Event, Line

FEWEST = 4  # pairs
_FIRST, _JOINED, _NONE = "|", "=", "."  # a pair that is not joined to the event before, one that is, and what is no pair
_ROW = re.compile(f"[{_FIRST}{_JOINED}]{_JOINED * (FEWEST - 1)}+")


@dataclass(frozen=True, slots=True)
class Row:
    """A row of pairs: its ``first`` event, and the parts of it that are long enough, as first event and the event after the last.

    ``letters`` are the longest parts of pairs equally many letters wide, and how many; ``sizes`` those of pairs equally many semitones
    wide, and the letters that such pairs are wide.
    """

    first: int
    stop: int
    letters: list[tuple[int, int, int]]
    sizes: list[tuple[int, int, set[int]]]


def rows_of_pairs(line: Line) -> list[Row]:
    """Return the rows of joined events of two notes."""
    kept: list[Row] | None = line.__dict__.get("double notes")
    if kept is None:
        pairs = [
            _NONE if len(event.notes) != 2 or not event.whole else _JOINED if event.joined else _FIRST for event in line.events
        ]
        kept = line.__dict__["double notes"] = [_row(line, *row.span()) for row in _ROW.finditer("".join(pairs))]
    return kept


def _row(line: Line, first: int, stop: int) -> Row:
    """Return a row of pairs and the parts of it."""
    pairs = [event.notes for event in line.events[first:stop]]
    letters = [high.pitch.diatonic - low.pitch.diatonic for low, high in pairs]
    sizes = [high.pitch.semitone - low.pitch.semitone for low, high in pairs]
    return Row(
        first,
        stop,
        [(first + begin, first + end, letters[begin]) for begin, end in _equal(letters)],
        [(first + begin, first + end, set(letters[begin:end])) for begin, end in _equal(sizes)],
    )


def _equal(widths: Sequence[Hashable]) -> Iterable[tuple[int, int]]:
    """Return where enough pairs in a row are equally wide; mostly their widths are too different for that."""
    return () if len(widths) - len(set(widths)) < FEWEST - 1 else equal_stretches(widths, 1, FEWEST)


def lead_of(line: Line) -> int:
    """Return the place in a pair of the note that leads."""
    return -1 if line.hand == "right" else 0


def leading_line(line: Line) -> Line:
    """Return the leading notes of pairs in a row as a line; it is part of that of all the row, which is made once."""
    whole = line if line.whole is None else line.whole
    rows = rows_of_pairs(whole)
    row = rows[bisect_right(rows, line.first, key=lambda row: row.first) - 1]
    kept: dict[int, Line] = whole.__dict__.setdefault("leading notes", {})
    if row.first not in kept:
        lead = lead_of(line)
        events = [
            Event((event.notes[lead],), event.tick, event.ticks, event.end, event.bar, event.joined, event.whole)
            for event in whole.events[row.first : row.stop]
        ]
        kept[row.first] = replace(whole, events=tuple(events))
    return kept[row.first].slice(line.first - row.first, line.first - row.first + len(line))


def may_run(line: Line) -> bool:
    """Return whether the leading notes of some pairs go up, or down, by small steps for as long as a leg of a run at least."""
    lead = lead_of(line)
    keys = [event.notes[lead].pitch.semitone for event in line.events]
    steps = "".join([UP if 0 < after - before < 4 else DOWN if -4 < after - before < 0 else OTHER for before, after in pairwise(keys)])
    return UP * (JOINED_LEG - 1) in steps or DOWN * (JOINED_LEG - 1) in steps
