"""The key the music is in, bar by bar: the key signature first, then what the notes of the bar and its neighbours say."""

from __future__ import annotations

from annotator.score import Part
from annotator.theory.names import Scale, spelled

FIFTHS_LETTERS = "FCGDAEB"


def signature_scale(fifths: int, minor: bool = False) -> Scale:
    """Return the scale that a key signature stands for: major, or the natural minor relative to it.

    >>> signature_scale(-1), signature_scale(3, minor=True)
    (Scale(tonic='F', type='major'), Scale(tonic='F#', type='natural minor'))
    """
    place = fifths + 1 + (3 if minor else 0)  # on the line of fifths, F = 0
    letter = "CDEFGAB".index(FIFTHS_LETTERS[place % 7])
    return Scale(spelled(letter, place // 7), "natural minor" if minor else "major")


def local_keys(part: Part) -> tuple[Scale, ...]:
    """Return the key in force in each bar, as a major or natural minor scale."""
    return tuple(signature_scale(bar.key.fifths, bar.key.mode == "minor") for bar in part.bars)
