"""Names of notes, keys, scales, chords and intervals in each language. Names of notes are spelled in ASCII in data (``"Bb"``).

Source: chord symbols and inversions as usual in the trade (common practice, no source); the order of inversions is that of the bass note.

>>> note_name("Bb"), note_name("F##"), note_name("B", "de"), note_name("F#", "fr")
('B♭', 'F♯♯', 'H', 'fa♯')
>>> chord_symbol(Chord("G", "dominant-seventh", 1, "B")), chord_name(Chord("C", "major", 1, "E")), key_words("A", True, "de")
('G7/B', 'C major, 1st inversion', 'a-Moll')
"""

from __future__ import annotations

from annotator.music.names import Chord, Scale, alter_of
from annotator.words.language import Group, Pair, filled, language_of

OCTAVE = 7  # steps


def note_name(name: str, language: str = "en") -> str:
    """Return a note's name for people, without an octave."""
    return _named(name, language_of(language).notes)


def key_words(tonic: str, minor: bool, language: str = "en") -> str:
    """Return the name of a key: ``B♭ major``, ``a-Moll``."""
    return chord_name(Chord(tonic, "minor" if minor else "major", 0, tonic), language)


def scale_names(scale: Scale, language: str = "en") -> Pair:
    """Return a scale's name, long and shorter: ``A harmonic minor``, ``A harm. minor``."""
    tonic, scales = "" if scale.tonic is None else note_name(scale.tonic, language), language_of(language).scales
    blanks = {"root": tonic, "small": tonic.lower()}
    long, medium = (filled(text, blanks, scales.place).strip() for text in scales[scale.type])
    return long, medium


def chord_name(chord: Chord, language: str = "en", inverted: bool = True) -> str:
    """Return root, quality and inversion in words: ``C major, 1st inversion``, ``B half-diminished seventh``."""
    words, root = language_of(language), note_name(chord.root, language)
    name = words.chords.fill(chord.quality, root=root, small=root.lower())
    return f"{name}, {words.inversions[str(chord.inversion)][0]}" if inverted and chord.inversion else name


def chord_symbol(chord: Chord, language: str = "en", bass: bool = True) -> str:
    """Return the chord symbol, with its bass after a stroke unless that is the root: ``G7/B``."""
    words = language_of(language)
    symbol = _named(chord.root, words.symbols) + words.suffixes[chord.quality]
    if not bass or (not chord.inversion and chord.bass == chord.root):
        return symbol
    return f"{symbol}/{_named(chord.bass, words.symbols)}"


def interval_name(steps: int, language: str = "en") -> str:
    """Return an interval of so many steps, with its article: ``a third``, ``an octave and a sixth``, ``two octaves and a fourth``."""
    names = language_of(language).intervals
    if str(steps) in names:
        return names[str(steps)]
    octaves, rest = divmod(steps, OCTAVE)
    if rest and str(OCTAVE * octaves) in names:
        return names.fill("octave-and", octaves=names[str(OCTAVE * octaves)], rest=interval_name(rest, language))
    return names.fill("steps", n=steps)


def _named(name: str, table: Group[str]) -> str:
    """Return the name that a table, of notes or of chord symbols, gives a note."""
    if name in table:
        return table[name]
    alter = alter_of(name)
    return table[name[0]] + (table["sharp"] * alter if alter > 0 else table["flat"] * -alter)
