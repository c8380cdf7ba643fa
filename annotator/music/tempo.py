"""Words over the music → the tempo that they name. Which words do is said in ``tempo.toml``, with sources.

>>> tempo_words(["Allegro con fuoco"]), tempo_words(["All.ᵒ molto"]), tempo_words([" P", "(", "resto", ")"]), tempo_words(["Con fuoco"])
('Allegro con fuoco', 'All.ᵒ molto', 'Presto', '')
>>> tempo_words(["TRIO"]), tempo_words(["Trio. Vivace."]), tempo_words(["M ä ß i g"])
('', 'Vivace.', 'Mäßig')
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import NamedTuple
from unicodedata import combining, normalize

_INSIDE = re.compile(r"(?<=\w)[(\[](\w+)[)\]]")  # P(resto): letters that an editor has added
_SPACED = re.compile(r"(?:\w )+\w")
_RAISED = re.compile(r"(?<=\w)\.(?=(?:o|to|te|no|mo)\b)")  # before the raised letters of All.o


class _Words(NamedTuple):
    """Words and phrases that name a tempo, and names of sections."""

    words: frozenset[str]
    phrases: tuple[str, ...]
    sections: frozenset[str]


@cache
def _table() -> _Words:
    with (Path(__file__).parent / "tempo.toml").open("rb") as file:
        table = tomllib.load(file)
    sections = frozenset(table.pop("sections")["words"])
    words = (word for group in table.values() for key in ("words", "unverified", "shortened") for word in group.get(key, ()))
    return _Words(frozenset(words), tuple(phrase for group in table.values() for phrase in group["phrases"]), sections)


def tempo_words(pieces: Sequence[str]) -> str:
    """Return the tempo that the words of one direction name, as printed; empty where they name none. ``pieces`` are put together."""
    for between in (" ", ""):
        text = without_section(joined(pieces, between))
        found = re.findall(r"[a-z]+", _plain(text))
        said = f" {' '.join(found)} "
        if not _table().words.isdisjoint(found) or any(f" {phrase} " in said for phrase in _table().phrases):
            return text
    return ""


def joined(pieces: Sequence[str], between: str = " ") -> str:
    """Return the pieces of one text in one line; letters set apart and letters that an editor has added are put together."""
    text = _INSIDE.sub(r"\1", " ".join(between.join(pieces).replace("|", "").split()))  # All|o: a stroke before raised letters
    return text.replace(" ", "") if _SPACED.fullmatch(text) else text


def without_section(text: str) -> str:
    """Return a text without the name of a section that it begins with: ``Trio. Vivace`` says Vivace."""
    first, _, rest = text.partition(" ")
    return rest.strip() if _plain(first).strip(".:") in _table().sections else text


def _plain(text: str) -> str:
    """Return a text in small letters without accents, raised letters with those before them."""
    decomposed = normalize("NFKD", text.replace("°", "o").replace("ß", "ss")).lower()
    return _RAISED.sub("", "".join(each for each in decomposed if not combining(each)))
