"""What a language calls notes, keys, scales, chords and intervals, and its phrases: tables, a page's foot, the handout, the survey.

Names of notes are spelled in ASCII in data (``"Bb"``).
A phrase stands under its key in the group of its language's file; some have places in braces to be filled.

Source: chord symbols and inversions as usual in the trade (common practice, no source); the order of inversions is that of the bass note.

>>> note_name("Bb"), note_name("F##"), note_name("B", "de"), note_name("F#", "fr")
('B♭', 'F♯♯', 'H', 'fa♯')
>>> chord_symbol(Chord("G", "dominant-seventh", 1, "B")), chord_name(Chord("C", "major", 1, "E")), key_words("A", True, "de")
('G7/B', 'C major, 1st inversion', 'a-Moll')
>>> heading("count", notes=352, to_read=121), comparing("plain", "de")
('352 notes, 121 to read', 'ohne')
>>> bars_words((("5", "7"), ("9", "9"))), bars_words((("5", "5"),), "de")
('bars 5–7, 9', 'Takt 5')
>>> survey_word("to-read", "de"), survey_word("summary").format(scores="3", notes="1,204", grey="58")
('zu lesen', 'Scores: 3 · notes: 1,204 · grey: 58 %')
>>> number(1204.5, 1), number(1204.5, 1, "de"), number(12.0, 0, "fr")
('1,204.5', '1.204,5', '12')
>>> column_heading("right-compass", "de"), column_heading("to-read")
('Umfang re.', 'to read')
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial

from annotator.music.chords import Chord
from annotator.music.names import Scale, alter_of
from annotator.music.score import SIGNATURE_ORDER, Key
from annotator.words.language import Pair, Words, language_of

OCTAVE = 7  # steps
MOST_SPANS = 12
"""How many stretches of bars are told before ``…``: more are no help before the first note."""


# Names.


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
    long, medium = (text.format(**blanks).strip() for text in scales[scale.type])
    return long, medium


def chord_name(chord: Chord, language: str = "en", inverted: bool = True) -> str:
    """Return root, quality and inversion in words: ``C major, 1st inversion``, ``B half-diminished seventh``."""
    words, root = language_of(language), note_name(chord.root, language)
    name = words.chords[chord.quality].format(root=root, small=root.lower())
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
        return names["octave-and"].format(octaves=names[str(OCTAVE * octaves)], rest=interval_name(rest, language))
    return names["steps"].format(n=steps)


def _named(name: str, table: Words) -> str:
    """Return the name that a table, of notes or of chord symbols, gives a note."""
    if name in table:
        return table[name]
    alter = alter_of(name)
    return table[name[0]] + (table["sharp"] * alter if alter > 0 else table["flat"] * -alter)


# Phrases.


def phrase(group: str, key: str, language: str = "en", **blanks: object) -> str:
    """Return a word or sentence of a group of a language's file, its places in braces filled where what fills them is given."""
    words: Words = getattr(language_of(language), group)
    return words[key].format(**blanks) if blanks else words[key]


heading = partial(phrase, "headings")
"""A word of tables, or a line of a page's head or foot."""
title_words = partial(phrase, "titles")
"""A section title or a label of the handout."""
line_words = partial(phrase, "lines")
"""A short line of the handout."""
comparing = partial(phrase, "comparing")
"""A word or sentence of the comparison."""
explaining = partial(phrase, "explaining")
"""A word or sentence of what is explained on the screen."""
survey_word = partial(phrase, "survey")
"""A word or sentence of the survey's page."""
column_heading = partial(phrase, "columns")
"""The heading of a column of the survey's table on a terminal."""


def foot_words(greying: bool, blank: bool, language: str = "en", covered: bool = False, editors: bool = False) -> str:
    """Return the line at the foot of a page that says what its marks mean.

    ``blank`` brackets are to be written on; ``editors``: some grey notes are grey by an editor's word.
    """
    if greying and editors and not blank:
        return heading("foot-editor", language)
    return heading("foot-blank" if blank else "foot-covered" if covered else "foot-grey" if greying else "foot-dark", language)


def legend_words(legend: str, unnamed: bool, language: str = "en") -> str:
    """Return the line of a page's foot, with what is meant by a run that names no scale, where one stands (``unnamed``)."""
    return f"{legend} {heading('foot-unnamed', language)}" if unnamed else legend


def bars_words(spans: Sequence[tuple[str, str]], language: str = "en") -> str:
    """Return stretches of bars in words: ``bars 5–7, 9``."""
    one = len(spans) == 1 and spans[0][0] == spans[0][1]
    told = [first if first == last else f"{first}–{last}" for first, last in spans[:MOST_SPANS]]
    more = " …" if len(spans) > MOST_SPANS else ""
    return line_words("bar" if one else "bars", language, bars=", ".join(told) + more)


def times_words(times: int, language: str = "en") -> str:
    """Return how many times: ``once``, ``twice``, ``5 times``."""
    return line_words({1: "once", 2: "twice"}.get(times, "times"), language, times=times)


def ordinal_words(number: str, language: str = "en") -> str:
    """Return the number of an ending as it is said: ``1``; in French ``1re``, ``2e``; what is more than a number stays as it is."""
    number = number.strip(" .")
    if not number.isdecimal():
        return number
    return line_words("first" if number == "1" else "later", language, number=number)


def signature_words(key: Key, language: str = "en") -> str:
    """Return a key signature in words: ``2 sharps: F♯ C♯``."""
    count = abs(key.fifths)
    if not count:
        return line_words("no-signs", language)
    letters = SIGNATURE_ORDER[:count] if key.fifths > 0 else SIGNATURE_ORDER[::-1][:count]
    names = " ".join(note_name(letter + ("#" if key.fifths > 0 else "b"), language) for letter in letters)
    one, several = ("sharp", "sharps") if key.fifths > 0 else ("flat", "flats")
    return line_words(several if count > 1 else one, language, count=count, names=names)


def number(value: float, places: int, language: str = "en") -> str:
    """Return a number as it is written in a language, rounded to so many decimals."""
    signs = language_of(language).numbers
    return f"{value:,.{places}f}".translate(str.maketrans(",.", signs["thousands"] + signs["decimals"]))


def effort_words(weights: Iterable[tuple[str, int]], language: str = "en") -> str:
    """Return what the effort figure means, in three sentences; ``weights`` are its factors and the most points each can earn."""
    factors = ", ".join(f"{survey_word(word, language)} ({weight})" for word, weight in weights)
    return survey_word("effort-notes", language, factors=factors)
