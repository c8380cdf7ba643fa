"""What stands beside the notes of a part: divisions, keys, times, staves, clefs; tempi, octave lines and jumps.

Conventions
-----------
* A key without a staff number holds for all staves, one with a number for that staff until the next key. A time signature is read from
  the first staff.
* A value that makes no sense (divisions 0, beat type "x") leaves in force what was there, and is named as a repair.
* A key signature of free letters (``key-step``) counts as the number of sharps or flats it comes closest to; its letters are exact.
* A direction holds from the time it is meant for: where it stands, its ``<offset>`` counted in. An octave line begins and stops where it
  stands among the notes; its ``<offset>`` only moves the sign (test suite of MusicXML, 33d). It holds on its staff until the next one or
  its stop; one that is never stopped, to the end of the part.
* A tempo is a visible metronome mark (also one set as text: ♩ = 60; ``= 60`` as it stands, where the note was lost), words that name one
  (``music.tempo``), or a sound with a tempo to play. Other words (Legato) belong to it only where they stand beside a metronome mark.
  Words that send the player elsewhere (D.C. al Fine) are a jump and no tempo.

Source: MusicXML 4.0, elements ``attributes`` (several pairs of beats and beat type add up), ``direction``, ``metronome``, ``sound``,
``segno``, ``coda``, ``octave-shift`` (type ``down``: shown lower than it sounds, that is 8va). The words of jumps: common practice, no
source. Notes in a text: SMuFL 1.4, metronome marks and individual notes.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from typing import Any

from lxml.etree import ProcessingInstruction

from annotator.music.score import STEPS, Clef, ClefChange, Jump, Key, OctaveLine, Tempo, Time, key_of
from annotator.music.tempo import joined, tempo_words, without_section
from annotator.reading.document import LIMITS, PROGRAM, Repairs
from annotator.reading.notes import TYPES, decimal, staff_from, whole

BEAT_TYPES = frozenset(2**power for power in range(8))  # 1 to 128: what an engraver can draw
GREATEST_FIFTHS = 14
Keys = dict[int | None, Key]
CLEF_HOMES = {"G": 2, "F": 4, "C": 3}  # the line of each sign where the source names none
LINES = range(1, 10)
GREATEST_SHIFT = 3  # octaves that a clef moves what is written
PITCHLESS_CLEFS = frozenset({"percussion", "TAB", "jianpu"})

_JUMP = re.compile(r"\b(d\. ?[cs]\.|dc|ds|da capo|dal segno)(?![a-z])", re.IGNORECASE)
_FINE = re.compile(r"fine\.?", re.IGNORECASE)
_TOLD = frozenset({"words", "metronome", "octave-shift", "segno", "coda"})
_NOTES = {
    note: length
    for notes, length in (
        ("\ueca2\ue1d2", Fraction(4)),
        ("\ueca3\ueca4\ue1d3\ue1d4", Fraction(2)),
        ("\ueca5\ueca6\ue1d5\ue1d6♩", Fraction(1)),
        ("\ueca7\ueca8\ue1d7\ue1d8♪", Fraction(1, 2)),
        ("\ueca9\uecaa\ue1d9\ue1da", Fraction(1, 4)),
    )
    for note in notes
}
"""Notes in a text by their length in quarters."""
_SET_AS_TEXT = re.compile(rf"([{''.join(_NOTES)}])\s*([\uecb7\ue1e7.])?\s*=\s*(\d+)\.?")
_WITHOUT_NOTE = re.compile(r"= \d+\.?")
_OCTAVES = {15: 2, 22: 3}  # by the size of an octave line; any other is one octave


class Attributes:
    """The attributes in force at one point of a part, or of the two parts of a piano, which have them in common.

    ``keys`` maps a staff to its own key; None stands for all others.
    """

    def __init__(self, staves: int, repairs: Repairs) -> None:
        self.keys: Keys = {None: key_of(0), **{staff: key_of(0) for staff in range(2, staves + 1)}}
        self.time: Time | None = None
        self.staves = 1
        self.clefs: list[ClefChange] = []
        self.first_clefs: dict[int, str] = {}
        self.pitchless: set[int] = set()
        self._repairs = repairs

    def read(self, element: Any, bar: int, tick: int, place: str, half: int | None) -> list[tuple[int | None, Key]]:
        """Take in an ``<attributes>`` element of a bar, at a tick; return the keys it sets, each with its staff (None: all).

        ``half`` is the staff that all of it stands on, if its part is one of the two of a piano.
        """
        keys: list[tuple[int | None, Key]] = []
        for child in element:
            tag = child.tag
            if tag == "key":
                keys.extend(self._key(child, place, half))
            elif tag == "time" and (half != 2 or self.time is None):
                self._time(child, place)
            elif tag == "staves":
                staves = whole(child.text) or 0
                if 1 <= staves <= LIMITS.staves:
                    self.staves = max(self.staves, staves)
                else:
                    self._repairs.add("impossible number of staves, not taken over", place)
            elif tag == "clef":
                self._clef(child, bar, tick, half)
        for staff, key in keys:
            set_key(self.keys, staff, key)
        return keys

    def _key(self, element: Any, place: str, half: int | None) -> list[tuple[int | None, Key]]:
        staff = half or whole(element.get("number"))
        if element.find("key-step") is not None:
            steps = tuple((child.text or "").strip() for child in element.iterchildren("key-step"))
            changes = tuple((child.text or "").strip() for child in element.iterchildren("key-alter"))
            return [(staff, free_key(steps, changes))]
        fifths = whole(element.findtext("fifths"))
        if fifths is None or abs(fifths) > GREATEST_FIFTHS:
            self._repairs.add("key signatures that make no sense, not taken over", place)
            return []
        return [(staff, key_of(fifths, (element.findtext("mode") or "").strip() or None))]

    def _time(self, element: Any, place: str) -> None:
        if element.get("number", "1") != "1":
            return
        if element.find("senza-misura") is not None:
            self.time = None
            return
        uppers = tuple((child.text or "").strip() for child in element.iterchildren("beats"))
        lowers = tuple((child.text or "").strip() for child in element.iterchildren("beat-type"))
        time = time_from(uppers, lowers)
        if time is None or time.quarters > 4 * LIMITS.whole_notes:
            self._repairs.add("time signatures that make no sense, kept as before", place)
        else:
            self.time = time

    def _clef(self, element: Any, bar: int, tick: int, half: int | None) -> None:
        """Take in a clef; a line that makes no sense counts as not given."""
        staff = half or whole(element.get("number")) or 1
        sign = (element.findtext("sign") or "").strip()
        self.first_clefs.setdefault(staff, sign)
        (self.pitchless.add if sign in PITCHLESS_CLEFS else self.pitchless.discard)(staff)
        if sign in CLEF_HOMES:
            line, octaves = whole(element.findtext("line")) or 0, whole(element.findtext("clef-octave-change")) or 0
            line, octaves = line if line in LINES else CLEF_HOMES[sign], octaves if abs(octaves) <= GREATEST_SHIFT else 0
            self.clefs.append(ClefChange(staff, bar, tick, Clef(sign, line, octaves)))

    def clef_changes(self) -> tuple[ClefChange, ...]:
        """Return all clefs read, staff by staff, each staff's in time, without those that only repeat the one in force.

        Of several at one place the last one counts.
        """
        last = {(change.staff, change.tick): change for change in self.clefs}
        found: list[ClefChange] = []
        for _, change in sorted(last.items()):
            if not found or (found[-1].staff, found[-1].clef) != (change.staff, change.clef):
                found.append(change)
        return tuple(found)


def set_key(keys: Keys, staff: int | None, key: Key) -> None:
    """Put a key in force: on one staff, or (None) on all, which takes away every staff's own."""
    if staff is None:
        keys.clear()
    keys[staff] = key
    if staff == 1:
        keys[None] = key


def sane_divisions(text: str | None) -> int | None:
    """Return the divisions that a text names, or None where that is beyond the limits."""
    divisions = whole(text)
    return divisions if divisions is not None and 1 <= divisions <= LIMITS.divisions else None


@lru_cache(maxsize=256)
def time_from(uppers: tuple[str, ...], lowers: tuple[str, ...]) -> Time | None:
    """Return the time signature that the texts name, brought to one lower number; None if they name none.

    >>> time_from(("3+2",), ("8",)), time_from(("2", "3"), ("4", "8")), time_from(("4",), ("0",))
    (Time(beats=(3, 2), beat_type=8), Time(beats=(4, 3), beat_type=8), None)
    """
    groups = [[whole(number) or 0 for number in upper.split("+")] for upper in uppers]
    types = [whole(lower) or 0 for lower in lowers]
    if not groups or len(groups) != len(types) or not BEAT_TYPES.issuperset(types) or min(map(min, groups)) < 1:
        return None
    common = max(types)  # all are powers of two
    return Time(tuple(number * (common // lower) for group, lower in zip(groups, types, strict=True) for number in group), common)


@lru_cache(maxsize=256)
def free_key(steps: tuple[str, ...], changes: tuple[str, ...]) -> Key:
    """Return the key signature of these letters and alterations.

    >>> free_key(("F", "C"), ("1", "1")) == key_of(2), free_key(("B", "F"), ("-1", "1")).alters
    (True, (0, 0, 0, 1, 0, 0, -1))
    """
    alters = [0] * 7
    for step, change in zip(steps, changes, strict=False):
        alteration = decimal(change)
        if len(step) == 1 and step in STEPS and alteration is not None and abs(alteration) <= 2:
            alters[STEPS.index(step)] = int(alteration)
    keys = [key_of(fifths) for fifths in range(-7, 8)]
    nearest = min(keys, key=lambda key: (sum(a != b for a, b in zip(alters, key.alters, strict=True)), abs(key.fifths)))
    return nearest if nearest.alters == tuple(alters) else Key(nearest.fifths, None, tuple(alters))


class Directions:
    """Gathers what the directions of a part say, bar by bar in document order."""

    def __init__(self) -> None:
        self.tempos: dict[tuple[Any, ...], Tempo] = {}  # by all but bar and staff: what is said at both staves is one
        self.jumps: dict[Jump, None] = {}
        self._octave_lines: list[OctaveLine] = []  # as they begin; where one stops, a line of no octaves

    def read(self, element: Any, bar: int, stands: int, tick: int, half: int | None = None) -> None:
        """Take in a ``<direction>`` of the bar with this index, that ``stands`` at one tick and is meant for another; none of our own."""
        if any(record.target == PROGRAM for record in element.iterchildren(ProcessingInstruction)):
            return
        marks = {mark.tag for kind in element.iterchildren("direction-type") for mark in kind[:]}
        speed = _speed(element.find("sound"))
        if speed is None and marks.isdisjoint(_TOLD):
            return
        staff = half or staff_from(element.findtext("staff")) or 1
        words = " ".join(" ".join(each.text or "" for each in element.iterfind("direction-type/words")).split())
        for shift in element.iterfind("direction-type/octave-shift"):
            octaves = _OCTAVES.get(whole(shift.get("size")) or 8, 1)
            by_type = {"down": octaves, "up": -octaves, "stop": 0}
            if shift.get("type") in by_type:
                self._octave_lines.append(OctaveLine(staff, bar, stands, stands, by_type[shift.get("type")]))
        if _JUMP.search(words):
            self.jumps[Jump(bar, tick, "jump", words)] = None
            words = ""
        elif _FINE.fullmatch(words):
            self.jumps[Jump(bar, tick, "fine", words)] = None
        self.jumps |= dict.fromkeys(Jump(bar, tick, sign) for sign in ("segno", "coda") if sign in marks)
        named, beat, per_minute = _tempo(element, words)
        if beat is not None or speed is not None or named:
            self.tempos.setdefault((tick, named, beat, per_minute, speed), Tempo(bar, tick, staff, named, beat, per_minute, speed))

    def sound(self, element: Any, bar: int, tick: int, half: int | None) -> None:
        """Take in a ``<sound>`` that stands in a bar by itself."""
        speed = _speed(element)
        if speed is not None:
            self.tempos.setdefault((tick, "", None, "", speed), Tempo(bar, tick, half or 1, "", speed=speed))

    def octave_lines(self, end: int) -> tuple[OctaveLine, ...]:
        """Return the octave lines of the part, staff by staff; ``end`` is the tick at which it ends."""
        ended: list[OctaveLine] = []
        begun: dict[int, OctaveLine] = {}
        for line in sorted(self._octave_lines, key=lambda line: line.tick):
            if line.staff in begun:
                ended.append(begun.pop(line.staff)._replace(until=line.tick))
            if line.octaves:
                begun[line.staff] = line._replace(until=end)
        return tuple(sorted((*ended, *begun.values()), key=lambda line: (line.staff, line.tick)))


def _tempo(element: Any, words: str) -> tuple[str, Fraction | None, str]:
    """Return the tempo words of a direction and its metronome mark; ``words`` are all its words but for a jump."""
    beat, per_minute = _metronome(element.find("direction-type/metronome"))
    if not words:
        return "", beat, per_minute
    pieces = [each.text or "" for each in element.iterfind("direction-type/words")]
    set_as_text = _SET_AS_TEXT.search(words)
    if set_as_text and beat is None:
        beat = _NOTES[set_as_text[1]] * (Fraction(3, 2) if set_as_text[2] else 1)
        per_minute = set_as_text[3]
        pieces = [words[: set_as_text.start()]]
    elif _WITHOUT_NOTE.fullmatch(words):
        return words, beat, per_minute
    return tempo_words(pieces) or (without_section(joined(pieces)) if beat is not None else ""), beat, per_minute


def _metronome(mark: Any) -> tuple[Fraction | None, str]:
    """Return the counted note of a visible metronome mark, in quarter notes, and the text of how many there are in a minute."""
    if mark is None or mark.get("print-object") == "no":
        return None, ""
    per_minute = " ".join((mark.findtext("per-minute") or "").split())
    beat = TYPES.get((mark.findtext("beat-unit") or "").strip())
    if beat is None or not per_minute:
        return None, ""
    return beat * (Fraction(3, 2) if mark.find("beat-unit-dot") is not None else 1), per_minute


def _speed(sound: Any) -> Fraction | None:
    """Return the quarter notes a minute that a ``<sound>`` names; none where it is no tempo that can be played."""
    speed = None if sound is None else decimal(sound.get("tempo"))
    return speed if speed is not None and speed > 0 else None
