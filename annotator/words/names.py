"""Names of notes, scales, chords and intervals in each language.

Source: chord symbols and inversions as usual in the trade (common practice, no source); the order of inversions is that of the bass note.

>>> note_name("Bb"), note_name("F##"), note_name("B", "de"), note_name("F#", "fr")
('B♭', 'F♯♯', 'H', 'fa♯')
>>> chord_name(Chord("G", "dominant-seventh", 1, "B")), chord_name(Chord("C", "major", 1, "E"), short=False)
('G7/B', 'C major, 1st inversion')
"""

from __future__ import annotations

from annotator.music.names import Chord, Scale, alter_of
from annotator.words.language import Group, Language, Pair, filled, language_of

OCTAVE = 7  # steps


def note_name(name: str, language: str = "en") -> str:
    """Return a note's name for people; ``name`` is spelled in ASCII (``"Bb"``), without an octave."""
    return named(name, language_of(language).notes)


def chord_name(chord: Chord, language: str = "en", short: bool = True) -> str:
    """Return a chord's symbol with its bass (``G7/B``), or where not ``short`` its name (``G dominant seventh, 1st inversion``)."""
    words = language_of(language)
    return chord_symbol(chord, words) if short else inverted_name(chord, words)


def scale_name(scale: Scale, language: str = "en", medium: bool = False) -> str:
    """Return a scale's name, ``A harmonic minor``; ``medium`` is the middle length, ``A harm. minor``."""
    return scale_names(scale, language_of(language))[1 if medium else 0]


def scale_names(scale: Scale, words: Language) -> Pair:
    """Return a scale's name, long and shorter."""
    tonic = "" if scale.tonic is None else named(scale.tonic, words.notes)
    blanks = {"root": tonic, "small": tonic.lower()}
    long, medium = (filled(text, blanks, words.scales.place).strip() for text in words.scales[scale.type])
    return long, medium


def full_name(chord: Chord, words: Language) -> str:
    """Return root and quality in words: ``C major``, ``B half-diminished seventh``."""
    root = named(chord.root, words.notes)
    return words.chords.fill(chord.quality, root=root, small=root.lower())


def inverted_name(chord: Chord, words: Language) -> str:
    """Return root, quality and inversion in words: ``C major, 1st inversion``."""
    return full_name(chord, words) + (f", {words.inversions[str(chord.inversion)][0]}" if chord.inversion else "")


def chord_symbol(chord: Chord, words: Language, bass: bool = True) -> str:
    """Return the chord symbol, with its bass after a stroke unless that is the root."""
    symbol = named(chord.root, words.symbols) + words.suffixes[chord.quality]
    if not bass or (not chord.inversion and chord.bass == chord.root):
        return symbol
    return f"{symbol}/{named(chord.bass, words.symbols)}"


def interval_name(steps: int, words: Language) -> str:
    """Return an interval of so many steps, with its article: ``a third``, ``an octave and a sixth``, ``two octaves and a fourth``."""
    if str(steps) in words.intervals:
        return words.intervals[str(steps)]
    octaves, rest = divmod(steps, OCTAVE)
    if rest and str(OCTAVE * octaves) in words.intervals:
        return words.intervals.fill("octave-and", octaves=words.intervals[str(OCTAVE * octaves)], rest=interval_name(rest, words))
    return words.intervals.fill("steps", n=steps)


def named(name: str, table: Group[str]) -> str:
    """Return the name for people that a table, of notes or of chord symbols, gives a note spelled in ASCII."""
    if name in table:
        return table[name]
    alter = alter_of(name)
    return table[name[0]] + (table["sharp"] * alter if alter > 0 else table["flat"] * -alter)
