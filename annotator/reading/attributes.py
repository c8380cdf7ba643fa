"""What is in force while a part is read: divisions, key, time signature, clefs, staves.

Conventions
-----------
* A key without a staff number holds for all staves, one with a number for that staff until the next key. A time signature is read from
  the first staff.
* A value that makes no sense (divisions 0, beat type "x") leaves in force what was there, and is named as a repair.
* A key signature of free letters (``key-step``) counts as the number of sharps or flats it comes closest to; its letters are exact.

Source: MusicXML 4.0, element ``attributes``. Several pairs of beats and beat type add up.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from math import lcm
from typing import Any

from annotator.music.score import STEPS, Clef, ClefChange, Key, Time, key_of
from annotator.reading.limits import Limits
from annotator.reading.notes import decimal, whole
from annotator.reading.repairs import Repairs

BEAT_TYPES = frozenset(2**power for power in range(8))  # 1 to 128: what an engraver can draw
GREATEST_FIFTHS = 14
Keys = dict[int | None, Key]
CLEF_HOMES = {"G": 2, "F": 4, "C": 3}  # the line of each sign where the source names none
LINES = range(1, 10)
GREATEST_SHIFT = 3  # octaves that a clef moves what is written
PITCHLESS_CLEFS = frozenset({"percussion", "TAB", "jianpu"})


class Attributes:
    """The attributes in force at one point of a part. ``keys`` maps a staff to its own key; None stands for all others."""

    def __init__(self, divisions: int, limits: Limits, repairs: Repairs) -> None:
        self.divisions = divisions
        self.keys: Keys = {None: key_of(0)}
        self.time: Time | None = None
        self.staves = 1
        self.first_clefs: dict[int, str] = {}
        self.pitchless: set[int] = set()
        self._limits = limits
        self._repairs = repairs

    def key(self, staff: int | None = None) -> Key:
        """Return the key in force on a staff."""
        return self.keys.get(staff) or self.keys[None]

    def read(self, element: Any, place: str) -> list[tuple[int | None, Key]]:
        """Take in an ``<attributes>`` element; return the keys it sets, each with its staff (None: all)."""
        keys: list[tuple[int | None, Key]] = []
        for child in element:
            tag = child.tag
            if tag == "divisions":
                self._divisions(child, place)
            elif tag == "key":
                keys.extend(self._key(child, place))
            elif tag == "time":
                self._time(child, place)
            elif tag == "staves":
                staves = whole(child.text) or 0
                if 1 <= staves <= self._limits.staves:
                    self.staves = max(self.staves, staves)
                else:
                    self._repairs.add("impossible number of staves, not taken over", place)
            elif tag == "clef":
                self._clef(child)
        for staff, key in keys:
            set_key(self.keys, staff, key)
        return keys

    def _divisions(self, element: Any, place: str) -> None:
        divisions = sane_divisions(element.text, self._limits)
        if divisions is None:
            self._repairs.add("divisions that make no sense, kept as before", place)
        else:
            self.divisions = divisions

    def _key(self, element: Any, place: str) -> list[tuple[int | None, Key]]:
        staff = whole(element.get("number"))
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
        if time is None or time.quarters > 4 * self._limits.whole_notes:
            self._repairs.add("time signatures that make no sense, kept as before", place)
        else:
            self.time = time

    def _clef(self, element: Any) -> None:
        staff = whole(element.get("number")) or 1
        sign = (element.findtext("sign") or "").strip()
        self.first_clefs.setdefault(staff, sign)
        if sign in PITCHLESS_CLEFS:
            self.pitchless.add(staff)
        else:
            self.pitchless.discard(staff)


def clef_from(element: Any) -> Clef | None:
    """Return the clef that a ``<clef>`` names, None for one that names no pitch. A line that makes no sense counts as not given."""
    sign = (element.findtext("sign") or "").strip()
    if sign not in CLEF_HOMES:
        return None
    line, octaves = whole(element.findtext("line")) or 0, whole(element.findtext("clef-octave-change")) or 0
    return Clef(sign, line if line in LINES else CLEF_HOMES[sign], octaves if abs(octaves) <= GREATEST_SHIFT else 0)


def clef_changes(read: Iterable[ClefChange]) -> tuple[ClefChange, ...]:
    """Return the clefs of a part staff by staff, each staff's in time, without those that only repeat the one in force.

    ``read`` are all its clefs in document order; of several at one place the last one counts.
    """
    last = {(change.staff, change.tick): change for change in read}
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


def sane_divisions(text: str | None, limits: Limits) -> int | None:
    """Return the divisions that a text names, or None where that is beyond the limits."""
    divisions = whole(text)
    return divisions if divisions is not None and 1 <= divisions <= limits.divisions else None


@lru_cache(maxsize=256)
def time_from(uppers: tuple[str, ...], lowers: tuple[str, ...]) -> Time | None:
    """Return the time signature that the texts name, brought to one lower number; None if they name none.

    >>> time_from(("3+2",), ("8",)), time_from(("2", "3"), ("4", "8")), time_from(("4",), ("0",))
    (Time(beats=(3, 2), beat_type=8), Time(beats=(4, 3), beat_type=8), None)
    """
    if not uppers or len(uppers) != len(lowers):
        return None
    types = [whole(lower) for lower in lowers]
    groups = [[whole(number) for number in upper.split("+")] for upper in uppers]
    common = lcm(*(number for number in types if number in BEAT_TYPES and number is not None))
    beats: list[int] = []
    for group, lower in zip(groups, types, strict=True):
        if lower is None or lower not in BEAT_TYPES or any(number is None or number < 1 for number in group):
            return None
        beats.extend(number * (common // lower) for number in group if number is not None)
    return Time(tuple(beats), common)


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

    def distance(fifths: int) -> tuple[int, int]:
        """Return how many letters a signature alters otherwise, and how many signs it has."""
        return sum(a != b for a, b in zip(alters, key_of(fifths).alters, strict=True)), abs(fifths)

    nearest = min(range(-7, 8), key=distance)
    exact = key_of(nearest)
    return exact if exact.alters == tuple(alters) else Key(nearest, None, tuple(alters))
