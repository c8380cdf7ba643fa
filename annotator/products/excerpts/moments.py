"""Where in its bar each element of a part stands: the walk through bars as they stand in the document.

Conventions
-----------
* Times are quarter notes from the start of the bar. A chord member has the time of the note it is struck with, a grace note that of the
  note it leads to; a direction begins at the time it is meant for, its ``<offset>`` counted in, and "ends" where it stands.
* A backup never goes beyond the bar's start. Durations that are no numbers count as nothing.

Source: MusicXML 4.0 (W3C), elements ``backup``, ``forward``, ``duration``, ``offset``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from annotator.reading.notes import decimal

NOTHING = Fraction(0)


@dataclass(frozen=True, slots=True)
class Moment:
    """One child of a bar: the bar's index, the times it begins and ends at, its place among the bar's children, and the element."""

    bar: int
    at: Fraction
    until: Fraction
    order: int
    element: Any

    @property
    def tag(self) -> str:
        """Its name; empty for comments and instructions."""
        return self.element.tag if isinstance(self.element.tag, str) else ""


class Clock:
    """Walks through bars in order; ``divisions`` (of a quarter) are those in force."""

    def __init__(self, divisions: Fraction = Fraction(1)) -> None:
        self.divisions = divisions
        self._known: dict[tuple[str | None, Fraction], Fraction] = {}

    def bar(self, index: int, content: Iterable[Any]) -> Iterator[Moment]:
        """Yield the children of a bar in document order."""
        cursor = lead = NOTHING
        for order, child in enumerate(content):
            tag = child.tag
            if tag == "note":
                length = NOTHING if child.find("grace") is not None else self._length(child)
                if child.find("chord") is not None:
                    yield Moment(index, lead, lead + length, order, child)
                else:
                    lead, cursor = cursor, cursor + length
                    yield Moment(index, lead, cursor, order, child)
                continue
            if tag == "attributes":
                self.divisions = max(_number(child.findtext("divisions")), NOTHING) or self.divisions
            elif tag == "backup":
                cursor = max(NOTHING, cursor - self._length(child))
            elif tag == "forward":
                cursor += self._length(child)
            at = cursor
            if tag == "direction":
                at = max(NOTHING, cursor + _number(child.findtext("offset")) / self.divisions)
            yield Moment(index, at, cursor, order, child)

    def _length(self, element: Any) -> Fraction:
        key = (element.findtext("duration"), self.divisions)
        length = self._known.get(key)
        if length is None:
            length = self._known[key] = max(NOTHING, _number(key[0])) / self.divisions
        return length


def _number(text: str | None) -> Fraction:
    return Fraction(decimal(text) or 0)


def staff_of(element: Any) -> str:
    """Return the number of the staff that a note or direction names, ``1`` if none."""
    return (element.findtext("staff") or "1").strip()


def voice_of(element: Any) -> str:
    """Return the voice that a note or direction names, ``1`` if none."""
    return (element.findtext("voice") or "1").strip()
