"""The words of the survey: its page, and the short headings of its table on a terminal.

>>> survey_word("to-read", "de"), survey_word("summary").format(scores="3", notes="1,204", grey="58")
('zu lesen', 'Scores: 3 · notes: 1,204 · grey: 58 %')
>>> number(1204.5, 1), number(1204.5, 1, "de"), number(12.0, 0, "fr"), key_words("A", True, "de")
('1,204.5', '1.204,5', '12', 'a-Moll')
>>> column_heading("right-compass", "de"), column_heading("to-read")
('Umfang re.', 'to read')
"""

from __future__ import annotations

from collections.abc import Iterable

from annotator.music.names import Chord
from annotator.words.language import language_of
from annotator.words.names import chord_name


def survey_word(key: str, language: str = "en") -> str:
    """Return a word or sentence of the page; some have places in braces to be filled."""
    return language_of(language).survey[key]


def column_heading(key: str, language: str = "en") -> str:
    """Return the heading of a column of the table on a terminal."""
    return language_of(language).columns[key]


def number(value: float, places: int, language: str = "en") -> str:
    """Return a number as it is written in a language, rounded to so many decimals."""
    signs = language_of(language).numbers
    return f"{value:,.{places}f}".translate(str.maketrans(",.", signs["thousands"] + signs["decimals"]))


def effort_words(weights: Iterable[tuple[str, int]], language: str = "en") -> str:
    """Return what the effort figure means, in three sentences; ``weights`` are its factors and the most points each can earn."""
    factors = ", ".join(f"{survey_word(word, language)} ({weight})" for word, weight in weights)
    return language_of(language).survey.fill("effort-notes", factors=factors)


def key_words(tonic: str, minor: bool, language: str = "en") -> str:
    """Return the name of a key: ``B♭ major``, ``a-Moll``; ``tonic`` is spelled in ASCII."""
    return chord_name(Chord(tonic, "minor" if minor else "major", 0, tonic), language, short=False)
