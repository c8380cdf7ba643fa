"""The words of one language: a TOML file beside this module, read once, when its language is asked for.

Conventions: every group of a file says in ``source`` where its words come from. A text is a string, a label three strings in a row (long,
medium, short), a name of a scale or an inversion two (long, shorter). ``en.toml`` is the model: the tests hold the others against it.

>>> language_of("de").notes["Bb"], language_of("fr").figures["trill"]["name"]
('B', 'trille')
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from annotator.errors import UsageError
from annotator.options.option import text_in, toml_of
from annotator.options.settings import LANGUAGES

Pair = tuple[str, str]
Template = tuple[str, str, str]
Words = Mapping[str, str]


class Language(NamedTuple):
    """All words of one language, a field for each group of its file; what each group is for is said there."""

    notes: Words
    symbols: Words
    numbers: Words
    scales: Mapping[str, Pair]
    chords: Words
    suffixes: Words
    inversions: Mapping[str, Pair]
    intervals: Words
    distances: Words
    near: Words
    copies: Mapping[str, Template]
    doubles: Words
    octaves: Mapping[str, Template]
    headings: Words
    explaining: Words
    titles: Words
    lines: Words
    comparing: Words
    survey: Words
    columns: Words
    figures: Mapping[str, Mapping[str, Any]]


@cache
def language_of(code: str) -> Language:
    """Return the words of a language code (``en``, ``de``, ``fr``, ``it``); ``UsageError`` for another.

    That its file has every group and word, in all lengths and with the blanks it should have, the tests see to.
    """
    if code not in LANGUAGES:
        raise UsageError(f"no words for the language {code!r}: choose one of {', '.join(LANGUAGES)}")
    path = Path(__file__).with_name(f"{code}.toml")
    return Language(**toml_of(text_in(path), str(path)))
