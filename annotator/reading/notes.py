"""One ``<note>`` element → what it says, not yet placed in time.

Conventions
-----------
* What is not needed is skipped. What cannot be understood leaves its field as it was; the time walk repairs and names that.
* Durations stay in divisions here. What leaves reading is the frozen ``Note`` that is made of a ``Draft`` once its bar is known.
* A tie is what ``<tie>`` says; where a note has none, what ``<tied>`` says.
* Only ``<cue>`` makes a cue note, which is not played. A note whose ``<type>`` is of cue size is printed small and played as any other.

Source: MusicXML 4.0, element ``note`` and its children, ``cue`` among them. Type values in quarter notes: its ``note-type-value``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from sys import intern
from typing import Any

from annotator.music.score import STEPS, Pitch, pitch_of

Shape = tuple[str | None, int]  # the text of the type, the number of dots

DECIMAL = re.compile(r"[+-]?(\d{1,15}(\.\d{0,9})?|\.\d{1,9})")
OCTAVES = range(0, 10)  # the standard's own range
GREATEST_ALTER = 4  # semitones; the standard sets none, double signs are 2
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
PRINTED = {"sharp": 1, "flat": -1, "double-sharp": 2, "sharp-sharp": 2, "flat-flat": -2}
RARE = frozenset({"accidental", "time-modification", "grace", "cue"})


@dataclass(slots=True)
class Draft:
    """What a ``<note>`` says, under the names that a ``Note`` has for it, and where in its bar it stands.

    ``staff`` 0 and ``voice`` empty: the element does not say. ``pitch`` None: it names none that makes sense. ``tick`` counts from the
    bar's start, ``beam`` is what the beam element says. Besides: ``divided``, the text of the duration; the written ``shape``; whether the
    element is ``pitched`` at all, whether it is a rest of the ``whole_bar``, and whether its pitch says nothing of the accidental that is
    printed, so that it was read ``as_printed``.
    """

    element: Any
    number: int
    pitch: Pitch | None = None
    tick: int = 0
    ticks: int = 0
    staff: int = 0
    voice: str = ""
    chord: bool = False
    tie_start: bool = False
    tie_stop: bool = False
    grace: bool = False
    cue: bool = False
    tablature: bool = False
    tuplet: tuple[int, int] | None = None
    beam: str = ""
    accidental: str | None = None
    rolled: bool = False
    divided: str | None = None
    shape: Shape = (None, 0)
    pitched: bool = False
    whole_bar: bool = False
    as_printed: bool = False


def draft_of(element: Any, number: int) -> Draft:
    """Return what a ``<note>`` element says. ``number`` is its place among all notes of the document, from 1."""
    draft = Draft(element, number)
    kind = None
    unaltered = False
    dots = 0
    ties: list[str | None] = []
    tied: list[str | None] = []
    for child in element[:]:
        tag = child.tag
        if tag == "pitch":
            draft.pitched, (draft.pitch, unaltered) = True, _pitch(child)
        elif tag == "duration":
            draft.divided = child.text or ""
        elif tag == "voice":
            draft.voice = intern((child.text or "").strip())
        elif tag == "type":
            kind = child.text
        elif tag == "staff":
            draft.staff = staff_from(child.text)
        elif tag == "beam":
            if child.get("number", "1") == "1":
                draft.beam = (child.text or "").strip()
        elif tag == "chord":
            draft.chord = True
        elif tag == "rest":
            draft.whole_bar = child.get("measure") == "yes"
        elif tag == "dot":
            dots += 1
        elif tag == "tie":
            ties.append(child.get("type"))
        elif tag == "notations":
            tied += [each.get("type") for each in child[:] if each.tag == "tied"]
            draft.rolled = draft.rolled or child.find("arpeggiate") is not None
        elif tag in RARE:
            _take_in_rare(draft, child)
    draft.shape = kind, dots
    if unaltered and draft.pitch is not None and draft.accidental in PRINTED:
        draft.pitch, draft.as_printed = pitch_of(draft.pitch.step, PRINTED[draft.accidental], draft.pitch.octave), True
    ends = ties or tied
    through = not ties and "continue" in tied
    draft.tie_start, draft.tie_stop = through or "start" in ends, through or "stop" in ends
    return draft


def _take_in_rare(draft: Draft, child: Any) -> None:
    if child.tag == "accidental":
        draft.accidental = (child.text or "").strip() or None
    elif child.tag == "time-modification":
        draft.tuplet = ratio_from(child.findtext("actual-notes"), child.findtext("normal-notes"))
    elif child.tag == "grace":
        draft.grace = True
    else:
        draft.cue = True


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


@lru_cache(maxsize=256)
def staff_from(text: str | None) -> int:
    """Return the staff that a text names, 0 if it names none."""
    return max(0, whole(text) or 0)


@lru_cache(maxsize=1024)
def ratio_from(actual: str | None, normal: str | None) -> tuple[int, int] | None:
    """Return the ratio of a tuplet, notes played to notes replaced, or None if the texts give none."""
    played, replaced = whole(actual), whole(normal)
    if played is None or replaced is None or not 0 < played < 1000 or not 0 < replaced < 1000:
        return None
    return played, replaced


@lru_cache(maxsize=1024)
def shaped_quarters(shape: Shape, tuplet: tuple[int, int] | None) -> Fraction | None:
    """Return the length in quarter notes of a written shape, None without a known type.

    >>> shaped_quarters(("eighth", 1), None), shaped_quarters(("eighth", 0), (3, 2))
    (Fraction(3, 4), Fraction(1, 3))
    """
    kind, dots = shape
    length = TYPES.get((kind or "").strip())
    if length is None:
        return None
    length *= 2 - Fraction(1, 2 ** min(dots, 8))
    return length * Fraction(tuplet[1], tuplet[0]) if tuplet else length


def _pitch(element: Any) -> tuple[Pitch | None, bool]:
    """Return the pitch that a ``<pitch>`` says, and whether it says nothing of an alteration."""
    step = alter = octave = None
    for child in element[:]:
        tag = child.tag
        if tag == "step":
            step = child.text
        elif tag == "octave":
            octave = child.text
        elif tag == "alter":
            alter = child.text
    return pitch_from(step, alter, octave), alter is None
