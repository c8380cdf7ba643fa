"""Turns and mordents written out in notes: one turn, or several ornaments of a kind in a row.

Conventions
-----------
* Turn: upper, main, lower, main (``upper-first``) or lower, main, upper, main (``lower-first``); with the main note before it
  ``main-first-upper`` and ``main-first-lower``. The notes are equal and at most an eighth or half a
  beat (slower ones are heard as a tune); the last, and the main note before a turn, may be longer.
* Mordent: main, neighbour, main; the first two equal and at most a third of a beat, the last no shorter. Two at least in a row, all with
  the lower neighbour, or all with the upper one: then ``direction`` is ``up``.
* The first main note of each ornament is its anchor. Ornaments of one form that follow each other are one figure.

Rule
----
The neighbours are one letter from the main note, altered as an unmarked note would be there, else odd.

Source
------
Turn and mordent: the guidelines of MEI 5.0 on ornaments. Main note first: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

from annotator.figures.assembly import figure_of, kept
from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.marked import marked_in
from annotator.figures.stepping import BREAK, BY_LETTER, DOWN, UP, steps_of
from annotator.lines import Line
from annotator.score import Note
from annotator.settings import Options
from annotator.theory.beats import beat_ticks
from annotator.theory.intervals import unmarked

FORMS: dict[str, tuple[int, ...]] = {
    "upper-first": (1, 0, -1, 0),
    "lower-first": (-1, 0, 1, 0),
    "main-first-upper": (0, 1, 0, -1, 0),
    "main-first-lower": (0, -1, 0, 1, 0),
}
"""Each form of the turn: its notes in letters above the main note."""

LOWER, UPPER = (0, -1, 0), (0, 1, 0)
MORDENTS = 2  # fewest in a row
MAIN_FIRST = 5  # notes of a turn with the main note before it


def _pattern(shape: Sequence[int], fewest: int) -> re.Pattern[str]:
    """Return the pattern of a row of ornaments in the text of a line's steps (``steps_of``)."""
    one = "".join(UP if after > before else DOWN for before, after in pairwise(shape))
    return re.compile(f"{one}(?:[^{BREAK}]{one}){{{fewest - 1},}}")


_TURNS = {form: _pattern(shape, 1) for form, shape in FORMS.items()}
_MORDENTS = {shape: _pattern(shape, MORDENTS) for shape in (LOWER, UPPER)}


def detect_turns(line: Line, options: Options) -> Iterator[Figure]:
    """Yield the turns of a line, alone or in rows of one form."""
    if line.scope == "shared" or len(line) < MAIN_FIRST - 1:
        return
    whole, first, last = _ground(line)
    steps = steps_of(whole, BY_LETTER)
    for form, shape in FORMS.items():
        for match in _TURNS[form].finditer(steps, first, last):
            yield from _rows(whole, "turn", shape, form, match.start(), match.end() + 1, 1)


def detect_mordents(line: Line, options: Options) -> Iterator[Figure]:
    """Yield the rows of mordents of a line."""
    if line.scope == "shared":
        return
    whole, first, last = _ground(line)
    steps = steps_of(whole, BY_LETTER)
    for shape, pattern in _MORDENTS.items():
        for match in pattern.finditer(steps, first, last):
            yield from _rows(whole, "mordent", shape, None, match.start(), match.end() + 1, MORDENTS)


def _ground(line: Line) -> tuple[Line, int, int]:
    """Return the whole line that a slice is cut from, about which all is known, and the first and last event of the slice there."""
    return line if line.whole is None else line.whole, line.first, line.first + len(line) - 1


def spell_out_turn(covered: Covered) -> Spelling:
    """Return the notes of each turn from its first main note."""
    return _spell_out(covered, FORMS[covered.form or ""])


def spell_out_mordent(covered: Covered) -> Spelling:
    """Return the notes of each mordent from its first note; the neighbour is the lower one unless the label says otherwise."""
    return _spell_out(covered, UPPER if covered.direction == "up" else LOWER)


def _spell_out(covered: Covered, shape: Sequence[int]) -> Spelling:
    """Return the notes of ornaments of one shape."""
    size, anchor = len(shape), shape.index(0)
    spelled = []
    for place, slot in enumerate(covered.slots):
        main = covered.slots[place - place % size + anchor].known[0]
        if main is None:
            raise ValueError("the main note of an ornament must be dark")
        letters = shape[place % size]
        pitch = slot.known[0] or (
            unmarked(slot.bar, slot.staff[0], slot.tick, slot.key, main.diatonic + letters) if letters else main
        )
        spelled.append((int(pitch.semitone),))
    return tuple(spelled)


def _rows(line: Line, kind: str, shape: Sequence[int], form: str | None, first: int, stop: int, fewest: int) -> Iterator[Figure]:
    """Yield the figures in a stretch of ornaments of one shape: those in a row that are even and true to their main note."""
    size = len(shape)
    row: list[int] = []
    for start in [*range(first, stop, size), stop]:
        if start < stop and _true(line, start, shape):
            row.append(start)
            continue
        odd = [_odd(line, place, shape) for place in row]
        for begin, end in _lawful(size, [len(notes) for notes in odd]):
            if end - begin >= fewest:
                yield from _figure(line, kind, shape, form, row[begin:end], odd[begin:end])
        row = []


def _lawful(size: int, odd: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield the ranges of ornaments of ``size`` notes in which few enough are odd: all of them, or those between the odder ones."""
    if kept(size * len(odd), sum(odd)):
        yield 0, len(odd)
        return
    begin = 0
    for place in range(len(odd) + 1):
        if place == len(odd) or not kept(size, odd[place]):
            if place > begin:
                yield begin, place
            begin = place + 1


def _true(line: Line, start: int, shape: Sequence[int]) -> bool:
    """Return whether the notes from ``start`` on have the ornament's rhythm and come back to the very main note."""
    size = len(shape)
    first, *inner, last = line.ticks[start : start + size]
    quick = inner[0]
    if last < quick or inner.count(quick) < len(inner) or first < quick or (first > quick and size < MAIN_FIRST):
        return False
    mains = line.strokes[start + shape.index(0) : start + size : 2]
    return mains.count(mains[0]) == len(mains) and _fast(line, start, quick, size)


def _fast(line: Line, start: int, quick: int, size: int) -> bool:
    """Return whether an ornament of so many notes, from ``start`` on, is not heard as a tune; ``quick`` are the ticks of one note."""
    if size > len(LOWER) and 2 * quick <= line.resolution:
        return True
    return (2 if size > len(LOWER) else 3) * quick <= beat_ticks(line.bars[line.events[start].bar], line.resolution)


def _odd(line: Line, start: int, shape: Sequence[int]) -> list[Note]:
    """Return the neighbours that are not altered as an unmarked note would be."""
    return [note for place, letters in enumerate(shape, start) if letters for note in marked_in(line, place, place + 1)]


def _figure(
    line: Line, kind: str, shape: Sequence[int], form: str | None, row: Sequence[int], odd: Sequence[Sequence[Note]]
) -> Iterator[Figure]:
    """Yield the figure of ornaments that begin at the events of ``row``."""
    size, anchor = len(shape), shape.index(0)
    mains = [line.events[start + anchor].notes[0] for start in row]
    figure = figure_of(
        line,
        kind,
        line.events[row[0] : row[-1] + size],
        mains,
        [note for notes in odd for note in notes],
        form=form,
        direction="up" if kind == "mordent" and shape == UPPER else None,
        times=len(row),
        group=size,
    )
    if figure:
        yield figure
