"""Every word that the program puts before people, by language: each with its place in its table."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import fields
from typing import Any

from annotator.words import comparing, survey, survey_table
from annotator.words.handout import handout_words
from annotator.words.language import language_of

ROOMS = ("language", "handout", "comparing", "survey", "survey_table")
NAMES = ("code", "letters", "sharp", "flat", "notes", "symbols", "minor_lower", "suffixes")
"""What a language's table holds besides words: names of notes and signs of chords."""


def texts(language: str) -> dict[str, str]:
    """Return the texts of a language by their place."""
    words, lesson = language_of(language), handout_words(language)
    tables: dict[str, Any] = {f"language.{each.name}": getattr(words, each.name) for each in fields(words) if each.name not in NAMES}
    tables |= {f"handout.{each.name}": getattr(lesson, each.name) for each in fields(lesson)}
    tables |= {"comparing": comparing.TABLES[language], "survey": survey.TABLES[language]}
    tables["survey_table"] = {key: survey_table.column_heading(key, language) for key in survey_table._KEYS}
    return dict(_flat("", tables))


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
