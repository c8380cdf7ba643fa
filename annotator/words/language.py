"""What one language must say: the shape of its table, and the choice of a table.

Conventions: a template is three strings, long, medium and short, filled by name. The places a template may use are told in
``annotator.words.labels``. Where a word was written from memory and not taken from a source, the table says so at its top.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib import import_module
from types import ModuleType

from annotator.errors import UsageError
from annotator.settings import LANGUAGES

Template = tuple[str, str, str]

MODULES = {"en": "english", "de": "german", "fr": "french", "it": "italian"}


@dataclass(frozen=True)
class Language:
    """The table of one language.

    ``notes`` maps ASCII names (``Bb``) that are irregular to words; ``letters`` are C..B; ``sharp`` and ``flat`` are put after a letter.
    ``symbols`` are the letters as chord symbols. ``minor_lower`` writes a minor tonic small. ``scales`` and ``chords`` name types and
    qualities, long and medium (``{root}`` in both); ``suffixes`` are the ends of chord symbols. ``inversions``: long, medium.
    ``intervals`` name a distance with its article (``a third``), ``doubles`` in the plural (``thirds``). ``templates`` are the labels,
    ``octaves`` the counts of octaves, ``kinds`` the names of the vocabulary, ``headings`` the words of tables and the summary.
    """

    code: str
    letters: tuple[str, ...]
    sharp: str
    flat: str
    notes: Mapping[str, str]
    symbols: tuple[str, ...]
    minor_lower: bool
    scales: Mapping[str, tuple[str, str]]
    chords: Mapping[str, str]
    suffixes: Mapping[str, str]
    inversions: tuple[tuple[str, str], ...]
    intervals: Mapping[int, str]
    doubles: Mapping[str, str]
    octaves: Mapping[str, Template]
    templates: Mapping[str, Template]
    kinds: Mapping[str, str]
    headings: Mapping[str, str]


_loaded: dict[str, Language] = {}


def language_of(code: str) -> Language:
    """Return the table of a language code (``en``, ``de``, ``fr``, ``it``); UsageError for another."""
    if code not in _loaded:
        if code not in MODULES:
            raise UsageError(f"no words for the language {code!r}: choose one of {', '.join(LANGUAGES)}")
        module: ModuleType = import_module(f"annotator.words.{MODULES[code]}")
        _loaded[code] = module.LANGUAGE
    return _loaded[code]
