"""One ``<note>`` element → what it says, not yet placed in time.

Conventions
-----------
* What is not needed is skipped. What cannot be understood leaves its field as it was; the time walk repairs and names that.
* Durations stay in divisions here. ``Draft`` is the one mutable helper; it never leaves reading.
* A tie is what ``<tie>`` says; where a note has none, what ``<tied>`` says.

Source: MusicXML 4.0, element ``note`` and its children. Type values in quarter notes: the standard's ``note-type-value``.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from typing import Any

from annotator.score import STEPS, Pitch, pitch_of

DECIMAL = re.compile(r"[+-]?(\d{1,15}(\.\d{0,9})?|\.\d{1,9})")
OCTAVES = range(0, 10)  # the standard's own range
GREATEST_ALTER = 4  # semitones; the standard sets none, double signs are 2
PRINTED = {"sharp": 1, "flat": -1, "double-sharp": 2, "sharp-sharp": 2, "flat-flat": -2}
TYPES = {
    "maxima": Fraction(32),
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    **{name: Fraction(1, 2**power) for power, name in enumerate(("16th", "32nd", "64th", "128th", "256th", "512th", "1024th"), 2)},
}


class Draft:
    """A note as its element says it: texts, flags, and after the time walk its ``at`` (ticks from the bar's start) and ``ticks``.

    ``staff`` 0 and ``voice`` empty: the element does not say. ``altered``: an ``<alter>`` stands in the pitch.
    """

    __slots__ = (
        "accidental",
        "altered",
        "at",
        "beam",
        "chord",
        "cue",
        "divided",
        "dots",
        "element",
        "grace",
        "number",
        "pitch",
        "pitched",
        "staff",
        "tablature",
        "ticks",
        "tie_start",
        "tie_stop",
        "tied_start",
        "tied_stop",
        "ties",
        "tuplet",
        "type",
        "voice",
        "whole_bar",
    )

    element: Any
    pitch: Pitch | None
    divided: str | None
    type: str | None
    beam: Any
    accidental: str | None
    tuplet: tuple[int, int] | None

    def __init__(self, element: Any, number: int) -> None:
        self.element = element
        self.number = number
        self.pitch = self.divided = self.type = self.beam = self.accidental = self.tuplet = None
        self.altered = self.chord = self.cue = self.grace = self.pitched = self.tablature = self.whole_bar = self.ties = False
        self.tie_start = self.tie_stop = self.tied_start = self.tied_stop = False
        self.at = self.ticks = self.dots = 0
        self.staff = 0
        self.voice = ""


def gather(element: Any, number: int) -> Draft:
    """Return what a ``<note>`` element says. ``number`` is its place among all notes of the document, from 1."""
    draft = Draft(element, number)
    handler_of = HANDLERS.get
    for child in element:
        handler = handler_of(child.tag)
        if handler is not None:
            handler(draft, child)
    if not draft.ties:
        draft.tie_start, draft.tie_stop = draft.tied_start, draft.tied_stop
    return draft


@lru_cache(maxsize=4096)
def decimal(text: str | None) -> Fraction | None:
    """Return a plain decimal number, or None for anything else (exponents, words, endless digits).

    >>> decimal(" 0.5 "), decimal("1e99"), decimal(None)
    (Fraction(1, 2), None, None)
    """
    text = (text or "").strip()
    return Fraction(text) if DECIMAL.fullmatch(text) else None


@lru_cache(maxsize=4096)
def whole(text: str | None) -> int | None:
    """Return a plain whole number, or None for anything else."""
    number = decimal(text)
    return int(number) if number is not None and number.denominator == 1 else None


@lru_cache(maxsize=4096)
def pitch_from(step: str | None, alter: str | None, octave: str | None) -> Pitch | None:
    """Return the pitch that the three texts name, or None if they name none.

    >>> pitch_from("F", "1", "4"), pitch_from("H", None, "4"), pitch_from("E", "-0.5", "4").alter
    (Pitch(step='F', alter=1, octave=4), None, Fraction(-1, 2))
    """
    letter = (step or "").strip()
    height = whole(octave)
    change = Fraction(0) if alter is None or not alter.strip() else decimal(alter)
    if len(letter) != 1 or letter not in STEPS or height not in OCTAVES or change is None or abs(change) > GREATEST_ALTER:
        return None
    return pitch_of(letter, int(change) if change.denominator == 1 else change, int(height or 0))


def typed_quarters(draft: Draft) -> Fraction | None:
    """Return the length in quarter notes that the note's written shape says: type, dots, tuplet. None without a known type."""
    return shaped_quarters(draft.type, draft.dots, draft.tuplet)


@lru_cache(maxsize=1024)
def shaped_quarters(kind: str | None, dots: int, tuplet: tuple[int, int] | None) -> Fraction | None:
    """Return the length in quarter notes of a written shape, None without a known type.

    >>> shaped_quarters("eighth", 1, None), shaped_quarters("eighth", 0, (3, 2))
    (Fraction(3, 4), Fraction(1, 3))
    """
    length = TYPES.get(kind or "")
    if length is None:
        return None
    length *= 2 - Fraction(1, 2 ** min(dots, 8))
    return length * Fraction(tuplet[1], tuplet[0]) if tuplet else length


def _pitch(draft: Draft, element: Any) -> None:
    step = alter = octave = None
    for child in element:
        tag = child.tag
        if tag == "step":
            step = child.text
        elif tag == "octave":
            octave = child.text
        elif tag == "alter":
            alter = child.text
    draft.pitched = True
    draft.altered = alter is not None
    draft.pitch = pitch_from(step, alter, octave)


def _duration(draft: Draft, element: Any) -> None:
    draft.divided = element.text or ""


def _voice(draft: Draft, element: Any) -> None:
    draft.voice = (element.text or "").strip()


def _staff(draft: Draft, element: Any) -> None:
    text = element.text
    draft.staff = 1 if text == "1" else 2 if text == "2" else max(0, whole(text) or 0)


def _type(draft: Draft, element: Any) -> None:
    draft.type = (element.text or "").strip()
    if element.get("size") == "cue":
        draft.cue = True


def _chord(draft: Draft, _: Any) -> None:
    draft.chord = True


def _grace(draft: Draft, _: Any) -> None:
    draft.grace = True


def _cue(draft: Draft, _: Any) -> None:
    draft.cue = True


def _rest(draft: Draft, element: Any) -> None:
    draft.whole_bar = element.get("measure") == "yes"


def _dot(draft: Draft, _: Any) -> None:
    draft.dots += 1


def _beam(draft: Draft, element: Any) -> None:
    if element.get("number", "1") == "1":
        draft.beam = (element.text or "").strip()


def _tie(draft: Draft, element: Any) -> None:
    draft.ties = True
    kind = element.get("type")
    if kind == "start":
        draft.tie_start = True
    elif kind == "stop":
        draft.tie_stop = True


def _notations(draft: Draft, element: Any) -> None:
    for child in element:
        if child.tag == "tied":
            kind = child.get("type")
            if kind == "start" or kind == "continue":
                draft.tied_start = True
            if kind == "stop" or kind == "continue":
                draft.tied_stop = True


def _accidental(draft: Draft, element: Any) -> None:
    draft.accidental = (element.text or "").strip() or None


def _tuplet(draft: Draft, element: Any) -> None:
    actual = normal = None
    for child in element:
        tag = child.tag
        if tag == "actual-notes":
            actual = child.text
        elif tag == "normal-notes":
            normal = child.text
    draft.tuplet = ratio_from(actual, normal)


@lru_cache(maxsize=1024)
def ratio_from(actual: str | None, normal: str | None) -> tuple[int, int] | None:
    """Return the ratio of a tuplet, notes played to notes replaced, or None if the texts give none."""
    played, replaced = whole(actual), whole(normal)
    if played is None or replaced is None or not 0 < played < 1000 or not 0 < replaced < 1000:
        return None
    return played, replaced


HANDLERS: dict[str, Callable[[Draft, Any], None]] = {
    "pitch": _pitch,
    "duration": _duration,
    "voice": _voice,
    "staff": _staff,
    "type": _type,
    "chord": _chord,
    "grace": _grace,
    "cue": _cue,
    "rest": _rest,
    "dot": _dot,
    "beam": _beam,
    "tie": _tie,
    "notations": _notations,
    "accidental": _accidental,
    "time-modification": _tuplet,
}
