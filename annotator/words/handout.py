"""The words of the handout: section titles and short lines.

>>> bars_words((("5", "7"), ("9", "9"))), bars_words((("5", "5"),), "de")
('bars 5–7, 9', 'Takt 5')
"""

from __future__ import annotations

from collections.abc import Sequence

from annotator.music.score import SIGNATURE_ORDER, Key
from annotator.words.language import language_of
from annotator.words.names import interval_name, note_name

MOST_SPANS = 12
"""How many stretches of bars are told before ``…``: more are no help before the first note."""


def title_words(key: str, language: str = "en") -> str:
    """Return a section title or a label, such as ``key`` or ``name``."""
    return language_of(language).titles[key]


def line_words(key: str, language: str = "en", **places: object) -> str:
    """Return a short line with its places filled."""
    return language_of(language).lines.fill(key, **places)


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


def interval_words(steps: int, language: str = "en") -> str:
    """Return an interval of so many steps (2 is a third) with its article."""
    return interval_name(steps, language_of(language))
