"""What is in force where an excerpt begins: clefs, key, time, divisions, staves, transposition; tempo and loudness.

Conventions
-----------
* A key, time or transposition without a staff number holds for all staves until the next one; one with a number for that staff. A clef
  without a number is the first staff's. What changes within a bar counts in time, not in the order of the document.
* What stands at the very start of the excerpt's first bar is taken in, wherever in that bar it is written.
* The last tempo mark that names a speed and the last loudness (p, mf, ff; no accents) are set again, unless the first bar begins with its
  own; a loudness not where a hairpin has ended since, for nobody can say how loud it is then.

Source: MusicXML 4.0 (W3C), element ``attributes``; that tempo and loudness are set again: common practice, no source.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Sequence
from typing import Any

from lxml import etree

from annotator.products.excerpts.moments import Moment
from annotator.reading.notes import whole

SINGLE = ("divisions", "staves", "part-symbol", "instruments")
BY_STAFF = ("key", "time", "clef", "staff-details", "transpose")
ORDER = ("divisions", "key", "time", "staves", "part-symbol", "instruments", "clef", "staff-details", "transpose")
LOUDNESS = frozenset({"p", "pp", "ppp", "pppp", "ppppp", "pppppp", "mp", "mf", "f", "ff", "fff", "ffff", "fffff", "ffffff", "n"})


class InForce:
    """The attributes in force at one point of a part, as elements of its document."""

    def __init__(self) -> None:
        self._single: dict[str, Any] = {}
        self._by_staff: dict[str, dict[str, Any]] = {tag: {} for tag in BY_STAFF}

    def take_in(self, attributes: Any) -> None:
        """Put the attributes of an element in force."""
        cleared: set[str] = set()
        for child in attributes:
            if child.tag in SINGLE:
                self._single[child.tag] = child
            elif child.tag in BY_STAFF:
                staff = child.get("number", "1" if child.tag in ("clef", "staff-details") else "")
                if not staff and child.tag not in cleared:
                    self._by_staff[child.tag].clear()
                    cleared.add(child.tag)
                self._by_staff[child.tag][staff] = child

    def element(self) -> Any:
        """Return a new ``<attributes>`` that says all that is in force."""
        made = etree.Element("attributes")
        for tag in ORDER:
            if tag in self._single:
                made.append(_bare(self._single[tag]))
            for staff, child in self._spread(tag):
                twin = _bare(child)
                if staff:
                    twin.set("number", staff)
                made.append(twin)
        return made

    def _spread(self, tag: str) -> list[tuple[str, Any]]:
        """Return the elements of a kind with their staves; where one holds for all and others for some, each staff's own."""
        held = self._by_staff.get(tag, {})
        if tag == "clef" and list(held) == ["1"]:
            return [("", held["1"])]
        if tag == "clef" or "" not in held or len(held) == 1:
            return sorted(held.items(), key=_by_number)
        staves = whole(self._single["staves"].text) or 1 if "staves" in self._single else 1
        return [(str(staff), held.get(str(staff), held[""])) for staff in range(1, staves + 1)]


def _by_number(entry: tuple[str, Any]) -> tuple[int, str]:
    return (int(entry[0]) if entry[0].isdecimal() else 0, entry[0])


def _bare(element: Any) -> Any:
    """Return a copy without what belongs to its old place: a cancelled key, an id, a place after the bar line."""
    twin = copy.deepcopy(element)
    twin.tail = None
    for name in ("id", "after-barline", "additional"):
        twin.attrib.pop(name, None)
    for cancelled in twin.findall("cancel"):
        twin.remove(cancelled)
    return twin


def attributes_in_force(before: Iterable[Sequence[Moment]], first: Sequence[Moment]) -> Any:
    """Return the ``<attributes>`` for an excerpt: ``before`` are the bars before it, ``first`` is its first bar."""
    state = InForce()
    for bar in before:
        for moment in in_time(moment for moment in bar if moment.tag == "attributes"):
            state.take_in(moment.element)
    for moment in at_start(first, "attributes"):
        state.take_in(moment.element)
    return state.element()


def in_time(moments: Iterable[Moment]) -> list[Moment]:
    """Return moments in the order in which they sound."""
    return sorted(moments, key=lambda moment: (moment.bar, moment.at, moment.order))


def at_start(bar: Iterable[Moment], tag: str) -> list[Moment]:
    """Return the elements of a kind that stand at the very start of a bar."""
    return [moment for moment in bar if moment.tag == tag and moment.at == 0]


def marks_in_force(before: Iterable[Sequence[Moment]], first: Sequence[Moment]) -> list[Any]:
    """Return the directions to be set again at the start of an excerpt, as copies: tempo, then loudness."""
    tempo: Any = None
    loudness: Any = None
    for bar in before:
        for moment in in_time(moment for moment in bar if moment.tag == "direction"):
            direction = moment.element
            if is_tempo(direction):
                tempo = direction
            if _loudness(direction) is not None:
                loudness = direction
            elif any(wedge.get("type") == "stop" for wedge in direction.iterfind("direction-type/wedge")):
                loudness = None
    begins = [moment.element for moment in at_start(first, "direction")]
    again = []
    if tempo is not None and not any(is_tempo(each) or each.find("direction-type/words") is not None for each in begins):
        again.append(_set_again(tempo, ("metronome", "words")))
    if loudness is not None and not any(each.find("direction-type/dynamics") is not None for each in begins):
        again.append(_set_again(loudness, ("dynamics",)))
    return again


def is_tempo(direction: Any) -> bool:
    """Return whether a direction names a speed: a metronome mark, or words with a tempo to play."""
    if direction.find("direction-type/metronome") is not None:
        return True
    sound = direction.find("sound")
    return direction.find("direction-type/words") is not None and sound is not None and sound.get("tempo") is not None


def _loudness(direction: Any) -> Any:
    marks = list(direction.iterfind("direction-type/dynamics/*"))
    return marks[0] if len(marks) == 1 and marks[0].tag in LOUDNESS else None


def _set_again(direction: Any, tags: tuple[str, ...]) -> Any:
    """Return a copy of a direction with these kinds of marks only, to stand at another place."""
    twin = copy.deepcopy(direction)
    twin.tail = None
    for element in twin.iter(etree.Element):
        for name in ("id", "default-x", "relative-x"):
            element.attrib.pop(name, None)
    for child in list(twin):
        if (child.tag == "direction-type" and not any(mark.tag in tags for mark in child)) or child.tag in ("offset", "voice"):
            twin.remove(child)
    return twin
