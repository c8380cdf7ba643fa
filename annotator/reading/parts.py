"""What the part list says of a part: its name, whether a keyboard plays it, which of its staves the left hand plays.

Conventions
-----------
* A keyboard part has two staves or more, or a name or an instrument that is a keyboard, or is the only part of the score.
* Of two staves the left hand plays the lower one. Of three or more, the lowest ones that begin in the bass clef (else the lowest). A
  single staff is the left hand's where its name says so, else where it begins in the bass clef.
* Some programs write the two staves of a piano as two parts: a brace around exactly two parts, or two neighbours of one keyboard name.
  Each is read as a keyboard part of its own, the upper for the right hand, the lower for the left.

Source: names of keyboard instruments in six languages: common practice, no source. ``keyboard.`` is the family in the standard's list of
instrument sounds (MusicXML 4.0, "Standard sounds").
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
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
    """A part as the part list gives it: printed name, and whether name or instrument is a keyboard's.

    ``hand`` is ``right`` or ``left`` where the name says so or the part is one half of a pair, else empty; it counts for one staff only.
    """

    name: str
    keyboard: bool
    hand: str = ""


def clean(text: str | None) -> str:
    """Return a text in one line, single blanks."""
    return " ".join((text or "").split())


def part_headers(root: Any) -> dict[str, PartHeader]:
    """Return what the part list says, by part id."""
    headers: dict[str, PartHeader] = {}
    groups: dict[str, tuple[Any, list[str]]] = {}
    closed: list[tuple[Any, list[str]]] = []
    for element in root.iterfind("part-list/*"):
        if element.tag == "score-part":
            name = element.get("id", "")
            headers.setdefault(name, _header(element))
            for _, members in groups.values():
                members.append(name)
        elif element.tag == "part-group" and element.get("type") == "start":
            groups[element.get("number", "1")] = (element, [])
        elif element.tag == "part-group" and element.get("number", "1") in groups:
            closed.append(groups.pop(element.get("number", "1")))
    for group, members in closed:
        _join_group(headers, group, members)
    _pair_neighbours(headers)
    return headers


def _header(element: Any) -> PartHeader:
    name = clean(element.findtext("part-name"))
    texts = [name, clean(element.findtext("part-abbreviation"))]
    texts += [clean(child.text) for child in element.iterfind("score-instrument/instrument-name")]
    sounds = [clean(child.text) for child in element.iterfind("score-instrument/instrument-sound")]
    keyboard = any(KEYBOARD.search(text) for text in texts) or any(sound.startswith("keyboard.") for sound in sounds)
    return PartHeader(name, keyboard, "left" if LEFT.search(name) else "right" if RIGHT.search(name) else "")


def _join_group(headers: dict[str, PartHeader], group: Any, members: list[str]) -> None:
    """Let a group that a keyboard's name stands beside make its parts keyboard parts, and a brace around two the two hands."""
    named = bool(KEYBOARD.search(clean(group.findtext("group-name"))))
    braced = clean(group.findtext("group-symbol")) == "brace" and len(set(members)) == 2
    for name, hand in zip(members, ("right", "left") if braced else ("",) * len(members), strict=False):
        header = headers[name]
        keyboard = header.keyboard or named
        headers[name] = PartHeader(header.name, keyboard, header.hand or (hand if keyboard else ""))


def _pair_neighbours(headers: dict[str, PartHeader]) -> None:
    """Take exactly two neighbours of one keyboard name for the two hands."""
    names = list(headers)
    for upper, lower in pairwise(names):
        above, below = headers[upper], headers[lower]
        alike = [name for name in names if headers[name].name == above.name]
        if above.keyboard and above.name and above.name == below.name and len(alike) == 2 and not (above.hand or below.hand):
            headers[upper] = PartHeader(above.name, True, "right")
            headers[lower] = PartHeader(below.name, below.keyboard, "left")


def left_staves(hand: str, staves: int, first_clefs: Mapping[int, str]) -> frozenset[int]:
    """Return the staves that the left hand plays. ``hand`` is that of a header.

    >>> sorted(left_staves("", 3, {1: "G", 2: "F", 3: "F"})), sorted(left_staves("left", 1, {1: "G"}))
    ([2, 3], [1])
    """
    if staves == 1:
        left = hand == "left" if hand else first_clefs.get(1) == "F"
        return frozenset({1} if left else ())
    if staves == 2:
        return frozenset({2})
    lowest = staves
    while lowest > 2 and first_clefs.get(lowest) == "F" and first_clefs.get(lowest - 1) == "F":
        lowest -= 1
    return frozenset(range(lowest, staves + 1))
