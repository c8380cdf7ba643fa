"""Names of notes, scales and chords in each language.

Source: chord symbols and inversions as usual in the trade (common practice, no source); the order of inversions is that of the bass note.

>>> note_name("Bb"), note_name("F##"), note_name("B", "de"), note_name("F#", "fr")
('B♭', 'F♯♯', 'H', 'fa♯')
>>> chord_name(Chord("G", "dominant-seventh", 1, "B")), chord_name(Chord("C", "major", 1, "E"), short=False)
('G7/B', 'C major, 1st inversion')
"""

from __future__ import annotations

from annotator.score import STEPS
from annotator.theory.names import Chord, Scale, alter_of
from annotator.words.language import Language, language_of


def note_name(name: str, language: str = "en") -> str:
    """Return a note's name for people; ``name`` is spelled in ASCII (``"Bb"``), without an octave."""
    return _name(name, language_of(language))


def chord_name(chord: Chord, language: str = "en", short: bool = True) -> str:
    """Return a chord's symbol with its bass (``G7/B``), or where not ``short`` its name (``G dominant seventh, 1st inversion``)."""
    if short:
        return chord_symbol(chord, language)
    words = language_of(language)
    inversion = inversion_names(chord, language)[0]
    return full_name(chord, words) + (f", {inversion}" if inversion else "")


def scale_name(scale: Scale, language: str = "en", medium: bool = False) -> str:
    """Return a scale's name, ``A harmonic minor``; ``medium`` is the middle length, ``A harm. minor``."""
    words = language_of(language)
    template = words.scales.get(scale.type, ("{root} " + scale.type, "{root} " + scale.type))[1 if medium else 0]
    tonic = "" if scale.tonic is None else _name(scale.tonic, words)
    lower = words.minor_lower and "minor" in scale.type
    return template.format(root=tonic.lower() if lower else tonic).strip()


def full_name(chord: Chord, words: Language) -> str:
    """Return root and quality in words: ``C major``, ``B half-diminished seventh``."""
    root = _name(chord.root, words)
    lower = words.minor_lower and chord.quality in ("minor", "minor-seventh", "diminished")
    return words.chords[chord.quality].format(root=root.lower() if lower else root)


def chord_symbol(chord: Chord, language: str = "en", bass: bool = True) -> str:
    """Return the chord symbol, with its bass after a stroke unless that is the root."""
    words = language_of(language)
    symbol = _name(chord.root, words, words.symbols) + words.suffixes[chord.quality]
    if not bass or (not chord.inversion and chord.bass == chord.root):
        return symbol
    return f"{symbol}/{_name(chord.bass, words, words.symbols)}"


def inversion_names(chord: Chord, language: str = "en") -> tuple[str, str]:
    """Return the inversion in words, long and medium; empty for root position."""
    return language_of(language).inversions[chord.inversion]


def _name(name: str, words: Language, letters: tuple[str, ...] | None = None) -> str:
    """Return a note's name from a table; ``letters`` replaces the table's own."""
    if name in words.notes:
        return words.notes[name]
    alter = alter_of(name)
    sign = words.sharp * alter if alter > 0 else words.flat * -alter
    return (letters or words.letters)[STEPS.index(name[0])] + sign
