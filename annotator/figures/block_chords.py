"""Block chord: three or more notes struck together that form a triad or a seventh chord.

Conventions
-----------
* One figure a chord; a chord of which a note is held over by a tie is not struck whole and is none.
* The notes stand in close position above the lowest; three notes of a dominant mean its sparse form (``chords.rungs``),
  and those of another seventh chord, which nothing confirms, have no name.
* Found in voice lines and, where several voices make the chord together, in the line of a hand.

Rule
----
Anchors are the lowest note and every note that name and close position do not give.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from annotator.figures.assembly import figure_of
from annotator.figures.figure import CannotSpellOut, Covered, Figure, LabelData, Spelling, first_chord
from annotator.figures.lines import Line
from annotator.music.chords import Chord, incomplete, keys_above, name_chord

KIND = "block-chord"
FEWEST = 3
"""Fewest notes of a chord."""


def detect_block_chords(line: Line) -> Iterator[Figure]:
    """Yield the block chords of a line."""
    if line.scope == "shared":
        return
    for event in line.events:
        notes = event.notes
        if len(notes) < FEWEST or not event.whole or not line.shares((event,)):
            continue
        chord = name_chord([note.pitch for note in notes])
        keys = [int(note.pitch.semitone) for note in notes]
        given = close_position(chord, keys[0], len(keys)) if chord is not None else None
        if chord is None or given is None or incomplete(chord, keys):
            continue
        odd = [note for note, key, rule in zip(notes, keys, given, strict=True) if key != rule]
        figure = figure_of(line, KIND, (event,), (notes[0], *odd), odd, bounded=True, chord=chord)
        if figure is not None:
            yield figure


def close_position(chord: Chord, bass: int, size: int) -> tuple[int, ...] | None:
    """Return ``size`` keys of a chord in close position above and with its lowest key; None where that is no tone of the chord."""
    return keys_above(chord, bass, range(size), sparse=size == FEWEST)


def spell_out_block_chord(covered: Covered) -> Spelling:
    """Rebuild a block chord from its name, its lowest note and its odd notes.

    Rule: The named chord, close above its black lowest note; the name gives the hand its shape.
    """
    known = covered.slots[0].known
    if covered.chord is None or known[0] is None:
        raise CannotSpellOut("a block chord has a name and a lowest note")
    given = close_position(covered.chord, int(known[0].semitone), len(known))
    if given is None:
        raise CannotSpellOut("the chord does not stand on the lowest note")
    return (tuple([rule if note is None else int(note.semitone) for rule, note in zip(given, known, strict=True)]),)


def label(figure: Figure) -> LabelData:
    """Name the chord with its inversion."""
    chord = first_chord(figure)
    return LabelData("inverted" if chord.inversion else "root", chord=chord)
