"""Marked notes: those of a line that are not altered as an unmarked note in their place would be, so that their accidental must be seen.

Conventions
-----------
* An unmarked note takes the accidentals in force in its bar, else the key signature (``annotator.theory.intervals.unmarked``).
* Each event of a line is looked at once, and only when a kind asks; a slice knows what was found out about its whole line.

Source: common practice (any primer of notation).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from annotator.lines import Event, Line
from annotator.score import Bar, Note

Height = tuple[int, str, int]
"""Staff, letter and octave: what an accidental counts for."""


@dataclass(slots=True)
class _Known:
    """What is known of a line: the marked notes of events by their places, and the heights that have accidentals, by bars."""

    marked: dict[int, tuple[Note, ...]] = field(default_factory=dict)
    heights: dict[int, frozenset[Height]] = field(default_factory=dict)


def marked_at(line: Line, place: int) -> tuple[Note, ...]:
    """Return the notes of one event of a line that are not altered as unmarked notes would be."""
    if line.whole is not None:
        return marked_at(line.whole, line.first + place)
    known: _Known | None = line.__dict__.get("marked notes")
    if known is None:
        known = line.__dict__["marked notes"] = _Known()
    marked = known.marked.get(place)
    if marked is None:
        marked = known.marked[place] = _marked(known, line.bars, line.events[place])
    return marked


def _marked(known: _Known, bars: Sequence[Bar], event: Event) -> tuple[Note, ...]:
    """Return the marked notes of one event."""
    marked = []
    for note in event.notes:
        pitch = note.pitch
        heights = known.heights.get(note.bar)
        if heights is None:
            heights = known.heights[note.bar] = _heights(bars[note.bar])
        if (note.staff, pitch.step, pitch.octave) in heights:
            alter = int(bars[note.bar].alter(note.staff, pitch.step, pitch.octave, note.tick, note.key))
        else:
            alter = note.key.alters[pitch.diatonic % 7]
        if pitch.alter != alter:
            marked.append(note)
    return tuple(marked)


def _heights(bar: Bar) -> frozenset[Height]:
    """Return the heights that have an accidental somewhere in a bar."""
    return frozenset([(sign.staff, sign.step, sign.octave) for sign in bar.signs])
