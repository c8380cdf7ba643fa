"""The words of one language: a TOML file beside this module, read once, when its language is asked for.

Conventions: every group of a file says in ``source`` where its words come from. A text is a string, a label three strings in a row (long,
medium, short), a name of a scale or an inversion two (long, shorter). ``en.toml`` is the model: the tests hold the others against it.

>>> language_of("de").notes["Bb"], language_of("fr").figures["trill"].name
('B', 'trille')
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from annotator.errors import SettingsError, UsageError
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


@dataclass(frozen=True, slots=True)
class FigureWords:
    """What one group says of a kind of figure, or of several: name, rule, what stays black, labels. Empty is what another group says."""

    name: str
    rule: str
    dark: str
    labels: Mapping[str, Template]


@dataclass(frozen=True, slots=True)
class Language:
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
    figures: Mapping[str, FigureWords]


PAIRS = ("scales", "inversions")
TEMPLATES = ("octaves", "copies")
"""The groups whose words are no single texts."""


@cache
def language_of(code: str) -> Language:
    """Return the words of a language code (``en``, ``de``, ``fr``, ``it``); UsageError for another, SettingsError for a wrong file."""
    if code not in LANGUAGES:
        raise UsageError(f"no words for the language {code!r}: choose one of {', '.join(LANGUAGES)}")
    return read_language(Path(__file__).with_name(f"{code}.toml"))


def read_language(path: Path) -> Language:
    """Return the words of a file; SettingsError, with the place, where it is no TOML, or a group or its source is missing or odd."""
    try:
        found = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise SettingsError(f"{path}: the words of a language cannot be read ({error.strerror}); install the program anew") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise SettingsError(f"{path}: this is no TOML: {error}") from error
    names = [field.name for field in fields(Language) if field.name != "code"]
    for name in [*names, *found]:
        if name not in names or not isinstance(found.get(name), dict):
            raise SettingsError(f"{path}: the group [{name}] is {'missing' if name in names else 'unknown'}: compare with en.toml")
    figures = {name: _figure(f"{path}: [figures.{name}]", table) for name, table in found.pop("figures").items()}
    groups: dict[str, Any] = {}
    for name, table in found.items():
        place = f"{path}: [{name}]"
        groups[name] = _read(place, _sourced(place, table), _row(2) if name in PAIRS else _row(3) if name in TEMPLATES else _text)
    return Language(code=path.stem, figures=figures, **groups)


def _figure(place: str, table: Any) -> FigureWords:
    """Return what a group says of a kind of figure."""
    words = _sourced(place, table)
    texts = _read(place, {key: words[key] for key in ("name", "rule", "dark") if key in words}, _text)
    labels = _read(place, {key: value for key, value in words.items() if key not in texts}, _row(3))
    return FigureWords(texts.get("name", ""), texts.get("rule", ""), texts.get("dark", ""), labels)


def _sourced(place: str, table: Any) -> dict[str, Any]:
    """Return the words of a group that says where they come from, without their source."""
    if not isinstance(table, dict):
        raise SettingsError(f"{place} is a group of words")
    if not isinstance(table.get("source"), str) or not table["source"]:
        raise SettingsError(f'{place} does not say where its words come from: write source = "unverified", or the source')
    return {key: value for key, value in table.items() if key != "source"}


def _read(place: str, words: Mapping[str, Any], read: Callable[[str, Any], T]) -> Group[T]:
    """Return words by their keys, each as ``read`` takes it."""
    return Group(place, {key: read(f"{place} {key}", value) for key, value in words.items()})


def _text(place: str, value: Any) -> str:
    if not isinstance(value, str):
        raise SettingsError(f"{place} is a text in quotes")
    return value


def _row(length: int) -> Callable[[str, Any], Any]:
    def read(place: str, value: Any) -> tuple[str, ...]:
        """Read so many texts in a row."""
        if not isinstance(value, list) or len(value) != length or not all(isinstance(each, str) for each in value):
            raise SettingsError(f"{place} is {length} texts in quotes between brackets, the longest first")
        return tuple(value)

    return read


def filled(template: str, blanks: Mapping[str, object], place: str) -> str:
    """Return a text with its blanks filled; SettingsError where it has one that is none. ``place`` names the text in a message."""
    try:
        return template.format(**blanks)
    except (KeyError, IndexError, ValueError) as error:
        known = ", ".join(f"{{{name}}}" for name in blanks) or "none"
        raise SettingsError(f"{place}: the blanks of {template!r} cannot be filled; those there are: {known}") from error
