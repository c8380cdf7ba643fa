"""Which measures belong to which part: the one place that knows partwise from timewise.

Conventions
-----------
* Note numbers count every ``<note>`` of the user's own tree in document order, from 1, rests included. In a timewise score the parts
  take turns in each measure, so each measure of a part carries the number its first note has. Only where notes stand in odd places (in
  another note, outside all measures) is each one's number looked up.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from annotator.errors import ScoreError
from annotator.reading.document import Document
from annotator.reading.limits import Limits


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure of one part: printed ``number``, whether it is ``implicit``, the element that holds its notes, and ``first_note``.

    ``notes`` is how many it holds. ``content`` is None where a timewise score leaves the part out of a measure. ``numbers`` is None but in
    a document with notes in odd places: then it gives each note's number.
    """

    number: str
    implicit: bool
    content: Any
    first_note: int
    notes: int = 0
    numbers: Mapping[Any, int] | None = None


@dataclass(frozen=True, slots=True)
class PartLayout:
    """One part: its id and its measures in order."""

    id: str
    measures: tuple[Measure, ...]


def lay_out(document: Document, limits: Limits) -> tuple[PartLayout, ...]:
    """Return the parts of a document, measure by measure, refusing a score beyond the limits."""
    root = document.tree.getroot()
    parts = _timewise(root) if document.timewise else _partwise(root)
    if not parts:
        raise ScoreError("no part: there is nothing to read")
    twice = [name for name, count in Counter(part.id for part in parts).items() if count > 1]
    if twice:
        raise ScoreError(f"two parts have the same id {twice[0]!r}, so that nobody can tell them apart: export the score again")
    if len(parts) > limits.parts:
        raise ScoreError(f"{len(parts)} parts, more than the limit of {limits.parts}")
    longest = max(len(part.measures) for part in parts)
    if longest > limits.bars:
        raise ScoreError(f"{longest} bars, more than the limit of {limits.bars}")
    notes = sum(1 for _ in root.iter("note"))
    if notes > limits.notes:
        raise ScoreError(f"{notes} notes, more than the limit of {limits.notes}")
    in_place = sum(measure.notes for part in parts for measure in part.measures)
    return parts if in_place == notes else _looked_up(parts, {note: place for place, note in enumerate(root.iter("note"), 1)})


def _looked_up(parts: tuple[PartLayout, ...], numbers: Mapping[Any, int]) -> tuple[PartLayout, ...]:
    """Return the parts with every note's number at hand."""
    return tuple(replace(part, measures=tuple(replace(measure, numbers=numbers) for measure in part.measures)) for part in parts)


def _measure(frame: Any, content: Any, index: int, first_note: int) -> Measure:
    number = frame.get("number")
    notes = 0 if content is None else len(list(content.iterchildren("note")))
    return Measure(str(index + 1) if number is None else number, frame.get("implicit") == "yes", content, first_note, notes)


def _partwise(root: Any) -> tuple[PartLayout, ...]:
    parts = []
    first_note = 1
    for part in root.iterchildren("part"):
        measures = []
        for index, element in enumerate(part.iterchildren("measure")):
            measures.append(_measure(element, element, index, first_note))
            first_note += measures[-1].notes
        parts.append(PartLayout(part.get("id", ""), tuple(measures)))
    return tuple(parts)


def _timewise(root: Any) -> tuple[PartLayout, ...]:
    frames = list(root.iterchildren("measure"))
    by_part: dict[str, dict[int, Measure]] = {}
    first_note = 1
    for index, frame in enumerate(frames):
        for part in frame.iterchildren("part"):
            measure = by_part.setdefault(part.get("id", ""), {})[index] = _measure(frame, part, index, first_note)
            first_note += measure.notes
    return tuple(
        PartLayout(name, tuple(found.get(i) or _measure(frame, None, i, 0) for i, frame in enumerate(frames)))
        for name, found in by_part.items()
    )
