"""Trill and tremolo: two notes (or two chords) in alternation, written out.

Conventions
-----------
* Six strokes at least, of equal value; the last may be longer. The two sides have equally many notes.
* A trill alternates two single notes a step apart (neighbouring letters, or a semitone on one letter); a tremolo anything wider.
* The two sides and the last stroke are the anchors; there are no odd notes. ``times`` is the number of strokes.

Rule: the strokes are the first and the second in turn. Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from annotator.figures.assembly import figure_of
from annotator.figures.equal import equal_stretches
from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.label_data import LabelData
from annotator.lines import Event, Line
from annotator.settings import Options

FEWEST = 6  # strokes

Span = tuple[int, int]
"""First event and the event after the last."""


def detect_trills(line: Line, options: Options) -> Iterator[Figure]:
    """Yield the longest alternations of two neighbouring notes in a line."""
    yield from _figures(line, "trill", True)


def detect_tremolos(line: Line, options: Options) -> Iterator[Figure]:
    """Yield the longest alternations of two notes, or two chords, that are wider apart."""
    yield from _figures(line, "tremolo", False)


def spell_out_alternation(covered: Covered) -> Spelling:
    """Return the first two strokes in turn."""
    sides = [tuple(int(pitch.semitone) for pitch in slot.known if pitch is not None) for slot in covered.slots[:2]]
    return tuple(sides[place % 2] for place in range(len(covered.slots)))


def _figures(line: Line, kind: str, narrow: bool) -> Iterator[Figure]:
    """Yield the alternations of a line that are of one kind."""
    if line.scope == "shared":
        return
    for first, stop in _alternations(line):
        events = line.events[first:stop]
        if _narrow(events[0], events[1]) == narrow:
            dark = [note for event in (events[0], events[1], events[-1]) for note in event.notes]
            figure = figure_of(line, kind, events, dark, times=len(events))
            if figure:
                yield figure


def _narrow(one: Event, other: Event) -> bool:
    """Return whether two strokes are single notes a step apart."""
    if not (one.single and other.single):
        return False
    low, high = one.notes[0].pitch, other.notes[0].pitch
    letters, semitones = abs(low.diatonic - high.diatonic), abs(low.semitone - high.semitone)
    return letters == 1 or (letters == 0 and semitones == 1)


def _alternations(line: Line) -> list[Span]:
    """Return the alternations of a line; each line is looked through once, whichever kind asks."""
    kept: list[Span] | None = line.__dict__.get("alternations")
    if kept is None:
        kept = line.__dict__["alternations"] = [
            span
            for first, stop in equal_stretches(line.strokes, 2, FEWEST)
            for span in _found(line.events, line.strokes, first, stop)
        ]
    return kept


def _found(events: Sequence[Event], strokes: Sequence[object], begin: int, end: int) -> Iterator[Span]:
    """Yield the longest rows of equal joined strokes among some of which each equals the one before the last, but not the last."""
    done = begin
    for first in range(begin, end - 2):
        if strokes[first] == strokes[first + 1] or first + 2 < done or not _begins(events[first], events[first + 1]):
            continue
        ticks = events[first].ticks
        stop = first + 2
        while stop < end and events[stop].joined:
            stop += 1
            if events[stop - 1].ticks != ticks:
                if events[stop - 1].ticks < ticks:
                    stop -= 1
                break
        if stop - first >= FEWEST:
            yield first, stop
        done = stop


def _begins(one: Event, other: Event) -> bool:
    """Return whether two different strokes can be the sides of an alternation."""
    return other.joined and one.ticks == other.ticks and len(one.notes) == len(other.notes)


def label(figure: Figure) -> LabelData:
    """Name the two strokes, the lower one first."""
    low, high = sorted(figure.moments[:2], key=lambda moment: moment[0].pitch.semitone)
    return LabelData(strokes=(low, high))
