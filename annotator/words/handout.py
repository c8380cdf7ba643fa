"""The words of the handout: section titles, short lines, and what to read in each kind of figure.

Conventions: sentences speak to the player. ``{double}`` is an interval in the plural (thirds), ``{interval}`` with its article (a third).
A language is one table; what a language says stands in ``annotator.words.handout_english`` and its sisters.

>>> bars_words((("5", "7"), ("9", "9"))), bars_words((("5", "5"),), "de"), reading_words("parallel-thirds")[:30]
('bars 5–7, 9', 'Takt 5', 'Both notes of each pair stay a')
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module

from annotator.score import SIGNATURE_ORDER, Key
from annotator.words.language import MODULES, language_of
from annotator.words.names import note_name

MOST_SPANS = 12
"""How many stretches of bars are told before ``…``: more are no help before the first note."""

OCTAVE = 7  # letters
STEPS_OF = {"thirds": 2, "fourths": 3, "fifths": 4, "sixths": 5, "sevenths": 6, "octaves": 7, "tenths": 9}


@dataclass(frozen=True)
class HandoutWords:
    """What one language says on a handout: section titles and labels, short lines with places to fill, a sentence for each kind."""

    titles: Mapping[str, str]
    lines: Mapping[str, str]
    reading: Mapping[str, str]


def handout_words(language: str) -> HandoutWords:
    """Return the table of a language; UsageError for one that is not there."""
    language_of(language)
    table: HandoutWords = import_module(f"annotator.words.handout_{MODULES[language]}").WORDS
    return table


def title_words(key: str, language: str = "en") -> str:
    """Return a section title or a label, such as ``key`` or ``name``."""
    return handout_words(language).titles[key]


def line_words(key: str, language: str = "en", **places: object) -> str:
    """Return a short line with its places filled."""
    return handout_words(language).lines[key].format(**places)


def reading_words(kind: str, language: str = "en") -> str:
    """Return the sentence that says what to read in a kind of figure."""
    table, words = handout_words(language).reading, language_of(language)
    if kind in table:
        return table[kind]
    family, _, interval = kind.replace("-in-", "-").partition("-")
    return table[family].format(double=words.doubles[interval], interval=interval_words(STEPS_OF[interval], language))


def bars_words(spans: Sequence[tuple[str, str]], language: str = "en") -> str:
    """Return stretches of bars in words: ``bars 5–7, 9``."""
    one = len(spans) == 1 and spans[0][0] == spans[0][1]
    told = [first if first == last else f"{first}–{last}" for first, last in spans[:MOST_SPANS]]
    more = " …" if len(spans) > MOST_SPANS else ""
    return line_words("bar" if one else "bars", language, bars=", ".join(told) + more)


def times_words(times: int, language: str = "en") -> str:
    """Return how many times: ``once``, ``twice``, ``5 times``."""
    return line_words({1: "once", 2: "twice"}.get(times, "times"), language, times=times)


def signature_words(key: Key, language: str = "en") -> str:
    """Return a key signature in words: ``2 sharps: F♯ C♯``."""
    count = abs(key.fifths)
    if not count:
        return line_words("no-signs", language)
    letters = SIGNATURE_ORDER[:count] if key.fifths > 0 else SIGNATURE_ORDER[::-1][:count]
    names = " ".join(note_name(letter + ("#" if key.fifths > 0 else "b"), language) for letter in letters)
    kind = ("sharp" if key.fifths > 0 else "flat") + ("s" if count > 1 else "")
    return line_words(kind, language, count=count, names=names)


def interval_words(letters: int, language: str = "en") -> str:
    """Return an interval of so many letters (2 is a third) with its article, without the preposition that labels need."""
    words = language_of(language)
    if OCTAVE < letters < 2 * OCTAVE and letters not in words.intervals:
        return line_words("octave-and", language, rest=interval_words(letters - OCTAVE, language))
    told = words.intervals.get(letters) or words.templates["steps"][0].format(n=letters)
    return next((told.removeprefix(before) for before in ("d’", "de ", "di ") if told.startswith(before)), told)
