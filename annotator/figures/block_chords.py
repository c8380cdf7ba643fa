"""Block chord: three or more notes struck together that form a triad or a seventh chord.

Conventions
-----------
* One figure a chord; a chord of which a note is held over by a tie is not struck whole and is none.
* The notes stand in close position above the lowest; three notes of a seventh chord mean its sparse form (``chords.rungs``).
* Found in voice lines and, where several voices make the chord together, in the line of a hand.

Rule
----
Anchors are the lowest note and every note that name and close position do not give.

Source: common practice, no source.
"""

from __future__ import annotations

from annotator.figures.assembly import figure_of
from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.harmony import shared_by_voices
from annotator.figures.label_data import LabelData, first_chord
from annotator.lines import Line
from annotator.settings import Options
from annotator.theory.chords import Chord, chord_of, code_of, rungs

KIND = "block-chord"


def detect_block_chords(line: Line, options: Options) -> list[Figure]:
    """Return the block chords of a line."""
    found: list[Figure] = []
    if line.scope == "shared":
        return found
    for event in line.events:
        notes = event.notes
        if len(notes) < 3 or not event.whole:
            continue
        mask = 0
        for note in notes:
            mask |= 1 << code_of(note.pitch)
        chord = chord_of(mask, code_of(notes[0].pitch))
        if chord is None or not shared_by_voices(line, (event,)):
            continue
        keys = [int(note.pitch.semitone) for note in notes]
        odd = [note for note, key, rule in zip(notes, keys, close_position(chord, keys[0], len(keys)), strict=True) if key != rule]
        figure = figure_of(line, KIND, (event,), (notes[0], *odd), odd, bounded=True, chord=chord)
        if figure is not None:
            found.append(figure)
    return found


def close_position(chord: Chord, bass: int, size: int) -> list[int]:
    """Return ``size`` keys of a chord in close position above and with its lowest key."""
    try:
        ladder = rungs(chord, bass % 12, sparse=size == 3)
    except ValueError:  # a bass that only the whole chord has
        ladder = rungs(chord, bass % 12)
    return [bass + ladder[i % len(ladder)] + 12 * (i // len(ladder)) for i in range(size)]


def spell_out_block_chord(covered: Covered) -> Spelling:
    """Rebuild a block chord from its name, its lowest note and its odd notes."""
    known = covered.slots[0].known
    if covered.chord is None or known[0] is None:
        raise ValueError("a block chord has a name and a lowest note")
    given = close_position(covered.chord, int(known[0].semitone), len(known))
    return (tuple(rule if note is None else int(note.semitone) for rule, note in zip(given, known, strict=True)),)


def label(figure: Figure) -> LabelData:
    """Name the chord with its inversion."""
    chord = first_chord(figure)
    return LabelData("inverted" if chord.inversion else "root", chord=chord)
