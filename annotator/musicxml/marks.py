"""Marks into the user's own tree: brackets, labels and greys as MusicXML.

Conventions
-----------
* A figure is a ``<direction>`` with the start of its bracket and one with its label right before its first note, and one with the stop
  right after its last; a chord is not torn apart (before its leading note, after its last member). Directions take no time. Bracket and
  label have one each, the bracket first: programs that take only the first thing in a direction, or drop a line behind words, show both.
* Where a figure passes to the other staff, its last note may stand *before* its first in the document, or in another part of it. Then
  the stop stands after the latest of its notes in the first one's part, with an ``<offset>`` to where the last one ends, within the bar.
* Hooks point to the staff. ``<voice>`` is that of the note beside it, ``<staff>`` that of the mark. The language of words is named:
  MusicXML's default is Italian. Colours are in upper case, the only form that the schema takes; black is not written.
* Which of its three wordings a label gets: as the style says; where it says ``fit``, the longest for which there seems to be room up to the
  next text on that side of the staff, each moment at which something is struck giving room for some characters. An estimate: common
  practice, no source.
* What is put in is recorded (``musicxml.record``), so it comes out again without a trace; writing marks takes out old ones first.

Source: MusicXML 4.0 (W3C): order in ``direction``: types, offset, voice, staff.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from lxml import etree

from annotator.marks.covering import Covering, covering, near
from annotator.marks.marking import Mark, Markings
from annotator.marks.style import Style
from annotator.music.score import Score
from annotator.musicxml.greys import write_covers, write_greys
from annotator.musicxml.places import OLD_LEVELS, Places, bracket_numbers
from annotator.musicxml.record import BLACK, added, insert_after, insert_before, raise_version, sign, take_out
from annotator.reading.document import Document

CHARACTERS_A_MOMENT = 2.5
LENGTHS = ("long", "medium", "short")

_LANGUAGE = "{http://www.w3.org/XML/1998/namespace}lang"
_Side = tuple[str, int, str]


def write_marks(document: Document, score: Score, markings: Markings, style: Style, language: str = "en") -> tuple[str, ...]:
    """Write the marks into the document's tree, in place of any marks of ours that it holds.

    ``score`` is the document as it was read (our marks change nothing in it), ``language`` that of the labels. Returns one line for
    each figure that could not be written in full (no bracket number free).
    """
    take_out(document)
    root = document.tree.getroot()
    places = Places(root.iter("note"), score.parts)
    marks = markings.marks
    numbers = bracket_numbers(root, places, marks)
    if style.greying:
        cover = covering(markings.figures, markings.grey, score, near) if style.covered else Covering()
        write_covers(places, cover.notes, cover.signs)
        write_greys(places, markings.grey, style.grey.upper())
    for mark, label, number in zip(marks, _labels(score, marks, style.labels), numbers, strict=True):
        _write_figure(places, mark, label, number, style, language)
    sign(root)
    if any(number > OLD_LEVELS for number in numbers if number is not None):
        raise_version(root)
    return tuple(_no_number(score, mark) for mark, number in zip(marks, numbers, strict=True) if number is None)


def _write_figure(places: Places, mark: Mark, label: str, number: int | None, style: Style, language: str) -> None:
    """Write the bracket, the label and, where there is a label, the chord names of one figure."""
    first = mark.first.number
    if number is not None:
        insert_before(places.lead(first), _direction(places, mark, first, _bracket("start", mark, number, style)))
    if label:
        words = [(first, label), *((note.number, text) for note, text in mark.changes if note.number != first)]
        for beside, text in words:
            insert_before(places.lead(beside), _direction(places, mark, beside, _words(text, style, language)))
    if number is not None:
        stop, offset = places.stop(mark)
        insert_after(places.final(stop), _direction(places, mark, stop, _bracket("stop", mark, number, style), offset))


def _direction(places: Places, mark: Mark, number: int, content: Any, offset: str | None = None) -> Any:
    """Return a direction of ours on the side of the mark, beside the note with that number."""
    direction = added("direction", placement=mark.side)
    etree.SubElement(direction, "direction-type").append(content)
    for tag, text in (("offset", offset), ("voice", places.element(number).findtext("voice")), ("staff", str(places.staff(mark)[0]))):
        if text:
            etree.SubElement(direction, tag).text = text
    return direction


def _words(text: str, style: Style, language: str) -> Any:
    words = _coloured(etree.Element("words"), style.label_colour)
    words.text = text
    words.set(_LANGUAGE, language)
    return words


def _bracket(kind: str, mark: Mark, number: int, style: Style) -> Any:
    """Return one end of a bracket."""
    hook = "down" if mark.side == "above" else "up"
    bracket = etree.Element("bracket", {"type": kind, "number": str(number), "line-end": hook, "line-type": "solid"})
    return _coloured(bracket, style.bracket(mark.family))


def _coloured(element: Any, colour: str) -> Any:
    """Return an element in its colour, if it is not to be black."""
    if colour.upper() not in BLACK:
        element.set("color", colour.upper())
    return element


def _labels(score: Score, marks: tuple[Mark, ...], wanted: str) -> list[str]:
    """Return the wording of each mark: that of one length, the one that fits (``fit``), or none (anything else)."""
    if wanted in LENGTHS:
        return [mark.labels[LENGTHS.index(wanted)] for mark in marks]
    if wanted != "fit":
        return [""] * len(marks)
    moments = {part.id: sorted({note.tick for note in part.notes if note.visible}) for part in score.parts}
    texts: dict[_Side, list[int]] = defaultdict(list)
    for mark in marks:
        texts[mark.part, mark.staff, mark.side] += [mark.first.tick, *(note.tick for note, _ in mark.changes)]
    for ticks in texts.values():
        ticks.sort()
    return [_fitting(mark, moments.get(mark.part, []), texts) for mark in marks]


def _fitting(mark: Mark, moments: list[int], texts: Mapping[_Side, list[int]]) -> str:
    """Return the longest wording that fits before the next text on the same side; the shortest if none does."""
    ticks = texts[mark.part, mark.staff, mark.side]
    following = bisect_left(ticks, mark.first.tick + 1)
    stop = bisect_left(moments, ticks[following]) if following < len(ticks) else len(moments)
    room = CHARACTERS_A_MOMENT * (stop - bisect_left(moments, mark.first.tick))
    return next((label for label in mark.labels if len(label) <= room), mark.labels[-1])


def _no_number(score: Score, mark: Mark) -> str:
    """Return the notice for a figure without a bracket: where, and what."""
    bar = next(part.bars[mark.first.bar].number for part in score.parts if part.id == mark.part)
    return (
        f"part {mark.part}, bar {bar}, staff {mark.staff}: too many brackets at once, "
        f"'{mark.labels[0]}' stands without one in the MusicXML"
    )
