"""Melodic motion: how each event of a line is reached from the one before, as a text in which patterns can be looked for.

Conventions
-----------
* One sign for each event but the first: ``UP`` and ``DOWN`` for a step, ``OTHER`` for any other way from a single note to a single note
  joined to it, ``BREAK`` where there is none (``Line.moves``).
* What a step is depends on who asks: ``BY_LETTER`` is a neighbouring letter, whatever the keys; ``CONJUNCT`` that and one to three
  semitones; ``SMALL`` one to three semitones, to the same letter, the next or the one after; ``BY_SEMITONE`` one semitone, however spelled.

Source: common practice, no source.

>>> [CONJUNCT.get(move, OTHER) for move in ((1, 2), (-1, -1), (0, 1), (2, 3), (4, 7), None)]
['u', 'd', '.', '.', '.', '-']
"""

from __future__ import annotations

from collections.abc import Callable

from annotator.figures.lines import Line, Move

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


def steps_of(line: Line, steps: Steps) -> str:
    """Return how each event of a line but the first is reached: one sign each."""
    return "".join([steps.get(move, OTHER) for move in line.moves])
