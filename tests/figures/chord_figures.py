"""How the tests of chord figures write down what they found, and how they ask whether it follows from the page."""

from collections.abc import Callable, Iterable

from figures.lines_from_text import name

from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.law import cover_up, written
from annotator.figures.lines import Line
from annotator.music.chords import QUALITIES, Chord
from annotator.music.score import Note, Pitch

Detect = Callable[[Line], Iterable[Figure]]
SpellOut = Callable[[Covered], Spelling]

OF_THREE_TONES = [quality for quality, tones in QUALITIES.items() if len(tones) > 2]
"""All qualities but the open fifth, which is an Alberti bass at most."""


def shown(figure: Figure) -> str:
    """Return the figure's notes: a dark note in capitals (``C4``), a grey one small (``c4``), an odd one with ``!``."""
    dark = {note.number for note in figure.anchors}
    odd = {note.number for note in figure.odd}

    def seen(note: Note) -> str:
        return (name(note) if note.number in dark else name(note).lower()) + "!" * (note.number in odd)

    return " ".join("/".join(seen(note) for note in moment) for moment in figure.moments)


def word(at: Pitch) -> str:
    """Return a pitch as a test line spells it."""
    return at.step + ("#" * int(at.alter) if at.alter > 0 else "b" * -int(at.alter)) + str(at.octave)


def brief(chord: Chord) -> str:
    """Return a chord as ``G dominant-seventh/B``."""
    return f"{chord.root} {chord.quality}/{chord.bass}"


def harmonies(figure: Figure) -> list[str]:
    """Return the figure's changes, each as moment and chord."""
    return [f"{change.moment}: {brief(change.chord)}" for change in figure.changes]


def follows(figure: Figure, line: Line, spell_out: SpellOut) -> bool:
    """Return whether every grey note follows from the covered page."""
    return spell_out(cover_up(figure, line.bars)) == written(figure)


def found(detect: Detect, line: Line) -> list[str]:
    """Return what a kind finds in a line, as ``shown`` writes it."""
    return [shown(figure) for figure in detect(line)]
