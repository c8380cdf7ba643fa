"""The elements of one mark: label, bracket start, bracket stop, chord name.

Conventions
-----------
* The start of the bracket is a ``<direction>`` of its own, and stands before the one with the label: programs that take only the first
  thing in a direction, or drop a line behind words, then show both. Hooks point to the staff.
* ``<voice>`` is that of the note beside it, ``<staff>`` that of the mark. The language of words is named: MusicXML's default is Italian.
* Colours are written in upper case, the only form that the schema takes; black is not written, it is what everything is.

Source: MusicXML 4.0 (W3C): order in ``direction``: types, offset, voice, staff.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from lxml import etree

from annotator.marks.marking import Mark
from annotator.music.score import Note
from annotator.musicxml.places import Places
from annotator.musicxml.record import ADDED, BLACK, instruction

_LANGUAGE = "{http://www.w3.org/XML/1998/namespace}lang"


@dataclass(frozen=True, slots=True)
class Look:
    """How the marks of one figure look: the language of its words, the colours (``#RRGGBB``) of words and bracket."""

    language: str
    words: str
    bracket: str


def figure_start(places: Places, mark: Mark, label: str, number: int | None, look: Look) -> list[Any]:
    """Return the directions before the first note: bracket, then label, without that of the two which is not given."""
    made = []
    if number is not None:
        made.append(_direction(mark))
        _bracket(made[-1], "start", mark, number, look)
    if label:
        made.append(_direction(mark))
        _words(made[-1], label, look)
    return [_finish(direction, places, mark, mark.first.number, None) for direction in made]


def figure_stop(places: Places, mark: Mark, stop: int, number: int, offset: str | None, look: Look) -> Any:
    """Return the direction behind the note with the number ``stop``."""
    direction = _direction(mark)
    _bracket(direction, "stop", mark, number, look)
    return _finish(direction, places, mark, stop, offset)


def chord_name(places: Places, mark: Mark, note: Note, text: str, look: Look) -> Any:
    """Return the direction with the chord name that stands at a later note of an accompaniment."""
    direction = _direction(mark)
    _words(direction, text, look)
    return _finish(direction, places, mark, note.number, None)


def _direction(mark: Mark) -> Any:
    """Return an empty direction of ours on the side of the mark."""
    direction = etree.Element("direction", placement=mark.side)
    direction.append(instruction(ADDED))
    return direction


def _words(direction: Any, text: str, look: Look) -> None:
    """Add words to a direction."""
    words = etree.SubElement(etree.SubElement(direction, "direction-type"), "words")
    words.text = text
    _colour(words, look.words)
    words.set(_LANGUAGE, look.language)


def _bracket(direction: Any, kind: str, mark: Mark, number: int, look: Look) -> None:
    """Add one end of a bracket to a direction."""
    bracket = etree.SubElement(etree.SubElement(direction, "direction-type"), "bracket")
    bracket.set("type", kind)
    bracket.set("number", str(number))
    bracket.set("line-end", "down" if mark.side == "above" else "up")
    bracket.set("line-type", "solid")
    _colour(bracket, look.bracket)


def _colour(element: Any, colour: str) -> None:
    """Colour an element, if it is not to be black."""
    if colour.upper() not in BLACK:
        element.set("color", colour.upper())


def _finish(direction: Any, places: Places, mark: Mark, number: int, offset: str | None) -> Any:
    """Add what says where a direction beside the note with that number belongs, and return it."""
    for tag, text in (("offset", offset), ("voice", places.voice(number)), ("staff", str(places.staff(mark)[0]))):
        if text:
            etree.SubElement(direction, tag).text = text
    return direction
