"""Pedal note: one note struck again and again between the notes of a line (D♯ x D♯ x …).

Conventions
-----------
* Six strokes in even rhythm at least, every second of them the note; what is between is not always the same (that is a tremolo or trill).
* ``notes`` are those of the pedal note alone; the line between is dark, or a figure of its own.

Rule: every second stroke is the named note, which is dark where it is struck first. Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from annotator.figures.copy_rows import Row, rows_of
from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.label_data import LabelData
from annotator.lines import Texture

KIND = "pedal-note"
FEWEST = 3  # strokes of the note
MANY_LINES = 6  # bar lines at either end at which a row may begin or end, too


def detect_pedal_notes(texture: Texture) -> Iterator[Figure]:
    """Yield the longest rows of a note between others, and what lies before and after each bar line in them."""
    for row in rows_of(texture):
        for first, stop in _rows(row):
            places = range(first, stop, 2)
            lines = [at for at in range(1, len(places)) if row.events[places[at]].bar != row.events[places[at - 1]].bar]
            lines = lines[:MANY_LINES] + lines[MANY_LINES:][-MANY_LINES:]
            for piece in {(0, len(places)), *((0, at) for at in lines), *((at, len(places)) for at in lines)}:
                struck = [row.events[place].notes[0] for place in places[slice(*piece)]]
                if len(struck) >= FEWEST:
                    yield Figure(
                        kind=KIND,
                        part=struck[0].part,
                        staff=struck[0].staff,
                        voice=struck[0].voice,
                        hand=row.line.hand,
                        moments=tuple([(note,) for note in struck]),
                        anchors=(struck[0],),
                        times=len(struck),
                        tied=row.line.tied_to(struck),
                    )


def spell_out_pedal_note(covered: Covered) -> Spelling:
    """Return the first stroke for every one."""
    pitch = covered.slots[0].dark()
    return tuple((int(pitch.semitone),) for _ in covered.slots)


def _rows(row: Row) -> Iterator[tuple[int, int]]:
    """Yield where every second stroke is one note: its first stroke and the place after its last."""
    apart = [0 if place in row.cuts else row.ticks[place] - row.ticks[place - 1] for place in range(len(row))]
    stop = 0
    for distance, even in groupby(apart):
        begin, stop = stop, stop + len(list(even))
        if distance:
            for first in (begin - 1, begin):
                yield from _same(row, first, stop)


def _same(row: Row, first: int, stop: int) -> Iterator[tuple[int, int]]:
    """Yield the rows of one single note among every second stroke, with what is between not always the same."""
    start = first
    for _, strokes in groupby(range(first, stop, 2), key=lambda place: row.exact[place]):
        places = list(strokes)
        start, end = places[0], places[-1] + 1
        between = {row.exact[place] for place in range(start + 1, min(end + 1, stop), 2)}
        if len(places) >= FEWEST and len(row.events[start].notes) == 1 and len(between) > 1 and row.exact[start] not in between:
            yield start, end


def label(figure: Figure) -> LabelData:
    """Name the note."""
    return LabelData(notes=figure.moments[0])
