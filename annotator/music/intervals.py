"""Generic intervals: how many letters apart two notes are, and what the note on another letter is.

Conventions
-----------
* A generic interval is counted in letters (third = 2, octave = 7), whatever its size in semitones.
* An unmarked note takes the accidentals in force in its bar, else the key signature (``unmarked``); a note of a named scale takes the
  scale's alteration on the way up or down (``in_scale``).

Source: the names of intervals are common practice (any primer of harmony).

>>> interval_name(2), interval_name(-7), interval_name(12), LETTERS["tenth"]
('third', 'octave', None, 9)
>>> in_scale(Scale("A", "harmonic minor"), 32, ascending=False)
Pitch(step='G', alter=1, octave=4)
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from annotator.music.names import Scale
from annotator.music.scales import alter_in
from annotator.music.score import STEPS, Bar, Key, Note, Pitch, pitch_at

LETTERS = {
    "unison": 0,
    "third": 2,
    "fourth": 3,
    "fifth": 4,
    "sixth": 5,
    "seventh": 6,
    "octave": 7,
    "tenth": 9,
}
"""The intervals that a figure can be named by, in letters."""

NAMES = {letters: name for name, letters in LETTERS.items()}


def interval_name(letters: int) -> str | None:
    """Return the name of a generic interval, up or down, or None where no figure is named by it."""
    return NAMES.get(abs(letters))


def unmarked(bar: Bar, staff: int, tick: int, key: Key, diatonic: int) -> Pitch:
    """Return the pitch of a note without an accidental on a diatonic number (C0 = 0), at a tick in a bar on a staff."""
    return pitch_at(diatonic, int(bar.alter(staff, STEPS[diatonic % 7], diatonic // 7, tick, key)))


def marked(note: Note, bars: Sequence[Bar]) -> bool:
    """Return whether a note is not altered as an unmarked note in its place would be, so that its accidental must be seen."""
    return note.pitch != unmarked(bars[note.bar], note.staff, note.tick, note.key, note.pitch.diatonic)


def in_scale(scale: Scale, diatonic: int, ascending: bool) -> Pitch:
    """Return the note of a scale on a diatonic number. Raises ``ValueError`` where the scale has not one note on that letter."""
    alter = alter_in(scale, diatonic % 7, ascending)
    if alter is None:
        raise ValueError(f"{scale.tonic} {scale.type} has not one note on {STEPS[diatonic % 7]}")
    return pitch_at(diatonic, alter)


def goes_by_step(diatonics: Sequence[int]) -> bool:
    """Return whether every note is on the next letter up or down from the one before."""
    return all(-2 < after - before < 2 and after != before for before, after in pairwise(diatonics))


def ways(diatonics: Sequence[int]) -> list[bool]:
    """Return note by note whether the line goes up from it (the last note: up to it); at rest counts as down."""
    rising = [after > before for before, after in pairwise(diatonics)]
    return [*rising, *rising[-1:]] or [False] * len(diatonics)


def direction_of(diatonics: Sequence[int]) -> str:
    """Return ``up``, ``down`` or ``turning`` for a line that moves.

    >>> direction_of([28, 29, 30]), direction_of([28, 29, 28])
    ('up', 'turning')
    """
    rising = set(ways(diatonics))
    return "turning" if len(rising) > 1 else "up" if True in rising else "down"


def shortest_leg(diatonics: Sequence[int]) -> int:
    """Return the number of notes of the shortest stretch in one direction, its turning notes counted.

    >>> shortest_leg([28, 29, 30, 31, 30, 29])
    3
    """
    rising = ways(diatonics)[:-1]
    turns = [0, *(place for place in range(1, len(rising)) if rising[place] != rising[place - 1]), len(rising)]
    return min((after - before + 1 for before, after in pairwise(turns)), default=1)
