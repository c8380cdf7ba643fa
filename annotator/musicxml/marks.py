"""Marks into the user's own tree: brackets, labels and greys as MusicXML.

Conventions
-----------
* A figure is a ``<direction>`` with the start of its bracket and one with its label right before its first note, and one with the stop
  right after its last; a chord is not torn apart (before its leading note, after its last member). Directions take no time.
* Where a figure passes to the other staff, its last note may stand *before* its first in the document, or in another part of it. Then
  the stop stands after the latest of its notes in the first one's part, with an ``<offset>`` to where the last one ends, within the bar.
* What is put in is recorded (``writing.record``), so it comes out again without a trace; writing marks takes out old ones first.

Source: MusicXML 4.0 (W3C).
"""

from __future__ import annotations

from collections import defaultdict
from typing import Any, Protocol

from annotator.marks.covering import Covering, covering, near
from annotator.marks.marking import Mark, Markings
from annotator.music.score import Score
from annotator.musicxml.covers import write_covers
from annotator.musicxml.directions import Look, chord_name, figure_start, figure_stop
from annotator.musicxml.greys import write_greys
from annotator.musicxml.labels import choose_labels
from annotator.musicxml.layout import insert_after, insert_before
from annotator.musicxml.levels import OLD_LEVELS, Span, levels_of, number_brackets, source_brackets
from annotator.musicxml.places import Places
from annotator.musicxml.record import is_marked, take_out
from annotator.musicxml.signature import raise_version, sign
from annotator.reading.document import Document

__all__ = ["MarkStyle", "is_marked", "take_out", "write_marks"]


class MarkStyle(Protocol):
    """What the writer needs of a style; colours are ``#RRGGBB``."""

    @property
    def grey(self) -> str:
        """Colour of grey notes."""

    @property
    def greying(self) -> bool:
        """Whether notes are greyed at all."""

    @property
    def covered(self) -> bool:
        """Whether grey notes lose their heads."""

    @property
    def label_colour(self) -> str:
        """Colour of labels."""

    @property
    def labels(self) -> str:
        """How much a label says: ``fit``, ``long``, ``medium``, ``short``; anything else: there is none."""

    def bracket(self, family: str) -> str:
        """Return the colour of the brackets of a family of kinds."""


def write_marks(
    document: Document, score: Score, markings: Markings, style: MarkStyle, language: str = "en"
) -> tuple[str, ...]:
    """Write the marks into the document's tree, in place of any marks of ours that it holds.

    ``score`` is the document as it was read (our marks change nothing in it), ``language`` that of the labels. Returns one line for
    each figure that could not be written in full (no bracket level free).
    """
    take_out(document)
    root = document.tree.getroot()
    places = Places(root.iter("note"), score.parts)
    marks = markings.marks
    numbers = _numbers(root, places, marks)
    if style.greying:
        cover = covering(markings.figures, markings.grey, score, near) if style.covered else Covering()
        write_covers(places, cover.notes, cover.signs)
        write_greys(places, markings.grey, style.grey.upper())
    for mark, label, number in zip(marks, choose_labels(score, marks, style.labels), numbers, strict=True):
        _write_figure(places, mark, label, number, Look(language, style.label_colour, style.bracket(mark.family)))
    sign(root)
    if any(number > OLD_LEVELS for number in numbers if number is not None):
        raise_version(root)
    return tuple(_no_level(score, mark) for mark, number in zip(marks, numbers, strict=True) if number is None)


def _write_figure(places: Places, mark: Mark, label: str, number: int | None, look: Look) -> None:
    """Write the bracket, the label and, where there is a label, the chord names of one figure."""
    for direction in figure_start(places, mark, label, number, look):
        insert_before(places.lead(mark.first.number), direction)
    for note, text in mark.changes if label else ():
        if note.number != mark.first.number:
            insert_before(places.lead(note.number), chord_name(places, mark, note, text, look))
    if number is not None:
        stop, offset = places.stop(mark)
        insert_after(places.final(stop), figure_stop(places, mark, stop, number, offset, look))


def _numbers(root: Any, places: Places, marks: tuple[Mark, ...]) -> list[int | None]:
    """Return the bracket number of each mark, part by part of the document."""
    taken = source_brackets(root)
    members: dict[str, list[int]] = defaultdict(list)
    for index, mark in enumerate(marks):
        members[places.part(mark.first.number)].append(index)
    numbers: list[int | None] = [None] * len(marks)
    for part, indexes in members.items():
        wanted = [(_span(places, marks[i]), levels_of(*places.staff(marks[i]))) for i in indexes]
        found = number_brackets(wanted, taken.get(part, {}))
        for index, number in zip(indexes, found, strict=True):
            numbers[index] = number
    return numbers


def _span(places: Places, mark: Mark) -> Span:
    """Return where the bracket of a mark starts and stops in document order."""
    return 2 * places.leads[mark.first.number - 1], 2 * places.finals[places.stop(mark)[0] - 1] + 1


def _no_level(score: Score, mark: Mark) -> str:
    """Return the notice for a figure without a bracket: where, and what."""
    part = next((part for part in score.parts if part.id == mark.part), None)
    bar = part.bars[mark.first.bar].number if part and mark.first.bar < len(part.bars) else "?"
    return (
        f"part {mark.part}, bar {bar}, staff {mark.staff}: too many brackets at once, "
        f"'{mark.labels[0]}' stands without one in the MusicXML"
    )
