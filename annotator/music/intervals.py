"""Generic intervals, and how a line moves: how many letters apart two notes are, what the note on another letter is, what a step is.

Conventions
-----------
* A generic interval is counted in letters (third = 2, octave = 7), whatever its size in semitones.
* An unmarked note takes the accidentals in force in its bar, else the key signature (``unmarked``); a note of a named scale takes the
  scale's alteration on the way up or down.
* The moves of a line are read as a text (``steps_of``): ``UP`` and ``DOWN`` for a step, ``OTHER`` for any other way from a single note to
  a single note joined to it, ``BREAK`` where there is none. What a step is depends on who asks: ``BY_LETTER`` is a neighbouring letter,
  whatever the keys; ``CONJUNCT`` that and one to three semitones; ``SMALL`` one to three semitones, to the same letter, the next or the
  one after; ``BY_SEMITONE`` one semitone, however spelled.

Source: the names of intervals are common practice (any primer of harmony).

>>> [CONJUNCT.get(move, OTHER) for move in ((1, 2), (-1, -1), (0, 1), (2, 3), (4, 7), None)]
['u', 'd', '.', '.', '.', '-']
>>> interval_name(2), interval_name(-7), interval_name(12), LETTERS["tenth"]
('third', 'octave', None, 9)
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

from annotator.music.names import Scale
from annotator.music.scales import alter_in
from annotator.music.score import STEPS, Bar, Key, Note, Pitch, pitch_at

Move = tuple[int, int]
"""The way from one note to another, in letters and in semitones, up positive."""

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


def is_given(note: Note, scale: Scale | None, ascending: bool, bars: Sequence[Bar]) -> bool:
    """Return whether a note is altered as a scale has it on its letter; without a scale, as an unmarked note."""
    return not marked(note, bars) if scale is None else note.pitch.alter == alter_in(scale, note.pitch.diatonic % 7, ascending)


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


BREAK, UP, DOWN, OTHER = "-", "u", "d", "."

Steps = dict[Move | None, str]
"""The moves that are steps, and ``BREAK`` where there is no move; all others are ``OTHER``."""


def _steps(upward: Callable[[int, int], bool]) -> Steps:
    """Return as steps the moves that, in letters and semitones, are upward, and the same moves downward."""
    up = [(letters, semitones) for letters in range(-2, 3) for semitones in range(-8, 12) if upward(letters, semitones)]
    return {None: BREAK} | dict.fromkeys(up, UP) | {(-letters, -semitones): DOWN for letters, semitones in up}


BY_LETTER = _steps(lambda letters, semitones: letters == 1)
CONJUNCT = _steps(lambda letters, semitones: letters == 1 and semitones in (1, 2, 3))
SMALL = _steps(lambda letters, semitones: letters in (0, 1, 2) and semitones in (1, 2, 3))
BY_SEMITONE = _steps(lambda letters, semitones: letters in (-1, 0, 1) and semitones == 1)


def steps_of(moves: Iterable[Move | None], steps: Steps) -> str:
    """Return the moves of a line as a text in which patterns can be looked for: one sign each."""
    return "".join([steps.get(move, OTHER) for move in moves])
