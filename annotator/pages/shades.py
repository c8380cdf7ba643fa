"""Notes on the page by their numbers, and what is grey: what every rule of colour works with.

Conventions: notes are known by number; staves are counted through all parts from 1. See ``greying`` for the rules.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from annotator.pages.boxes import Box, boxes_of
from annotator.pages.render_copy import PREFIX
from annotator.pages.svg import SVG, classes


@dataclass(frozen=True, slots=True)
class Head:
    """A notehead on the page: the note's number, its box, and the staff (through all parts, from 1) it stands on."""

    number: int
    box: Box
    staff: int


@dataclass(slots=True)
class Shades:
    """Which notes are grey and which are anchors, in what grey; the staff of each note; what a chord's id stands for; reasons to tell."""

    grey: frozenset[int]
    anchors: frozenset[int]
    colour: str
    fingerings: bool
    staff_of: Mapping[int, int]
    members: dict[str, list[int]] = field(default_factory=dict)
    reasons: Mapping[int, str] | None = None

    def why(self, notes: Iterable[int]) -> str | None:
        """Return why grey is what belongs to these notes: '' where no reasons are asked for, None if it is not grey."""
        notes = list(notes)
        if not notes or any(number not in self.grey for number in notes):
            return None
        return "" if self.reasons is None else ",".join(sorted({self.reasons.get(number, "") for number in notes}))


def note_number(element: Any) -> int:
    """Return the number of the note a group or a reference (``#note-12``) belongs to, 0 if none."""
    text = element if isinstance(element, str) else element.get("id", "")
    text = text.lstrip("#")
    return int(text[len(PREFIX) :]) if text.startswith(PREFIX) and text[len(PREFIX) :].isdecimal() else 0


def heads_of(group: Any, staff_of: Mapping[int, int]) -> list[Head]:
    """Return the noteheads in a group."""
    found = []
    for note in group.iter(SVG + "g"):
        number = note_number(note)
        if not number or "note" not in classes(note):
            continue
        for part in note:
            if "notehead" in classes(part):
                found += [Head(number, box, staff_of.get(number, 0)) for box in boxes_of(part)]
    return found


def add_class(element: Any, name: str) -> None:
    """Give an element one more class."""
    element.set("class", f"{element.get('class', '')} {name}".strip())


def turn_grey(element: Any, shades: Shades, why: str | None) -> None:
    """Colour an element, if there is a reason to."""
    if why is None:
        return
    element.set("fill", shades.colour)
    element.set("color", shades.colour)
    if why:
        element.set("data-grey", why)


def referred(text: str, shades: Shades) -> list[int]:
    """Return the numbers of the notes that a list of references names, chords by their notes."""
    found: list[int] = []
    for each in text.split():
        found += shades.members.get(each.lstrip("#"), [note_number(each)])
    return found
