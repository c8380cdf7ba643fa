"""Every word that the program puts before people, by language: each with its place in its file."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import annotator.words

FOLDER = Path(annotator.words.__file__).parent
SIGNS = ("notes", "symbols", "numbers", "suffixes")
"""Groups that hold no words: names of notes, signs of chords and of numbers."""


def tables(language: str) -> dict[str, Any]:
    """Return a file of words as it stands."""
    return tomllib.loads((FOLDER / f"{language}.toml").read_text(encoding="utf-8"))


def groups(language: str) -> dict[str, dict[str, Any]]:
    """Return the groups of a language by their names, each kind of figure a group of its own."""
    found = tables(language)
    return found | {f"figures.{name}": group for name, group in found.pop("figures").items()}


def texts(language: str, signs: bool = False) -> dict[str, str]:
    """Return the texts of a language by their place, ``figures.trill.label.0``; signs only where they are asked for."""
    found = {name: group for name, group in groups(language).items() if signs or name not in SIGNS}
    return {place: text for place, text in _flat("", found) if not place.endswith(".source")}


def _flat(place: str, value: Any) -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        yield place.removeprefix("."), value
        return
    items = value.items() if isinstance(value, Mapping) else enumerate(value)
    for key, inner in items:
        yield from _flat(f"{place}.{key}", inner)


def words_in(text: str) -> list[str]:
    """Return the words of a text, without its places to fill and without soft hyphens."""
    return re.findall(r"[^\W\d_]+", re.sub(r"\{\w+\}", " ", text).replace("\u00ad", ""))
