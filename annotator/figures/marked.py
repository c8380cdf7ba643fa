"""Marked notes: those of a line that are not altered as an unmarked note in their place would be, so that their accidental must be seen.

Conventions
-----------
* An unmarked note takes the accidentals in force in its bar, else the key signature (``annotator.theory.intervals.unmarked``).
* Each event of a line is looked at once, and only when a kind asks; a slice knows what was found out about its whole line.

Source: common practice (any primer of notation).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from annotator.lines import Event, Line
from annotator.score import Bar, Note, Sign

Height = tuple[int, str, int]
"""Staff, letter and octave: what an accidental counts for."""


@dataclass(slots=True)
class _Known:
    """What is known of a line: the marked notes of events by their places, and the accidentals of bars by what they count for."""

    marked: dict[int, tuple[Note, ...]] = field(default_factory=dict)
    signs: dict[int, dict[Height, list[Sign]]] = field(default_factory=dict)


def marked_in(line: Line, places: Iterable[int]) -> list[Note]:
    """Return the notes of the events at these places that are not altered as unmarked notes would be."""
    if line.whole is not None:
        return marked_in(line.whole, [line.first + place for place in places])
    known: _Known | None = line.__dict__.get("marked notes")
    if known is None:
        known = line.__dict__["marked notes"] = _Known()
    found: list[Note] = []
    for place in places:
        marked = known.marked.get(place)
        if marked is None:
            marked = known.marked[place] = _marked(known, line.bars, line.events[place])
        if marked:
            found += marked
    return found


def _marked(known: _Known, bars: Sequence[Bar], event: Event) -> tuple[Note, ...]:
    """Return the marked notes of one event."""
    marked = []
    for note in event.notes:
        pitch = note.pitch
        signs = known.signs.get(note.bar)
        if signs is None:
            signs = known.signs[note.bar] = _by_height(bars[note.bar])
        alter = note.key.alters[pitch.diatonic % 7]
        for sign in signs.get((note.staff, pitch.step, pitch.octave), ()):
            if sign.tick >= note.tick:
                break
            alter = int(sign.alter)
        if pitch.alter != alter:
            marked.append(note)
    return tuple(marked)


def _by_height(bar: Bar) -> dict[Height, list[Sign]]:
    """Return the accidentals of a bar, in order, by what they count for."""
    found: dict[Height, list[Sign]] = {}
    for sign in bar.signs:
        found.setdefault((sign.staff, sign.step, sign.octave), []).append(sign)
    return found
