"""Repeated notes: the same note or chord struck again and again, or one chord after another, each struck again.

Conventions
-----------
* A row is of one written pitch (or chord), and so long that three notes follow, of chords four. The strokes come one after another; chords,
  and two notes, may be parted by rests no longer than the stroke before. The rhythm is on the page and may vary.
* Several rows of chords, or of two notes, each of two strokes or more, are one figure where they follow one another (``times`` is None).
  ``group`` is how often each is struck, None where they differ.
* The first stroke of a row is the anchor; ``times`` is the number of strokes. There are no odd notes: another pitch ends the row.
* The line of both hands together is not looked at: one key is struck again by one hand.

Rule: every stroke sounds what the last dark one sounds. Source: common practice, no source; as an accompaniment the "drum bass".
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from annotator.figures.assembly import figure_of
from annotator.figures.figure import CannotSpellOut, Covered, Figure, Spelling
from annotator.figures.label_data import LabelData
from annotator.figures.lines import Line
from annotator.music.names import name_of

KIND = "repeated-notes"
FEWEST = 3  # notes that follow
FEWEST_OF_CHORDS = 4

Row = tuple[int, int]
"""The index range (first, stop) of events that strike the same."""


def detect_repeated_notes(line: Line) -> Iterator[Figure]:
    """Yield every longest row of strokes of one note or chord in a line, and the chords that are each struck again."""
    if line.scope == "shared":
        return
    several: list[Row] = []
    for row in _rows(line):
        if several and not (_again(line, row) and line.near(row[0])):
            yield from _figure(line, several, FEWEST_OF_CHORDS)
            several = []
        if _again(line, row):
            several.append(row)
        elif row[1] - row[0] > FEWEST:
            yield from _figure(line, [row], FEWEST)
    if several:
        yield from _figure(line, several, FEWEST_OF_CHORDS)


def _rows(line: Line) -> Iterator[Row]:
    """Yield the longest rows of events, one after another, that strike the same pitches."""
    strokes, events = line.strokes, line.events
    first = 0
    for stop in range(1, len(events) + 1):
        if stop == len(events) or strokes[stop] != strokes[stop - 1] or not (events[stop].joined or events[stop].single < line.near(stop)):
            yield first, stop
            first = stop


def _again(line: Line, row: Row) -> bool:
    """Return whether a row is of chords, or of two notes, struck again."""
    return row[1] - row[0] > 1 and not line.events[row[0]].single


def _figure(line: Line, rows: Sequence[Row], fewest: int) -> Iterator[Figure]:
    """Yield the figure of rows that follow one another, if so many notes follow."""
    if sum((stop - first - 1) * len(line.events[first].notes) for first, stop in rows) < fewest:
        return
    events = line.events[rows[0][0] : rows[-1][1]]
    dark = [note for first, _ in rows for note in line.events[first].notes]
    times = {stop - first for first, stop in rows}
    alike = times.pop() if len(times) == 1 else None
    one = len(rows) == 1
    figure = figure_of(line, KIND, events, dark, times=alike if one else None, group=None if one else alike)
    if figure:
        yield figure


def spell_out_repeated_notes(covered: Covered) -> Spelling:
    """Return the last dark stroke once more for every grey one.

    Rule: Every stroke is the last black one again; ×8 says that it is struck 8 times in all.
    """
    strokes: list[tuple[int, ...]] = []
    for slot in covered.slots:
        dark = tuple([int(pitch.semitone) for pitch in slot.known if pitch is not None])
        if len(dark) not in (0, len(slot.known)) or not (dark or strokes):
            raise CannotSpellOut("a stroke is dark or grey as a whole, and the first one dark")
        strokes.append(dark or strokes[-1])
    return tuple(strokes)


def label(figure: Figure) -> LabelData:
    """Name the note, the octave or two notes, or the chord that has a name, and say how often it is struck; of several chords only that."""
    times = figure.times
    if times is None:
        return LabelData("each", times=figure.group) if figure.group else LabelData("several")
    if figure.chord is not None:
        return LabelData("chord", chord=figure.chord, times=times)
    named = {name_of(note.pitch): note for note in figure.moments[0]}
    return LabelData("unnamed", times=times) if len(named) > 2 else LabelData("notes", strokes=(tuple(named.values()),), times=times)
