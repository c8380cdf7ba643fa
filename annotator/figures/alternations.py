"""Trill and tremolo: two notes (or two chords) in alternation, written out.

Conventions
-----------
* Six strokes at least, of equal value; the last may be longer. The two sides have equally many notes.
* A trill alternates two single notes a step apart (neighbouring letters, or a semitone on one letter); a tremolo anything wider.
* The two sides and the last stroke are the anchors; there are no odd notes. ``times`` is the number of strokes.

Rule: the strokes are the first and the second in turn. Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from annotator.figures.assembly import figure_of
from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.label_data import LabelData
from annotator.figures.lines import Event, Line

FEWEST = 6  # strokes


def detect_alternations(line: Line) -> Iterator[Figure]:
    """Yield the longest alternations in a line: trills and tremolos."""
    if line.scope == "shared":
        return
    for first, stop in _alternations(line):
        events = line.events[first:stop]
        kind = "trill" if _neighbours(events[0], events[1]) else "tremolo"
        dark = [note for event in (events[0], events[1], events[-1]) for note in event.notes]
        figure = figure_of(line, kind, events, dark, times=len(events))
        if figure:
            yield figure


def spell_out_alternation(covered: Covered) -> Spelling:
    """Return the first two strokes in turn.

    Rule:

    * ``trill``: The first two notes, which are black, in turn, as often as there are notes.
    * ``tremolo``: The first two notes or chords, which are black, in turn, as often as there are strokes.
    """
    sides = [tuple(int(pitch.semitone) for pitch in slot.known if pitch is not None) for slot in covered.slots[:2]]
    return tuple(sides[place % 2] for place in range(len(covered.slots)))


def _neighbours(one: Event, other: Event) -> bool:
    """Return whether two strokes are single notes a step apart."""
    if not (one.single and other.single):
        return False
    low, high = one.notes[0].pitch, other.notes[0].pitch
    letters, semitones = abs(low.diatonic - high.diatonic), abs(low.semitone - high.semitone)
    return letters == 1 or (letters == 0 and semitones == 1)


def _alternations(line: Line) -> Iterator[tuple[int, int]]:
    """Yield the index ranges (first, stop), long enough, in which two strokes alternate; the last of one may be the first of the next."""
    first, strokes = 0, line.strokes
    while first + FEWEST <= len(line):
        stop = _end(line, first) if strokes[first] == strokes[first + 2] else first
        if stop - first >= FEWEST:
            yield first, stop
        first = max(first + 1, stop - 1)


def _end(line: Line, first: int) -> int:
    """Return the event after the last of an alternation that begins at ``first``; ``first`` where none begins."""
    events, strokes = line.events, line.strokes
    one, other = events[first], events[first + 1]
    if not other.joined or one.ticks != other.ticks or len(one.notes) != len(other.notes) or strokes[first] == strokes[first + 1]:
        return first
    stop = first + 2
    while stop < len(events) and strokes[stop] == strokes[stop - 2] and events[stop].joined and events[stop].ticks >= one.ticks:
        stop += 1
        if events[stop - 1].ticks > one.ticks:
            break
    return stop


def trill_label(figure: Figure) -> LabelData:
    """Name the two notes in the order in which they are played."""
    return LabelData(strokes=figure.moments[:2])


def tremolo_label(figure: Figure) -> LabelData:
    """Name the two notes or chords in the order in which they are played."""
    strokes = figure.moments[:2]
    return LabelData("chords" if any(len(stroke) > 1 for stroke in strokes) else "notes", strokes=strokes)
