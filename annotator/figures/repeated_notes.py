"""Repeated notes: the same note or chord struck again and again.

Conventions
-----------
* Four strokes at least, all of one written pitch (or chord), one after another without a rest; the rhythm is on the page and may vary.
* The first stroke is the anchor; ``times`` is the number of strokes. There are no odd notes: another pitch ends the figure.
* The line of both hands together is not looked at: one key is struck again by one hand.

Rule: every stroke sounds what the first one sounds. Source: common practice, no source; as an accompaniment the "drum bass".
"""

from __future__ import annotations

from collections.abc import Iterator

from annotator.figures.assembly import figure_of
from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.label_data import LabelData
from annotator.lines import Line
from annotator.theory.names import name_of

KIND = "repeated-notes"
FEWEST = 4  # strokes


def detect_repeated_notes(line: Line) -> Iterator[Figure]:
    """Yield every longest row of strokes of one note or chord in a line."""
    if line.scope == "shared":
        return
    for first, stop in _rows(line):
        events = line.events[first:stop]
        figure = figure_of(line, KIND, events, events[0].notes, times=len(events))
        if figure:
            yield figure


def spell_out_repeated_notes(covered: Covered) -> Spelling:
    """Return the first stroke once for every stroke.

    Rule: The same again and again; ×8 says that it is struck 8 times in all.
    """
    stroke = tuple(int(pitch.semitone) for pitch in covered.slots[0].known if pitch is not None)
    return tuple(stroke for _ in covered.slots)


def _rows(line: Line) -> Iterator[tuple[int, int]]:
    """Yield the index ranges (first, stop), long enough, of joined events that strike the same pitches."""
    strokes, events = line.strokes, line.events
    first = 0
    for stop in range(1, len(events) + 1):
        if stop == len(events) or not events[stop].joined or strokes[stop] != strokes[stop - 1]:
            if stop - first >= FEWEST:
                yield first, stop
            first = stop


def label(figure: Figure) -> LabelData:
    """Name the note, the octave or two notes, or the chord that has a name, and say how often it is struck."""
    times = figure.times or len(figure.moments)
    if figure.chord is not None:
        return LabelData("chord", chord=figure.chord, times=times)
    named = {name_of(note.pitch): note for note in figure.moments[0]}
    return LabelData("unnamed", times=times) if len(named) > 2 else LabelData("notes", strokes=(tuple(named.values()),), times=times)
