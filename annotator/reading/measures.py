"""The time walk: where in its bar each note stands.

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

Source: MusicXML 4.0, elements ``backup``, ``forward``, ``duration``, ``chord``, ``barline``.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Any

from annotator.music.score import ClefChange, Key, Time, pitch_of
from annotator.reading.attributes import Attributes, Keys, clef_from
from annotator.reading.directions import Directions
from annotator.reading.layout import Measure
from annotator.reading.limits import Limits
from annotator.reading.notes import PRINTED, Draft, Shape, altered, decimal, gather, shaped_quarters, whole
from annotator.reading.repairs import Repairs

DOUBLE_BARS = frozenset({"light-light", "light-heavy", "heavy-light", "heavy-heavy", "heavy"})


@dataclass(slots=True)
class BarDraft:
    """A bar as walked through.

    ``content`` is the furthest point reached, in ticks, whole-bar rests apart; ``resting`` is how far those go. ``keys`` are in force at
    its start, ``changes`` come within it as (at, staff, key). ``left`` and ``right`` say whether a double bar, repeat or ending stands at
    that edge; ``broken`` that a repair was needed that leaves times within the bar in doubt, ``rounded`` that tuplets had to be evened out.
    ``repeat_before`` and ``repeat_after`` are those of a ``Bar``; ``double_left`` and ``double_right`` say at which edge a double bar line
    without a repeat sign stands; ``endings`` are the endings that begin (their text) or end (None) at its bar lines.
    """

    measure: Measure
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


class Durations(dict[str | None, int | None]):
    """The ticks of plain durations by their texts, worked out once each: whole numbers of divisions, at most ``longest`` quarters.

    None stands for every text that is no such number.
    """

    def __init__(self, divisions: int, resolution: int, longest: int) -> None:
        super().__init__()
        self.divisions = divisions
        self._resolution = resolution
        self._most = longest * resolution

    def __missing__(self, text: str | None) -> int | None:
        """Work out a text that is met for the first time."""
        found = self[text] = self._worked_out(text)
        return found

    def _worked_out(self, text: str | None) -> int | None:
        if text is None or len(text) > 7 or not text.isdecimal():
            return None
        ticks, rest = divmod(int(text) * self._resolution, self.divisions)
        return None if rest or ticks > self._most else ticks


class Walk:
    """Goes through the bars of one part in order. ``tolerance`` is by how many ticks rounded durations may miss.

    ``clefs`` and ``directions`` gather what has stood beside the notes so far.
    """

    def __init__(self, attributes: Attributes, resolution: int, limits: Limits, repairs: Repairs) -> None:
        self.attributes = attributes
        self.resolution = resolution
        self.tolerance = resolution // 48
        self.clefs: list[ClefChange] = []
        self.directions = Directions()
        self._longest = 4 * limits.whole_notes
        self._plain = Durations(attributes.divisions, resolution, self._longest)
        self._repairs = repairs
        self._cursor = self._index = self._start = 0
        self._before: Draft | None = None
        self._place = ""

    def bar(self, measure: Measure, place: str, index: int, start: int) -> BarDraft:
        """Return a bar with its notes placed in time. ``place`` is what messages call it, ``start`` the tick at which it begins."""
        attributes = self.attributes
        draft = BarDraft(measure, dict(attributes.keys), attributes.time)
        self._cursor, self._before, self._place, self._index, self._start = 0, None, place, index, start
        number, numbers = measure.first_note, measure.numbers
        for child in measure.content[:] if measure.content is not None else ():
            tag = child.tag
            if tag == "note":
                self._note(child, number if numbers is None else numbers[child], draft)
                number += 1
            elif tag == "backup":
                self._backup(child, draft)
            elif tag == "forward":
                self._cursor += self._moved(child)
                draft.content = max(draft.content, self._cursor)
            elif tag == "attributes":
                self._attributes(child, draft)
            elif tag == "barline":
                self._barline(child, draft)
            elif tag == "direction":
                stands = start + self._cursor
                self.directions.read(child, index, stands, max(start, stands + self._offset(child)))
            elif tag == "sound":
                self.directions.sound(child, index, start + self._cursor)
        return draft

    def _note(self, element: Any, number: int, bar: BarDraft) -> None:
        note, divided, shape, pitched, whole_bar = gather(element, number)
        before = self._before if note.chord else None
        if not note.staff:
            note.staff = before.staff if before else 1
        if not note.voice:
            note.voice = before.voice if before else "1"
        ticks = 0 if note.grace else self._length(note, divided, shape, bar)
        if before is None:
            at = self._cursor
            self._cursor += ticks
            self._before = note
            if note.chord:
                self._repairs.add("chord notes without a note before them, read as single notes", self._place)
        else:
            at = before.tick
            if ticks > before.ticks and not note.grace:
                ticks = before.ticks
                self._repairs.add("chord notes longer than the note they are struck with, shortened to it", self._place)
        note.tick, note.ticks = at, ticks
        if whole_bar:
            bar.resting = max(bar.resting, at + ticks)
        elif at + ticks > bar.content:
            bar.content = at + ticks
        if pitched:
            note.tablature = note.staff in self.attributes.pitchless
            if note.accidental in PRINTED:
                self._read_as_printed(note)
            bar.notes.append(note)

    def _length(self, note: Draft, divided: str | None, shape: Shape, bar: BarDraft) -> int:
        """Return the ticks of a note that is no grace note. ``divided`` is the text of its duration."""
        ticks, tuplet = self._plain[divided], note.tuplet
        if ticks is None:
            return self._repaired(note, divided, shape, bar)
        if tuplet is None or self._plain.divisions % tuplet[0] == 0:
            return ticks
        return self._evened(tuplet, shape, ticks, bar)

    def _evened(self, tuplet: tuple[int, int], shape: Shape, ticks: int, bar: BarDraft) -> int:
        """Return the exact ticks of a tuplet note whose duration its divisions can only round."""
        exact = _even_ticks(shape, tuplet, ticks, self.attributes.divisions, self.resolution)
        if exact is None:
            return ticks
        bar.rounded = True
        self._repairs.add("tuplet notes with rounded durations, evened out", self._place)
        return exact

    def _read_as_printed(self, note: Draft) -> None:
        """Give a note with a printed sharp or flat, but nothing about it in its pitch, the pitch that is printed."""
        pitch = note.pitch
        if pitch is not None and note.accidental is not None and pitch.alter == 0 and not altered(note.element):
            note.pitch = pitch_of(pitch.step, PRINTED[note.accidental], pitch.octave)
            self._repairs.add("notes whose printed accidental is not in their pitch, read as printed", self._place)

    def _ticks(self, text: str | None) -> int | None:
        """Return a duration text in whole ticks, or None if it is none or beyond the limit."""
        plain = self._plain[text]
        if plain is not None:
            return plain
        duration = decimal(text)
        if duration is None or not 0 <= duration <= self._longest * self.attributes.divisions:
            return None
        exact = duration * self.resolution / self.attributes.divisions
        if exact.denominator != 1:
            self._repairs.add("durations finer than the score's divisions, rounded", self._place)
        return round(exact)

    def _repaired(self, note: Draft, divided: str | None, shape: Shape, bar: BarDraft) -> int:
        """Return the ticks of a note whose duration is no plain whole number of divisions."""
        ticks = self._ticks(divided)
        if ticks is not None:
            return ticks
        bar.broken = True
        self._repairs.add("durations missing or impossible, taken from the note's shape", self._place)
        return round((shaped_quarters(shape, note.tuplet) or Fraction(0)) * self.resolution)

    def _moved(self, element: Any) -> int:
        """Return the ticks of a backup or forward; 0 where they make no sense."""
        ticks = self._ticks(element.findtext("duration"))
        if ticks is None:
            self._repairs.add("moves in time that make no sense, left out", self._place)
        return ticks or 0

    def _backup(self, element: Any, bar: BarDraft) -> None:
        text = element.findtext("duration")
        ticks = self._ticks(text)
        if ticks is None and (decimal(text) or 0) > 0:
            ticks = self._cursor + self.tolerance + 1  # endless: as far as it goes
        elif ticks is None:
            ticks = self._moved(element)
        self._cursor -= ticks
        if self._cursor < 0:
            if self._cursor < -self.tolerance:
                bar.broken = True
                self._repairs.add("moves back beyond the start of the bar, stopped there", self._place)
            self._cursor = 0
        elif bar.rounded:
            self._cursor = self._met(bar)

    def _met(self, bar: BarDraft) -> int:
        """Return the moment of the bar that a move in rounded durations meant: the bar's start or a note's, if one is near."""
        cursor = self._cursor
        moments = [0, *(note.tick for note in bar.notes)]
        nearest = min(moments, key=lambda at: abs(at - cursor))
        return nearest if abs(nearest - cursor) <= self.tolerance else cursor

    def _attributes(self, element: Any, bar: BarDraft) -> None:
        for staff, key in self.attributes.read(element, self._place):
            bar.changes.append((self._cursor, staff, key))
        if self.attributes.divisions != self._plain.divisions:
            self._plain = Durations(self.attributes.divisions, self.resolution, self._longest)
        if self._cursor == 0:
            bar.time = self.attributes.time
        for child in element.iterchildren("clef"):
            clef = clef_from(child)
            if clef is not None:
                self.clefs.append(ClefChange(whole(child.get("number")) or 1, self._index, self._start + self._cursor, clef))

    def _offset(self, direction: Any) -> int:
        """Return by how many ticks a direction is meant for a later time than that where it stands."""
        return round((decimal(direction.findtext("offset")) or 0) * self.resolution / self.attributes.divisions)

    def _barline(self, element: Any, bar: BarDraft) -> None:
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
            bar.repeat_after = max(2, whole(repeat.get("times")) or 0)
        if ending is not None:
            bar.endings.append((ending.get("number") or "").strip() if ending.get("type") == "start" else None)


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
