"""Some bars of a score as a correct little score of its own.

Conventions
-----------
* The user's document stays as it is; the excerpt is a new one, partwise, of the parts, bars and staves taken (``selection``).
* Printed bar numbers stay, an upbeat stays one. What is in force at the cut is said at its start (``in_force``). What begins before the
  cut or ends after it is closed or left out (``spans``, ``ties``, ``beams``, ``barlines``), so that nothing dangles.
* A note tied in from the bar before is struck, with its accidental printed; a note tied on beyond the last bar ends with it.
* What hangs in the source itself (a slur that never ends) hangs in the excerpt too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from lxml import etree

from annotator.music.score import Score
from annotator.musicxml.record import take_out
from annotator.products.excerpts.barlines import mend_barlines
from annotator.products.excerpts.beams import mend_beams
from annotator.products.excerpts.frame import frame
from annotator.products.excerpts.in_force import attributes_in_force, marks_in_force
from annotator.products.excerpts.measure_styles import mend_measure_styles
from annotator.products.excerpts.one_hand import keep_staves, move_to_hand, renumber_staves
from annotator.products.excerpts.opening import open_with
from annotator.products.excerpts.section import Section, section_of
from annotator.products.excerpts.selection import Taken, numbered, taken
from annotator.products.excerpts.spans import mend_spans
from annotator.products.excerpts.ties import mend_ties
from annotator.reading import Document, read_document
from annotator.reading.document import LIMITS
from annotator.reading.parts import lay_out


@dataclass(frozen=True, slots=True)
class Excerpt:
    """Some bars of a score.

    ``document`` and ``score`` are the little score. ``notes`` gives, for the ``number`` of each pitched note of the whole score that is
    in it, the ``number`` it has there. ``first`` and ``last`` are the printed numbers of its first and last bar, ``hand`` is ``right``,
    ``left`` or ``both``.
    """

    document: Document
    score: Score
    notes: Mapping[int, int]
    first: str
    last: str
    hand: str


def excerpt(
    document: Document,
    score: Score,
    first: str,
    last: str,
    hand: str = "both",
    parts: tuple[str, ...] | None = None,
    marks_again: bool = True,
) -> Excerpt:
    """Return bars ``first`` to ``last`` (printed numbers) of a document and the score read from it.

    ``hand`` keeps that hand's staves only; ``parts`` are those of ``Options`` (None: the keyboard parts). ``marks_again`` sets the tempo
    mark and the loudness in force again at the start. A ``UsageError`` says what is not there.
    """
    return excerpt_of(document, score, numbered(score, first, last, parts), hand, parts, marks_again)


def excerpt_of(
    document: Document,
    score: Score,
    bars: range,
    hand: str = "both",
    parts: tuple[str, ...] | None = None,
    marks_again: bool = True,
) -> Excerpt:
    """Return the bars with these indices, as ``excerpt`` does: for bars that the program knows, whatever their printed numbers."""
    chosen = taken(score, bars, hand, parts)
    layouts = {layout.id: layout for layout in lay_out(document, LIMITS)}
    sections = [section_of(layouts[each.part.id], each, score.resolution) for each in chosen]
    for section in sections:
        _finish(section, marks_again)
    root = frame(document.tree.getroot(), [section.part for section in sections])
    for section in sections:
        element = etree.SubElement(root, "part", {"id": section.taken.part.id})
        element.extend(section.measures)
    etree.indent(root, "  ")
    little = Document(etree.ElementTree(root), document.name)
    take_out(little)
    return Excerpt(little, _read(little, chosen), _numbers(root, sections), *_printed(chosen), hand)


def _finish(section: Section, marks_again: bool) -> None:
    """Make a cut section whole: nothing hangs, and all that is in force is said."""
    attributes = attributes_in_force(section.before, section.first)
    marks = marks_in_force(section.before, section.first) if marks_again else []
    for mark in marks:
        move_to_hand(mark, section)
    keep_staves(section)
    mend_spans(section)
    mend_ties(section)
    mend_beams(section)
    mend_barlines(section)
    mend_measure_styles(section)
    open_with(section, attributes, marks)
    renumber_staves(section)


def _printed(chosen: tuple[Taken, ...]) -> tuple[str, str]:
    """Return the printed numbers of the first and the last bar."""
    longest = max(chosen, key=lambda each: len(each.bars))
    bars = longest.part.bars
    return bars[longest.bars[0]].number, bars[longest.bars[-1]].number


def _numbers(root: Any, sections: list[Section]) -> dict[int, int]:
    """Return the number in the excerpt of each pitched note, by its number in the whole."""
    places = {note: place for place, note in enumerate(root.iter("note"), 1)}
    return {
        number: places[section.twins[note.element]]
        for section in sections
        for number, note in section.pitched.items()
        if section.twins[note.element] in places
    }


def _read(document: Document, chosen: tuple[Taken, ...]) -> Score:
    """Read the excerpt. Which staves are the left hand's, and that a keyboard plays, is known from the whole."""
    score = read_document(document)
    taken_of = {each.part.id: each for each in chosen}
    parts = []
    for part in score.parts:
        each = taken_of[part.id]
        left = frozenset(place for place, staff in enumerate(each.staves, 1) if staff in each.part.left_staves)
        parts.append(part if part.halves else replace(part, left_staves=left, keyboard=each.part.keyboard))
    return replace(score, parts=tuple(parts))
