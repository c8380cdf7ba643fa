"""Accidentals in force: the signs a bar holds, worked out from the pitches.

Conventions
-----------
* A sign holds on its staff, for its letter in its octave, from just after its moment to the end of the bar *(practice)*.
* Worked out over all voices in time order, at one moment grace notes first. A hidden note prints no sign. A tied-on note needs none, so it
  sets none, unless one is printed on it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Iterable, Iterator
from dataclasses import replace
from fractions import Fraction

from annotator.music.score import Bar, Note, Part, Sign


def bar_signs(notes: Iterable[Note]) -> tuple[Sign, ...]:
    """Return the signs that take effect in a bar, sorted by tick, from its notes."""
    return tuple(
        [Sign(note.tick, note.staff, note.pitch.step, note.pitch.octave, note.pitch.alter) for note in notes_with_signs(notes)]
    )


def notes_with_signs(notes: Iterable[Note]) -> Iterator[Note]:
    """Yield those of a bar's notes that need a sign, sorted by tick: the key and the signs before them say otherwise."""
    force: dict[tuple[int, int], int | Fraction] = {}
    for note in sorted(notes, key=lambda note: (note.tick, not note.grace, note.number)):
        if note.hidden or note.tablature or (note.continues is not None and note.accidental is None):
            continue
        pitch = note.pitch
        place = note.staff, pitch.diatonic
        if pitch.alter != force.get(place, note.key.alters[pitch.diatonic % 7]):
            force[place] = pitch.alter
            yield note


def bars_without(part: Part, hidden: Container[int]) -> tuple[Bar, ...]:
    """Return the bars of a part with those signs alone that stand on other notes than the hidden ones, told by their numbers."""
    seen: dict[int, list[Note]] = defaultdict(list)
    for note in part.notes:
        if note.number not in hidden:
            seen[note.bar].append(note)
    return tuple([replace(bar, signs=bar_signs(seen[bar.index])) if bar.signs else bar for bar in part.bars])
