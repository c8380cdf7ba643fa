"""The time walk: where in its bar each note stands, in one part or in the two parts of one piano.

Conventions
-----------
* Times are whole ticks of the score's one resolution. ``at`` counts from the bar's start.
* ``<note>`` and ``<forward>`` move on, ``<backup>`` moves back, a chord member shares the onset of the note before it, a grace note takes
  no time. A whole-bar rest never makes a bar longer than its time signature.
* A backup beyond the bar's start stops there. A duration that is missing, negative or endless is taken from the note's written shape. A
  chord member longer than the note it is struck with is as long as that. These are repairs and are named.
* A tuplet note that no whole number of divisions can express (a third of 256) gets the exact length its shape says, so that both
  hands stay together; its file had to round. Named too.
* A chord member without a voice or staff has those of the note before it.
* Two parts that are one piano: the upper part is staff 1, the lower staff 2. Both go through time on their own, with divisions of their
  own; a bar is as long as the longer of the two. The voices of the lower part get other names, so that none seems to pass from hand to
  hand: numbers go on behind 4, as is the custom of programs that write a piano as one part.

Source: MusicXML 4.0, elements ``backup``, ``forward``, ``duration``, ``chord``, ``barline``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Any

from annotator.formats import VOICES_A_STAFF
from annotator.music.score import Key, Time
from annotator.reading.beside import Attributes, Directions, Keys, sane_divisions
from annotator.reading.document import LIMITS, Repairs
from annotator.reading.notes import Draft, Shape, decimal, draft_of, shaped_quarters, whole
from annotator.reading.parts import Measure

DOUBLE_BARS = frozenset({"light-light", "light-heavy", "heavy-light", "heavy-heavy", "heavy"})
LONGEST = 4 * LIMITS.whole_notes  # quarter notes


@dataclass(slots=True)
class BarDraft:
    """A bar as walked through, and later as measured.

    ``place`` is what messages call it, ``start`` the tick at which it begins. ``content`` is the furthest point reached, in ticks,
    whole-bar rests apart; ``resting`` is how far those go. ``keys`` are in force at its start, ``changes`` come within it as (at, staff,
    key). ``left`` and ``right`` say whether a double bar, repeat or ending stands at that edge; ``broken`` that a repair was needed that
    leaves times within the bar in doubt, ``rounded`` that tuplets had to be evened out. ``repeat_before`` and ``repeat_after`` are those
    of a ``Bar``; ``double_left`` and ``double_right`` say at which edge a double bar line without a repeat sign stands; ``endings`` are
    the endings that begin (their text) or end (None) at its bar lines.

    Filled in later: ``first_note``, how many notes of the part stand before it; how many ``ticks`` it takes; its ``offset``, that of a
    ``Bar``; ``faulty``, whether it fails its time signature without reason.
    """

    measure: Measure
    place: str
    index: int
    start: int
    keys: Keys
    time: Time | None
    notes: list[Draft] = field(default_factory=list)
    changes: list[tuple[int, int | None, Key]] = field(default_factory=list)
    content: int = 0
    resting: int = 0
    left: bool = False
    right: bool = False
    broken: bool = False
    rounded: bool = False
    double_left: bool = False
    double_right: bool = False
    repeat_before: bool = False
    repeat_after: int = 0
    endings: list[str | None] = field(default_factory=list)
    first_note: int = 0
    ticks: int = 0
    offset: int = 0
    faulty: bool = False


@dataclass(slots=True)
class Walk:
    """Goes through the bars of one part in order.

    ``divisions`` are those in force; ``half`` is the staff of the part, if it is one of the two of a piano. ``attributes`` and
    ``directions`` gather what has stood beside the notes so far; ``numbers`` are those of all notes of the document.
    """

    divisions: int
    half: int | None
    attributes: Attributes
    directions: Directions
    numbers: Mapping[Any, int]
    resolution: int
    repairs: Repairs
    _cursor: int = 0
    _before: Draft | None = None
    _place: str = ""

    @property
    def tolerance(self) -> int:
        """By how many ticks rounded durations may miss."""
        return self.resolution // 48

    def bar(self, measure: Measure, bar: BarDraft) -> None:
        """Fill in a bar with the notes of a measure, placed in time."""
        self._cursor, self._before, self._place = 0, None, bar.place
        for child in measure.content[:]:
            tag = child.tag
            if tag == "note":
                self._note(draft_of(child, self.numbers[child]), bar)
            elif tag == "backup":
                self._backup(child, bar)
            elif tag == "forward":
                self._cursor += self._moved(child.findtext("duration"))
                bar.content = max(bar.content, self._cursor)
            elif tag == "attributes":
                self._attributes(child, bar)
            elif tag == "barline":
                _barline(child, bar)
            elif tag == "direction":
                stands = bar.start + self._cursor
                self.directions.read(child, bar.index, stands, max(bar.start, stands + self._offset(child)), self.half)
            elif tag == "sound":
                self.directions.sound(child, bar.index, bar.start + self._cursor, self.half)

    def _note(self, note: Draft, bar: BarDraft) -> None:
        before = self._before if note.chord else None
        note.staff = self.half or note.staff or (before.staff if before else 1)
        if note.voice or before is None:
            note.voice = _voice(note.voice or "1", self.half)
        else:
            note.voice = before.voice
        ticks = 0 if note.grace else self._length(note, bar)
        if before is None:
            at = self._cursor
            self._cursor += ticks
            self._before = note
            if note.chord:
                self.repairs.add("chord notes without a note before them, read as single notes", self._place)
        else:
            at = before.tick
            if ticks > before.ticks and not note.grace:
                ticks = before.ticks
                self.repairs.add("chord notes longer than the note they are struck with, shortened to it", self._place)
        note.tick, note.ticks = at, ticks
        if note.whole_bar:
            bar.resting = max(bar.resting, at + ticks)
        elif at + ticks > bar.content:
            bar.content = at + ticks
        if note.pitched:
            note.tablature = note.staff in self.attributes.pitchless
            if note.as_printed:
                self.repairs.add("notes whose printed accidental is not in their pitch, read as printed", self._place)
            bar.notes.append(note)

    def _length(self, note: Draft, bar: BarDraft) -> int:
        """Return the ticks of a note that is no grace note."""
        ticks, tuplet = self._ticks(note.divided), note.tuplet
        if ticks is None:
            bar.broken = True
            self.repairs.add("durations missing or impossible, taken from the note's shape", self._place)
            return round((shaped_quarters(note.shape, tuplet) or Fraction(0)) * self.resolution)
        if tuplet is None or self.divisions % tuplet[0] == 0:
            return ticks
        exact = _even_ticks(note.shape, tuplet, ticks, self.divisions, self.resolution)
        if exact is None:
            return ticks
        bar.rounded = True
        self.repairs.add("tuplet notes with rounded durations, evened out", self._place)
        return exact

    def _ticks(self, text: str | None) -> int | None:
        """Return a duration text in whole ticks, or None if it is none or beyond the limit."""
        ticks, exact = _ticks(text, self.divisions, self.resolution)
        if not exact:
            self.repairs.add("durations finer than the score's divisions, rounded", self._place)
        return ticks

    def _moved(self, text: str | None) -> int:
        """Return the ticks of a backup or forward; 0 where they make no sense."""
        ticks = self._ticks(text)
        if ticks is None:
            self.repairs.add("moves in time that make no sense, left out", self._place)
        return ticks or 0

    def _backup(self, element: Any, bar: BarDraft) -> None:
        text = element.findtext("duration")
        endless = (decimal(text) or 0) > LONGEST * self.divisions  # as far as it goes
        self._cursor -= self._cursor + self.tolerance + 1 if endless else self._moved(text)
        if self._cursor < 0:
            if self._cursor < -self.tolerance:
                bar.broken = True
                self.repairs.add("moves back beyond the start of the bar, stopped there", self._place)
            self._cursor = 0
        elif bar.rounded:  # it meant the bar's start or a note's, if one is near
            nearest = min([0, *(note.tick for note in bar.notes)], key=lambda at: abs(at - self._cursor))
            self._cursor = nearest if abs(nearest - self._cursor) <= self.tolerance else self._cursor

    def _attributes(self, element: Any, bar: BarDraft) -> None:
        for child in element.iterchildren("divisions"):
            divisions = sane_divisions(child.text)
            if divisions is None:
                self.repairs.add("divisions that make no sense, kept as before", bar.place)
            self.divisions = divisions or self.divisions
        for staff, key in self.attributes.read(element, bar.index, bar.start + self._cursor, bar.place, self.half):
            bar.changes.append((self._cursor, staff, key))
        if self._cursor == 0:
            bar.time = self.attributes.time

    def _offset(self, direction: Any) -> int:
        """Return by how many ticks a direction is meant for a later time than that where it stands."""
        return round((decimal(direction.findtext("offset")) or 0) * self.resolution / self.divisions)


def _voice(text: str, staff: int | None) -> str:
    """Return what a voice is called, on one of the two staves of a piano or on any (None)."""
    number = int(text) if staff and text.isdecimal() else 0
    if staff == 2:
        return str(number + VOICES_A_STAFF) if text.isdecimal() else f"{text} (2)"
    return f"{text} (1)" if number > VOICES_A_STAFF else text


def _barline(element: Any, bar: BarDraft) -> None:
    """Take in a bar line."""
    left = element.get("location", "right") == "left"
    repeat, ending = element.find("repeat"), element.find("ending")
    double = (element.findtext("bar-style") or "").strip() in DOUBLE_BARS
    if repeat is None and ending is None and not double:
        return
    bar.left, bar.right = bar.left or left, bar.right or not left
    if repeat is None and double:
        bar.double_left, bar.double_right = bar.double_left or left, bar.double_right or not left
    elif repeat is not None and repeat.get("direction") == "forward":
        bar.repeat_before = True
    elif repeat is not None:
        bar.repeat_after = max(bar.repeat_after, 2, whole(repeat.get("times")) or 0)
    if ending is not None:
        bar.endings.append((ending.get("number") or "").strip() if ending.get("type") == "start" else None)


@lru_cache(maxsize=4096)
def _ticks(text: str | None, divisions: int, resolution: int) -> tuple[int | None, bool]:
    """Return a duration text in whole ticks (None: it is none, or beyond the limit), and whether that is exact.

    >>> _ticks("3", 2, 8), _ticks("0.3", 2, 8), _ticks("x", 2, 8)
    ((12, True), (1, False), (None, True))
    """
    duration = decimal(text)
    if duration is None or not 0 <= duration <= LONGEST * divisions:
        return None, True
    exact = duration * resolution / divisions
    return round(exact), exact.denominator == 1


@lru_cache(maxsize=4096)
def _even_ticks(shape: Shape, tuplet: tuple[int, int], ticks: int, divisions: int, resolution: int) -> int | None:
    """Return the ticks that a written shape lasts where ``divisions`` could only round them to ``ticks``; None where nothing is to do."""
    quarters = shaped_quarters(shape, tuplet)
    if quarters is None or (quarters * divisions).denominator == 1:
        return None
    exact = quarters * resolution
    if exact.denominator != 1 or exact == ticks or abs(exact - ticks) * divisions > resolution:
        return None
    return int(exact)
