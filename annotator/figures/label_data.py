"""What a label says, as data: which template of its kind, and what fills its blanks. A kind's ``label`` makes it from a figure.

Conventions: there are no words here. A template is named by its key in the kind's group of ``annotator/words/*.toml``; ``annotator.words``
fills it in, in three lengths and any language.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from annotator.figures.figure import Figure
from annotator.music.names import Chord, Scale
from annotator.music.score import Note


@dataclass(frozen=True, slots=True)
class LabelData:
    """A label before it is put into words.

    ``template`` is its key among the kind's labels; a kind with one label calls it ``label``. Each field fills the blanks named behind it:
    ``scale`` {scale}; ``chord`` {chord} {name} {inversion} {symbol} {root}; ``path`` the notes where a line starts, turns and ends, {path};
    ``notes`` one by one, {notes}; ``strokes`` stroke by stroke, {strokes}; ``distance`` in steps, 0 a semitone, {distance} {near};
    ``times`` {times}; ``repeats`` {repeats}, nothing where it is 1, and ``both_hands`` {hands}; ``bars`` the printed numbers of the first
    and last of some bars, {bar} {last}; ``follows`` the hand that is followed, {hand} {h}. {double} and {interval} are the interval of
    the kind.
    """

    template: str = "label"
    scale: Scale | None = None
    chord: Chord | None = None
    path: tuple[Note, ...] = ()
    notes: tuple[Note, ...] = ()
    strokes: tuple[tuple[Note, ...], ...] = ()
    distance: int | None = None
    times: int | None = None
    repeats: int | None = None
    both_hands: bool = False
    bars: tuple[str, str] | None = None
    follows: str | None = None


def first_chord(figure: Figure) -> Chord:
    """Return the chord of a whole figure, or the one that an accompaniment begins with; ValueError where there is none."""
    chord = figure.chord or (figure.changes[0].chord if figure.changes else None)
    if chord is None:
        raise ValueError(f"a figure of kind {figure.kind} without a chord")
    return chord


def stations(figure: Figure, every: int = 1) -> tuple[Note, ...]:
    """Return the line notes where a figure starts, turns and ends; of groups of ``every`` moments the first is looked at.

    A moment of several notes is read by its line note, the top one in the right hand and the bottom one in the left. An odd note is never
    a turning note.
    """
    line = [moment[-1 if figure.hand == "right" else 0] for moment in figure.moments[::every]]
    if figure.direction != "turning":
        return (line[0], line[-1]) if len(line) > 1 else (line[0],)
    odd = {note.number for note in figure.odd}
    kept = [note for place, note in enumerate(line) if note.number not in odd or place in (0, len(line) - 1)]
    found = [kept[0]]
    heading: int = 0
    for before, note in itertools.pairwise(kept):
        move = int(note.pitch.semitone - before.pitch.semitone)
        if move * heading < 0:
            found.append(before)
        heading = move or heading
    return (*found, kept[-1])


def main_notes(figure: Figure) -> tuple[Note, ...]:
    """Return the notes that ornaments stand on: the anchors, odd notes left out."""
    odd = {note.number for note in figure.odd}
    return tuple(note for note in figure.anchors if note.number not in odd) or figure.anchors
