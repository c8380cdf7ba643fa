"""Note names without an octave, and the names of scales as data.

A tonic or root is spelled in ASCII: a letter and its alterations, ``"F"``, ``"Bb"``, ``"F#"``, ``"F##"``. Characters for people are
made from these in ``annotator.words`` alone.

>>> from annotator.music.score import pitch_of
>>> name_of(pitch_of("B", -1, 3)), alter_of("F##")
('Bb', 2)
"""

from __future__ import annotations

from typing import NamedTuple

from annotator.music.score import SEMITONES, STEPS, Pitch


class Scale(NamedTuple):
    """A scale: its tonic (None for a chromatic run) and its type.

    Types: ``major``, ``natural minor``, ``harmonic minor``, ``melodic minor``, ``chromatic``, ``whole-tone``, ``octatonic``,
    ``pentatonic``, or a mode's name in lower case (``dorian`` …).
    """

    tonic: str | None
    type: str


def spelled(letter: int, alter: int) -> str:
    """Return the name of a letter (0..6 for C..B, taken modulo 7) with an alteration.

    >>> spelled(6, -1), spelled(7, 2)
    ('Bb', 'C##')
    """
    return STEPS[letter % 7] + ("#" * alter if alter > 0 else "b" * -alter)


def name_of(pitch: Pitch) -> str:
    """Return the name of a pitch without its octave (semitone pitches only)."""
    return spelled(STEPS.index(pitch.step), int(pitch.alter))


def alter_of(name: str) -> int:
    """Return the alteration, in semitones, that a name spells."""
    return name.count("#") - name[1:].count("b")


def class_of(name: str) -> int:
    """Return the pitch class 0..11 of a name (C = 0).

    >>> class_of("Cb"), class_of("B#")
    (11, 0)
    """
    return (SEMITONES[STEPS.index(name[0])] + alter_of(name)) % 12
