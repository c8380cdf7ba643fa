"""One hand of a keyboard part: its staves stay, as a part of their own.

Conventions
-----------
* A note goes with the staff it stands on. Of a chord across both staves the notes on the hand's own stay.
* A direction goes with its staff. Tempo, rehearsal marks and signs of the form hold for both hands and stay; so do loudness and hairpins,
  where the hand has none of its own.
* A bar in which the hand has nothing gets a whole-bar rest.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from lxml import etree

from annotator.products.excerpts.in_force import is_tempo
from annotator.products.excerpts.moments import Moment, staff_of
from annotator.products.excerpts.section import Section
from annotator.reading.notes import decimal

FOR_BOTH = ("rehearsal", "segno", "coda", "metronome")
LOUDNESS = ("dynamics", "wedge")
ROUNDED = Fraction(1, 48)
"""By how much of a quarter note rounded durations may miss the end of a bar."""


def keep_staves(section: Section) -> None:
    """Take the other staves out of the bars taken."""
    if section.taken.whole:
        return
    staves = {str(staff) for staff in section.taken.staves}
    own = any(
        staff_of(moment.element) in staves and _has(moment.element, LOUDNESS)
        for place in section.taken.bars
        for moment in section.bars[place]
        if moment.tag == "direction"
    )
    for place, measure in zip(section.taken.bars, section.measures, strict=True):
        _Rebuilding(section, measure, staves, own).run(section.bars[place], section.divisions[place], section.lengths[place])


def move_to_hand(direction: Any, section: Section) -> None:
    """Let a direction of the other hand's staff stand at the hand's own, on the side where it was."""
    staff = direction.find("staff")
    was, place = int(staff_of(direction)) if staff_of(direction).isdecimal() else 1, section.taken.staves[0]
    if was in section.taken.staves:
        return
    if staff is not None:
        staff.text = str(place)
    if _has(direction, LOUDNESS):
        direction.set("placement", "above" if was < place else "below")
    for mark in direction.iter(etree.Element):
        for name in ("default-y", "relative-y"):
            mark.attrib.pop(name, None)


def _has(direction: Any, tags: tuple[str, ...]) -> bool:
    return any(direction.find(f"direction-type/{tag}") is not None for tag in tags)


class _Rebuilding:
    """One bar put together anew from what stays, with the moves in time that this needs."""

    def __init__(self, section: Section, measure: Any, staves: set[str], own_loudness: bool) -> None:
        self._section = section
        self._measure = measure
        self._staves = staves
        self._own_loudness = own_loudness
        self._cursor = Fraction(0)
        self._divisions = Fraction(1)
        self._lead_kept = False
        self._staff = "1"

    def run(self, moments: tuple[Moment, ...], divisions: Fraction, length: Fraction) -> None:
        """Put the bar together. ``length`` is the bar's, in quarter notes."""
        measure = self._measure
        self._divisions = divisions
        for child in list(measure):
            measure.remove(child)
        reached = Fraction(0)
        for moment in moments:
            if moment.tag == "note":
                reached = max(reached, self._note(moment))
            elif moment.tag not in ("backup", "forward") and self._stays(moment.element):
                self._other(moment)
        if reached == 0 and length > 0:
            self._go_to(Fraction(0))
            self._before_barline(_rest(length * self._divisions, self._section.taken.staves[0]))
        elif length - reached > ROUNDED:
            self._go_to(length)

    def _note(self, moment: Moment) -> Fraction:
        """Keep a note of the hand; return when it ends, 0 for one that goes."""
        twin = self._section.twins[moment.element]
        chord = twin.find("chord")
        if chord is None or twin.find("staff") is not None:
            self._staff = staff_of(twin)
        if chord is None:
            self._lead_kept = False
        if self._staff not in self._staves:
            return Fraction(0)
        if self._lead_kept and chord is not None:
            self._measure.append(twin)
            return moment.until
        if chord is not None:
            twin.remove(chord)
        self._go_to(moment.at)
        self._measure.append(twin)
        self._lead_kept = True
        self._cursor = moment.until
        return moment.until

    def _stays(self, element: Any) -> bool:
        if element.tag != "direction":
            return element.tag != "figured-bass" or staff_of(element) in self._staves
        if staff_of(element) in self._staves or _has(element, FOR_BOTH) or is_tempo(element):
            return True
        return _has(element, LOUDNESS) and not self._own_loudness

    def _other(self, moment: Moment) -> None:
        """Keep something that takes no time, at its time."""
        twin = self._section.twins[moment.element]
        if moment.tag == "attributes":
            self._divisions = max(decimal(twin.findtext("divisions")) or Fraction(0), Fraction(0)) or self._divisions
        if moment.tag == "direction":
            move_to_hand(twin, self._section)
        if moment.tag in ("direction", "harmony", "figured-bass", "attributes"):
            self._go_to(moment.until)
        self._measure.append(twin)

    def _go_to(self, at: Fraction) -> None:
        """Move in time, if need be."""
        if at != self._cursor:
            move = etree.Element("forward" if at > self._cursor else "backup")
            etree.SubElement(move, "duration").text = _decimal(abs(at - self._cursor) * self._divisions)
            self._before_barline(move)
            self._cursor = at

    def _before_barline(self, element: Any) -> None:
        """Put an element at the end of the bar so far, before a right bar line."""
        last = self._measure[-1] if len(self._measure) else None
        if last is not None and last.tag == "barline" and last.get("location", "right") == "right":
            last.addprevious(element)
        else:
            self._measure.append(element)


def _rest(duration: Fraction, staff: int) -> Any:
    """Return a whole-bar rest."""
    note = etree.Element("note")
    etree.SubElement(note, "rest", {"measure": "yes"})
    etree.SubElement(note, "duration").text = _decimal(duration)
    etree.SubElement(note, "voice").text = "1"
    etree.SubElement(note, "staff").text = str(staff)
    return note


def _decimal(number: Fraction) -> str:
    return str(number.numerator) if number.denominator == 1 else f"{float(number):.6f}".rstrip("0")


def renumber_staves(section: Section) -> None:
    """Count the hand's staves from 1; a single one needs no numbers."""
    if section.taken.whole:
        return
    names = {str(staff): str(place) for place, staff in enumerate(section.taken.staves, 1)}
    single = len(names) == 1
    for measure in section.measures:
        for staff in list(measure.iter("staff")):
            if single:
                staff.getparent().remove(staff)
            else:
                staff.text = names.get((staff.text or "").strip(), "1")
        for attributes in measure.findall("attributes"):
            _renumber(attributes, names)
            if not len(attributes):
                measure.remove(attributes)
        for layout in measure.findall("print/staff-layout"):
            if layout.get("number", "1") not in names:
                layout.getparent().remove(layout)
            else:
                layout.set("number", names[layout.get("number", "1")])


def _renumber(attributes: Any, names: dict[str, str]) -> None:
    """Leave only what the hand's staves need in an ``<attributes>``."""
    single = len(names) == 1
    for child in list(attributes):
        number = child.get("number", "1" if child.tag in ("clef", "staff-details") else None)
        if child.tag == "staves" and not single:
            child.text = str(len(names))
        elif child.tag == "part-symbol" or (child.tag == "staves" and single) or (number is not None and number not in names):
            attributes.remove(child)
        elif number is not None and single:
            child.attrib.pop("number", None)
        elif number is not None:
            child.set("number", names[number])
