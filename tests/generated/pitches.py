"""Notes, scales and chords for generated cases, worked out here from semitones alone and not by the tool's own theory.

Conventions: a note is (diatonic number, alteration), middle C is (28, 0). Words are spelled as ``figures.lines_from_text`` reads them,
names as people read them. Keys are the fifteen signatures from seven flats to seven sharps.

Source: intervals of scales and chords from memory, as any primer of harmony has them.
"""

from __future__ import annotations

LETTERS = "CDEFGAB"
NATURALS = (0, 2, 4, 5, 7, 9, 11)
SIGNATURES = tuple(range(-7, 8))
ON_FIFTHS = "FCGDAEB"
MIDDLE = {"right": 28, "left": 21}
"""The octave, from C, in which the figures of a hand are planted."""

SCALES = {
    "major": (0, 2, 4, 5, 7, 9, 11),
    "natural minor": (0, 2, 3, 5, 7, 8, 10),
    "harmonic minor": (0, 2, 3, 5, 7, 8, 11),
    "melodic minor": (0, 2, 3, 5, 7, 9, 11),
}
"""Semitones above the tonic; the melodic minor as it goes up."""

CHORDS = {
    "major": (0, 4, 7),
    "minor": (0, 3, 7),
    "diminished": (0, 3, 6),
    "augmented": (0, 4, 8),
    "dominant-seventh": (0, 4, 7, 10),
    "major-seventh": (0, 4, 7, 11),
    "minor-seventh": (0, 3, 7, 10),
    "half-diminished-seventh": (0, 3, 6, 10),
    "diminished-seventh": (0, 3, 6, 9),
}
SYMBOLS = {"major": "", "minor": "m", "diminished": "°", "dominant-seventh": "7"}
INVERSIONS = ("", "1st inversion", "2nd inversion", "3rd inversion")

MAJOR_KEY = ("major", "minor", "minor", "major", "major", "minor", "diminished")
MAJOR_KEY_SEVENTHS = (
    "major-seventh",
    "minor-seventh",
    "minor-seventh",
    "major-seventh",
    "dominant-seventh",
    "minor-seventh",
    "half-diminished-seventh",
)
"""Qualities of the chords on the degrees of a major scale."""

Note = tuple[int, int]


def semitone(note: Note) -> int:
    """Return semitones above the lowest C."""
    octave, letter = divmod(note[0], 7)
    return 12 * octave + NATURALS[letter] + note[1]


def raised(note: Note, letters: int, semitones: int) -> Note:
    """Return the note so many letters and semitones above a note."""
    diatonic = note[0] + letters
    return diatonic, semitone(note) + semitones - semitone((diatonic, 0))


def tonic(fifths: int, minor: bool = False, low: int = 28) -> Note:
    """Return the tonic of a signature's major or minor key, in the octave that begins at the diatonic number ``low``."""
    place = fifths + 1 + (3 if minor else 0)
    return low + LETTERS.index(ON_FIFTHS[place % 7]), place // 7


def degree(one: Note, kind: str, steps: int) -> Note:
    """Return the note ``steps`` scale steps above a tonic."""
    octave, place = divmod(steps, 7)
    return raised(one, steps, 12 * octave + SCALES[kind][place])


def tone(root: Note, quality: str, place: int) -> Note:
    """Return a chord tone: ``place`` 0 the root, 1 the third, 2 the fifth …, going on into the next octaves."""
    semitones = CHORDS[quality]
    octave, which = divmod(place, len(semitones))
    return raised(root, 7 * octave + 2 * which, 12 * octave + semitones[which])


def data_name(note: Note) -> str:
    """Return a name as data: ``Bb``, ``F##``."""
    return LETTERS[note[0] % 7] + ("#" * note[1] if note[1] > 0 else "b" * -note[1])


def word(note: Note) -> str:
    """Return a note as a token: ``Bb4``."""
    return f"{data_name(note)}{note[0] // 7}"


def struck(*notes: Note) -> str:
    """Return a chord as a token, from low to high."""
    return "/".join(word(note) for note in sorted(notes, key=semitone))


def said(note: Note) -> str:
    """Return a name for people: ``B♭``."""
    return LETTERS[note[0] % 7] + ("♯" * note[1] if note[1] > 0 else "♭" * -note[1])
