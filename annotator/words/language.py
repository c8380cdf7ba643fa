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
from typing import Any, NamedTuple, TypeVar

from annotator.errors import SettingsError, UsageError
from annotator.options.option import text_in, toml_of
from annotator.options.settings import LANGUAGES

Pair = tuple[str, str]
Template = tuple[str, str, str]
T = TypeVar("T")


class Group(dict[str, T]):
    """The words of one group of a file, by their keys; asking for one that is not there is an error that says where to write it."""

    def __init__(self, place: str, words: Mapping[str, T]) -> None:
        super().__init__(words)
        self.place = place

    def __missing__(self, key: str) -> T:
        """Raise a ``SettingsError`` that names the file, the group and the key."""
        raise SettingsError(f"{self.place} has no {key!r}: write it as in en.toml")

    def fill(self: Group[str], key: str, **blanks: object) -> str:
        """Return a text with its blanks filled."""
        return filled(self[key], blanks, self.place)


class Language(NamedTuple):
    """All words of one language, a field for each group of its file; what each group is for is said there."""

    code: str
    notes: Group[str]
    symbols: Group[str]
    numbers: Group[str]
    scales: Group[Pair]
    chords: Group[str]
    suffixes: Group[str]
    inversions: Group[Pair]
    intervals: Group[str]
    distances: Group[str]
    near: Group[str]
    copies: Group[Template]
    doubles: Group[str]
    octaves: Group[Template]
    headings: Group[str]
    explaining: Group[str]
    titles: Group[str]
    lines: Group[str]
    comparing: Group[str]
    survey: Group[str]
    columns: Group[str]
    figures: Mapping[str, Group[Any]]


@cache
def language_of(code: str) -> Language:
    """Return the words of a language code (``en``, ``de``, ``fr``, ``it``); UsageError for another, SettingsError for a wrong file."""
    if code not in LANGUAGES:
        raise UsageError(f"no words for the language {code!r}: choose one of {', '.join(LANGUAGES)}")
    return read_language(Path(__file__).with_name(f"{code}.toml"))


def read_language(path: Path) -> Language:
    """Return the words of a file. That it has all groups, each word in all its lengths and every source, the tests see to."""
    found = toml_of(text_in(path), str(path))
    figures = {name: Group(f"{path}: [figures.{name}]", words) for name, words in found.pop("figures").items()}
    return Language(path.stem, figures=figures, **{name: Group(f"{path}: [{name}]", words) for name, words in found.items()})


def filled(template: str, blanks: Mapping[str, object], place: str) -> str:
    """Return a text with its blanks filled; SettingsError where it has one that is none. ``place`` names the text in a message."""
    try:
        return template.format(**blanks)
    except (KeyError, IndexError, ValueError) as error:
        known = ", ".join(f"{{{name}}}" for name in blanks) or "none"
        raise SettingsError(f"{place}: the blanks of {template!r} cannot be filled; those there are: {known}") from error
