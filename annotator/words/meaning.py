"""Which kinds of figures somebody means by a word: a kind's own name, a name that the tables print, a family, a pattern.

Conventions: names are compared whatever their case. A family is its name in the plural (``runs``). A family and a pattern mean the kinds
that are looked for unasked; one that is only looked for where it is asked for must be named.

>>> kinds_meant("scale-run"), kinds_meant("Run"), kinds_meant("in Terzen")
(('scale-run',), ('scale-run',), ('parallel-thirds',))
>>> kinds_meant("runs"), kinds_meant("hands-in-*s")[-1], kinds_meant("block-chord"), kinds_meant("noise")
(('scale-run', 'chromatic-run'), 'hands-in-tenths', ('block-chord',), ())
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fnmatch import fnmatchcase
from typing import TypeVar

from annotator.figures.registry import KINDS, KINDS_BY_NAME
from annotator.options.option import value_of
from annotator.options.settings import LANGUAGES, Options, row_of
from annotator.words.labels import kind_name

Some = TypeVar("Some", bound=Options)

FAMILIES = tuple(dict.fromkeys(f"{kind.family.removesuffix('s')}s" for kind in KINDS))
"""The families, by the words that are typed."""


def kinds_meant(word: str) -> tuple[str, ...]:
    """Return the kinds that a word means, in the order of the vocabulary; none: it means nothing."""
    said = word.strip().casefold()
    if said in KINDS_BY_NAME:
        return (said,)
    shown = tuple(kind.name for kind in KINDS if any(said == kind_name(kind.name, language).casefold() for language in LANGUAGES))
    usual = [kind for kind in KINDS if kind.default]
    return (
        shown
        or tuple(kind.name for kind in usual if said == f"{kind.family.removesuffix('s')}s")
        or tuple(kind.name for kind in usual if {"*", "?"} & set(said) and fnmatchcase(kind.name, said))
    )


def all_meant(words: Iterable[str]) -> tuple[str, ...]:
    """Return the kinds that several words mean, each once."""
    return tuple(dict.fromkeys(kind for word in words for kind in kinds_meant(word)))


def with_kinds(options: Some) -> Some:
    """Return options in which kinds stand under their own names. Raises a ``UsageError`` for a word that means none."""
    for name in ("kinds", "without"):
        value_of(row_of(name), getattr(options, name) or (), KINDS_BY_NAME, knows=kinds_meant)
    return replace(options, kinds=options.kinds and all_meant(options.kinds), without=all_meant(options.without))
