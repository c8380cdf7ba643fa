"""The way a line takes, in note names: where it starts, turns and ends, and how many octaves that is. Octaves are counted from two up."""

from __future__ import annotations

import itertools

from annotator.music.names import name_of
from annotator.music.score import Note
from annotator.words.language import Language, Template
from annotator.words.names import named

MANY = 6  # from so many stations on, the shorter lengths name the first and the last only


def path_words(stations: tuple[Note, ...], words: Language) -> Template:
    """Return the way in three lengths: ``C→C, 2 octaves down``, ``C→C, 2 oct. down``, ``C→C``."""
    names = [named(name_of(note.pitch), words.notes) for note in stations]
    full = "→".join(names)
    brief = full if len(names) < MANY else f"{names[0]}→…→{names[-1]}"
    counted = [text and f", {text}" for text in _octaves(stations, words)]
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
