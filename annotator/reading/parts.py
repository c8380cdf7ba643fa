"""What the part list says of a part: its name, whether a keyboard plays it, which of its staves the left hand plays.

Conventions
-----------
* A keyboard part has two staves or more, or a name or an instrument that is a keyboard, or is the only part of the score.
* Of two staves the left hand plays the lower one. Of three or more, the lowest ones that begin in the bass clef (else the lowest). A
  single staff is the left hand's where its name says so, else where it begins in the bass clef.

Source: names of keyboard instruments in six languages: common practice, no source. ``keyboard.`` is the family in the standard's list of
instrument sounds (MusicXML 4.0, "Standard sounds").
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

KEYBOARD = re.compile(
    r"\b(e-?)?(pian|fortepian|pno\b|klavier|clavier|clavicembal|clavichord|clavicord|clavecin|harpsichord|cembal|keyb|kbd\b|"
    r"organ\b|organs\b|orgel|orgue|organo|[oó]rgano|harmonium|celest|spinet|virginal|tastiera|teclado|clavinet|hammerklavier)",
    re.IGNORECASE,
)
LEFT = re.compile(r"\b(left|links?|linke|gauche|sinistra|izquierda|l\.? ?h|m\.? ?s|m\.? ?g)\b", re.IGNORECASE)
RIGHT = re.compile(r"\b(right|rechts?|rechte|droite|destra|derecha|r\.? ?h|m\.? ?d)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class PartHeader:
    """A part as the part list gives it: printed name, and whether name or instrument is a keyboard's."""

    name: str
    keyboard: bool


def clean(text: str | None) -> str:
    """Return a text in one line, single blanks."""
    return " ".join((text or "").split())


def part_headers(root: Any) -> dict[str, PartHeader]:
    """Return what the part list says, by part id."""
    headers: dict[str, PartHeader] = {}
    for element in root.iterfind("part-list/score-part"):
        name = clean(element.findtext("part-name"))
        texts = [name, clean(element.findtext("part-abbreviation"))]
        texts += [clean(child.text) for child in element.iterfind("score-instrument/instrument-name")]
        sounds = [clean(child.text) for child in element.iterfind("score-instrument/instrument-sound")]
        keyboard = any(KEYBOARD.search(text) for text in texts) or any(s.startswith("keyboard.") for s in sounds)
        headers.setdefault(element.get("id", ""), PartHeader(name, keyboard))
    return headers


def left_staves(name: str, staves: int, first_clefs: Mapping[int, str]) -> frozenset[int]:
    """Return the staves that the left hand plays.

    >>> sorted(left_staves("Piano", 3, {1: "G", 2: "F", 3: "F"})), sorted(left_staves("Piano, left hand", 1, {1: "G"}))
    ([2, 3], [1])
    """
    if staves == 1:
        left = bool(LEFT.search(name)) if LEFT.search(name) or RIGHT.search(name) else first_clefs.get(1) == "F"
        return frozenset({1} if left else ())
    if staves == 2:
        return frozenset({2})
    lowest = staves
    while lowest > 2 and first_clefs.get(lowest) == "F" and first_clefs.get(lowest - 1) == "F":
        lowest -= 1
    return frozenset(range(lowest, staves + 1))
