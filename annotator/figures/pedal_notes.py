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
from operator import eq

from annotator.figures.copy_chains import runs
from annotator.figures.copy_rows import is_cut, played_lines
from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.label_data import LabelData
from annotator.figures.lines import Line, Texture

KIND = "pedal-note"
FEWEST = 3  # strokes of the note
MANY_LINES = 6  # bar lines at either end at which a row may begin or end, too


def detect_pedal_notes(texture: Texture) -> Iterator[Figure]:
    """Yield the longest rows of a note between others, and what lies before and after each bar line in them."""
    for line in played_lines(texture):
        for places in _rows(line):
            lines = [at for at in range(1, len(places)) if line.events[places[at]].bar != line.events[places[at - 1]].bar]
            lines = lines[:MANY_LINES] + lines[MANY_LINES:][-MANY_LINES:]
            for piece in {(0, len(places)), *((0, at) for at in lines), *((at, len(places)) for at in lines)}:
                struck = [line.events[place].notes[0] for place in places[slice(*piece)]]
                if len(struck) >= FEWEST:
                    yield Figure(
                        kind=KIND,
                        part=struck[0].part,
                        staff=struck[0].staff,
                        voice=struck[0].voice,
                        hand=line.hand,
                        moments=tuple([(note,) for note in struck]),
                        anchors=(struck[0],),
                        times=len(struck),
                        tied=line.tied_to(struck),
                    )


def spell_out_pedal_note(covered: Covered) -> Spelling:
    """Return the first stroke for every one.

    Rule: Every second stroke is the note that is named.
    """
    pitch = covered.slots[0].dark()
    return tuple((int(pitch.semitone),) for _ in covered.slots)


def _rows(line: Line) -> Iterator[range]:
    """Yield where every second stroke is one single note, in even rhythm, and what is between is not always the same."""
    strokes = line.strokes
    for first in (0, 1):
        for begin, end in runs(map(eq, strokes[first + 2 :: 2], strokes[first::2])):
            places = range(first + 2 * begin, first + 2 * end + 1, 2)
            note = strokes[places[0]]
            if len(places) >= FEWEST and len(note) == 1:
                for start, stop in _even(line, places[0], min(places[-1] + 2, len(line))):
                    row = range(start + (start - first) % 2, min(stop, places.stop), 2)
                    between = {*strokes[row.start + 1 : stop : 2]}
                    if len(row) >= FEWEST and len(between) > 1 and note not in between:
                        yield row


def _even(line: Line, first: int, stop: int) -> Iterator[tuple[int, int]]:
    """Yield the stretches of some strokes that are in even rhythm, with no cut in them."""
    events = line.events

    def apart(place: int) -> int:
        """Return how long after the one before a stroke is, 0 after a cut."""
        before, event = events[place - 1], events[place]
        return 0 if is_cut(line.bars, before, event) else event.tick - before.tick

    for distance, even in groupby(range(first + 1, stop), key=apart):
        places = list(even)
        if distance:
            yield places[0] - 1, places[-1] + 1


def label(figure: Figure) -> LabelData:
    """Name the note."""
    return LabelData(notes=figure.moments[0])
