"""The way a line takes, in note names: where it starts, turns and ends, and how many octaves that is.

Conventions: a moment of several notes is read by its line note, the top one in the right hand and the bottom one in the left. Octaves
are counted from two up; an odd note is never a turning note.
"""

from __future__ import annotations

import itertools

from annotator.figures.figure import Figure
from annotator.score import Note
from annotator.theory.names import name_of
from annotator.words.language import Language, Template
from annotator.words.names import note_name

MANY = 6  # from so many stations on, the shorter lengths name the first and the last only


def stations(figure: Figure, every: int = 1) -> tuple[Note, ...]:
    """Return the line notes where a figure starts, turns and ends; of groups of ``every`` moments the first is looked at."""
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


def path_words(figure: Figure, words: Language, every: int = 1) -> Template:
    """Return the way in three lengths: ``C→C, 2 octaves down``, ``C→C, 2 oct. down``, ``C→C``."""
    notes = stations(figure, every)
    names = [note_name(name_of(note.pitch), words.code) for note in notes]
    full = "→".join(names)
    brief = full if len(names) < MANY else f"{names[0]}→…→{names[-1]}"
    counted = [text and f", {text}" for text in _octaves(notes, words)]
    return full + counted[0], brief + counted[1], brief + counted[2]


def _octaves(notes: tuple[Note, ...], words: Language) -> Template:
    """Return the count of octaves in three lengths, empty below two octaves."""
    legs = [int(b.pitch.semitone - a.pitch.semitone) for a, b in itertools.pairwise(notes)]
    if not legs or min(abs(leg) for leg in legs) < 24:
        return "", "", ""
    count, rest = divmod(abs(legs[0]), 12)
    if len(legs) > 1:
        if any(abs(leg) != 12 * count for leg in legs):
            return "", "", ""
        key = "turning"
    else:
        key = ("over-" if rest else "") + ("up" if legs[0] > 0 else "down")
    long, medium, short = words.octaves[key]
    return long.format(n=count), medium.format(n=count), short.format(n=count)
