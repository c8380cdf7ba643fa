"""Turns and mordents written out in notes: one turn, or several ornaments of a kind in a row.

Conventions
-----------
* Turn: upper, main, lower, main (``upper-first``) or lower, main, upper, main (``lower-first``); with the main note before it
  ``main-first-upper`` and ``main-first-lower``. The notes are equal and at most an eighth or half a
  beat (slower ones are heard as a tune); the last, and the main note before a turn, may be longer.
* A turn alone is quicker than what it ornaments: its last note is longer, or the main note before it, or the main note follows once more,
  longer. Several in a row need not be.
* Mordent: main, neighbour, main; the first two equal and at most a third of a beat, the last no shorter. Two at least in a row, all with
  the lower neighbour, or all with the upper one: then ``direction`` is ``up``.
* None stands inside a scale: where a note of the same length before the row goes the way of its first two, or one after it the way of its
  last two, by step, it is a run that wavers. What follows a turn out of a held main note may be a scale.
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
from functools import partial
from itertools import groupby, pairwise
from typing import NamedTuple

from annotator.figures.figure import CannotSpellOut, Covered, Figure, LabelData, Spelling, figure_of, kept, main_notes
from annotator.figures.lines import Line
from annotator.music.intervals import BREAK, BY_LETTER, DOWN, UP, marked, steps_of
from annotator.music.score import Note

FORMS: dict[str, tuple[int, ...]] = {
    "upper-first": (1, 0, -1, 0),
    "lower-first": (-1, 0, 1, 0),
    "main-first-upper": (0, 1, 0, -1, 0),
    "main-first-lower": (0, -1, 0, 1, 0),
}
"""Each form of the turn: its notes in letters above the main note."""

LOWER, UPPER = (0, -1, 0), (0, 1, 0)
FEWEST_MORDENTS = 2  # fewest in a row
MAIN_FIRST = 5  # notes of a turn with the main note before it


class Ornament(NamedTuple):
    """An ornament as it is looked for: its ``shape`` in letters above the main note, and the ``fewest`` in a row that are a figure."""

    kind: str
    shape: tuple[int, ...]
    fewest: int
    form: str | None = None
    direction: str | None = None

    @property
    def size(self) -> int:
        """How many notes it has."""
        return len(self.shape)

    @property
    def main(self) -> int:
        """The place of its first main note, which is its anchor."""
        return self.shape.index(0)

    def starts(self, steps: str) -> Iterator[list[int]]:
        """Yield the events at which ornaments begin that follow each other, enough of them; ``steps`` are those of a line by letter."""
        one = "".join(UP if after > before else DOWN for before, after in pairwise(self.shape))
        for row in re.finditer(f"{one}(?:[^{BREAK}]{one}){{{self.fewest - 1},}}", steps):
            yield list(range(row.start(), row.end(), self.size))


TURNS = [Ornament("turn", shape, 1, form=form) for form, shape in FORMS.items()]
MORDENTS = [Ornament("mordent", LOWER, FEWEST_MORDENTS), Ornament("mordent", UPPER, FEWEST_MORDENTS, direction="up")]


def detect_turns(line: Line) -> Iterator[Figure]:
    """Yield the turns of a line, alone or in rows of one form."""
    return _ornaments(line, TURNS)


def detect_mordents(line: Line) -> Iterator[Figure]:
    """Yield the rows of mordents of a line."""
    return _ornaments(line, MORDENTS)


def _ornaments(line: Line, sought: Sequence[Ornament]) -> Iterator[Figure]:
    """Yield the rows of some ornaments in a line: those that are even and come back to their main note."""
    if line.scope == "shared":
        return
    steps = steps_of(line.moves, BY_LETTER)
    for ornament in sought:
        for starts in ornament.starts(steps):
            for true, row in groupby(starts, partial(_true, line, ornament)):
                apart = _apart(line, ornament, steps, list(row)) if true else []
                if len(apart) > 1 or (apart and ornament.fewest == 1 and _held(line, ornament, apart[0])):
                    yield from _figures(line, ornament, apart)


def spell_out_turn(covered: Covered) -> Spelling:
    """Return the notes of each turn from its first main note.

    Rule: Neighbour above, main note, neighbour below, main note, the neighbours as the key says; inverted: from below; a turn of five
    notes begins on the main note.
    """
    if covered.form not in FORMS:
        raise CannotSpellOut("a turn needs its form")
    return _spell_out(covered, FORMS[covered.form])


def spell_out_mordent(covered: Covered) -> Spelling:
    """Return the notes of each mordent from its first note; the neighbour is the lower one unless the label says otherwise.

    Rule: The main note, its neighbour in the key, and the main note again: the neighbour below, or above where the bracket says upper.
    """
    return _spell_out(covered, UPPER if covered.direction == "up" else LOWER)


def _spell_out(covered: Covered, shape: Sequence[int]) -> Spelling:
    """Return the notes of ornaments of one shape."""
    size, anchor = len(shape), shape.index(0)
    if len(covered.slots) % size:
        raise CannotSpellOut(f"each ornament has {size} notes")
    spelled = []
    for place, slot in enumerate(covered.slots):
        main = covered.slots[place - place % size + anchor].dark()
        letters = shape[place % size]
        pitch = slot.known[0] or (slot.unmarked(main.diatonic + letters) if letters else main)
        spelled.append((int(pitch.semitone),))
    return tuple(spelled)


def _figures(line: Line, ornament: Ornament, row: Sequence[int]) -> Iterator[Figure]:
    """Yield the figures of ornaments that begin at the events of ``row``: all of them, or those between any with too many odd notes."""
    odd = [_odd(line, ornament, start) for start in row]
    for begin, end in _lawful(ornament.size, [len(notes) for notes in odd]):
        if end - begin < ornament.fewest:
            continue
        figure = figure_of(
            line,
            ornament.kind,
            line.events[row[begin] : row[end - 1] + ornament.size],
            [line.events[start + ornament.main].notes[0] for start in row[begin:end]],
            [note for notes in odd[begin:end] for note in notes],
            form=ornament.form,
            direction=ornament.direction,
            times=end - begin,
            group=ornament.size,
        )
        if figure:
            yield figure


def _odd(line: Line, ornament: Ornament, start: int) -> list[Note]:
    """Return the neighbours in one ornament that are not altered as unmarked notes would be."""
    notes = [event.notes[0] for event in line.events[start : start + ornament.size]]
    return [note for note, letters in zip(notes, ornament.shape, strict=True) if letters and marked(note, line.bars)]


def _lawful(size: int, odd: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield the ranges of ornaments of ``size`` notes in which few enough are odd: all of them, or those between the odder ones."""
    whole = kept(size * len(odd), sum(odd))
    for good, row in groupby(range(len(odd)), key=lambda place: whole or kept(size, odd[place])):
        places = list(row)
        if good:
            yield places[0], places[-1] + 1


def _true(line: Line, ornament: Ornament, start: int) -> bool:
    """Return whether the notes from ``start`` on have the ornament's rhythm and come back to the very main note."""
    stop = start + ornament.size
    first, *inner, last = line.ticks[start:stop]
    quick = inner[0]
    if last < quick or inner.count(quick) < len(inner) or first < quick or (first > quick and ornament.size < MAIN_FIRST):
        return False
    mains = line.strokes[start + ornament.main : stop : 2]
    return mains.count(mains[0]) == len(mains) and _fast(line, start, quick, ornament.size)


def _apart(line: Line, ornament: Ornament, steps: str, row: list[int]) -> list[int]:
    """Return the ornaments of a row less those, at either end, into or out of which a scale goes on; ``steps`` as for ``starts``."""
    while row and _runs_on(line, steps, row[0]):
        del row[0]
    while row and line.ticks[row[-1]] == line.ticks[row[-1] + 1] and _runs_on(line, steps, row[-1] + ornament.size - 1):
        del row[-1]
    return row


def _runs_on(line: Line, steps: str, place: int) -> bool:
    """Return whether a line comes to a note by step in the way in which it leaves it, in equal notes."""
    ways, ticks = steps[place - 1 : place + 1], line.ticks
    return place > 0 and len(ways) == 2 and ways[0] == ways[1] and ticks[place - 1] == ticks[place] == ticks[place + 1]


def _held(line: Line, ornament: Ornament, start: int) -> bool:
    """Return whether the main note of a turn is held: after it, perhaps struck once more, or, where it comes first, before it."""
    quick, after = line.ticks[start + 1], start + ornament.size
    again = after < len(line) and line.events[after].joined and line.strokes[after] == line.strokes[after - 1]
    return line.ticks[after - 1] > quick or line.ticks[start] > quick or (again and line.ticks[after] > quick)


def _fast(line: Line, start: int, quick: int, size: int) -> bool:
    """Return whether an ornament of so many notes, from ``start`` on, is not heard as a tune; ``quick`` are the ticks of one note."""
    if size > len(LOWER) and 2 * quick <= line.resolution:
        return True
    return (2 if size > len(LOWER) else 3) * quick <= line.bars[line.events[start].bar].beat_ticks(line.resolution)


def turn_label(figure: Figure) -> LabelData:
    """Name the notes that are turned around; a turn from below is inverted."""
    mains = main_notes(figure)
    if figure.form in ("lower-first", "main-first-lower"):
        return LabelData("several-inverted" if len(mains) > 1 else "inverted", notes=mains)
    return LabelData("several" if len(mains) > 1 else "one", notes=mains)


def mordent_label(figure: Figure) -> LabelData:
    """Name the main notes; upper mordents have a name of their own."""
    return LabelData("upper" if figure.direction == "up" else "lower", notes=main_notes(figure))
