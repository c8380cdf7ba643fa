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
from operator import or_

from annotator.figures.assembly import figure_of_singles, kept
from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.label_data import LabelData, main_notes
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


class _Ornament:
    """An ornament as it is looked for: its ``shape`` in letters above the main note, and the ``fewest`` in a row that are a figure."""

    def __init__(self, kind: str, shape: Sequence[int], fewest: int, form: str | None = None, direction: str | None = None) -> None:
        self.kind, self.fewest, self.form, self.direction = kind, fewest, form, direction
        self.size, self.anchor = len(shape), shape.index(0)
        self.neighbours = [place for place, letters in enumerate(shape) if letters]
        self.dark = [place == self.anchor for place in range(self.size)]
        one = "".join(UP if after > before else DOWN for before, after in pairwise(shape))
        self.row = re.compile(f"{one}(?:[^{BREAK}]{one}){{{fewest - 1},}}")  # in the text of a line's steps (``steps_of``)


_TURNS = [_Ornament("turn", shape, 1, form=form) for form, shape in FORMS.items()]
_MORDENTS = [_Ornament("mordent", LOWER, MORDENTS), _Ornament("mordent", UPPER, MORDENTS, direction="up")]


def detect_turns(line: Line, options: Options) -> Iterator[Figure]:
    """Yield the turns of a line, alone or in rows of one form."""
    return _ornaments(line, _TURNS)


def detect_mordents(line: Line, options: Options) -> Iterator[Figure]:
    """Yield the rows of mordents of a line."""
    return _ornaments(line, _MORDENTS)


def _ornaments(line: Line, sought: Sequence[_Ornament]) -> Iterator[Figure]:
    """Yield the rows of some ornaments in a line; where it is a slice, about its whole line all is known."""
    whole, first = line.whole or line, line.first
    last = first + len(line) - 1
    if line.scope == "shared" or last - first < len(LOWER) - 1:
        return
    steps = steps_of(whole, BY_LETTER)
    for ornament in sought:
        for match in ornament.row.finditer(steps, first, last):
            yield from _rows(whole, ornament, match.start(), match.end() + 1)


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


def _rows(line: Line, ornament: _Ornament, first: int, stop: int) -> Iterator[Figure]:
    """Yield the figures in a stretch of ornaments of one shape: those in a row that are even and come back to their main note."""
    row: list[int] = []
    for start in range(first, stop, ornament.size):
        if _true(line, start, ornament):
            row.append(start)
        elif row:
            yield from _figures(line, ornament, row)
            row = []
    if row:
        yield from _figures(line, ornament, row)


def _figures(line: Line, ornament: _Ornament, row: Sequence[int]) -> Iterator[Figure]:
    """Yield the figures of ornaments that begin at the events of ``row``: all of them, or those between any with too many odd notes."""
    if not marked_in(line, [start + place for start in row for place in ornament.neighbours]):
        if len(row) >= ornament.fewest:
            yield _figure(line, ornament, row, ())
        return
    odd = [marked_in(line, [start + place for place in ornament.neighbours]) for start in row]
    for begin, end in _lawful(ornament.size, [len(notes) for notes in odd]):
        if end - begin >= ornament.fewest:
            yield _figure(line, ornament, row[begin:end], [note for notes in odd[begin:end] for note in notes])


def _figure(line: Line, ornament: _Ornament, row: Sequence[int], odd: Sequence[Note]) -> Figure:
    """Return the figure of ornaments that begin at the events of ``row``."""
    moments = tuple([event.notes for event in line.events[row[0] : row[-1] + ornament.size]])
    notes = [moment[0] for moment in moments]
    dark, strange = ornament.dark * len(row), [note in odd for note in notes] if odd else ()
    return figure_of_singles(
        line,
        ornament.kind,
        notes,
        moments,
        list(map(or_, dark, strange)) if odd else dark,
        strange,
        form=ornament.form,
        direction=ornament.direction,
        times=len(row),
        group=ornament.size,
    )


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


def _true(line: Line, start: int, ornament: _Ornament) -> bool:
    """Return whether the notes from ``start`` on have the ornament's rhythm and come back to the very main note."""
    stop = start + ornament.size
    first, *inner, last = line.ticks[start:stop]
    quick = inner[0]
    if last < quick or inner.count(quick) < len(inner) or first < quick or (first > quick and ornament.size < MAIN_FIRST):
        return False
    mains = line.strokes[start + ornament.anchor : stop : 2]
    return mains.count(mains[0]) == len(mains) and _fast(line, start, quick, ornament.size)


def _fast(line: Line, start: int, quick: int, size: int) -> bool:
    """Return whether an ornament of so many notes, from ``start`` on, is not heard as a tune; ``quick`` are the ticks of one note."""
    if size > len(LOWER) and 2 * quick <= line.resolution:
        return True
    return (2 if size > len(LOWER) else 3) * quick <= beat_ticks(line.bars[line.events[start].bar], line.resolution)


def turn_label(figure: Figure) -> LabelData:
    """Name the notes that are turned around; a turn from below is inverted."""
    mains = main_notes(figure)
    if figure.form in ("lower-first", "main-first-lower"):
        return LabelData("several-inverted" if len(mains) > 1 else "inverted", notes=mains)
    return LabelData("several" if len(mains) > 1 else "one", notes=mains)


def mordent_label(figure: Figure) -> LabelData:
    """Name the main notes; upper mordents have a name of their own."""
    return LabelData("upper" if figure.direction == "up" else "lower", notes=main_notes(figure))
