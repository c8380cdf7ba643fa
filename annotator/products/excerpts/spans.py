"""What spans several notes, across the cut: hairpins, octave lines, pedals, slurs, tuplets and the like.

Rule
----
* The lines beside the staff (hairpin, octave line, pedal, dashes, bracket) are closed at the excerpt's end where they reach over it, and
  opened again at its start where they come from before and go on in it.
* A slur from before loses its end, for half a slur tells nothing; one that goes on behind the end is closed at the last note of its voice.
* What would hang otherwise (one end is on the hand taken away) is gone. What hangs in the source stays as it is.

Source: MusicXML 4.0 (W3C). Ends are told by ``number``; of several of one number that of the same voice and staff is meant.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from lxml import etree

from annotator.products.excerpts.in_force import in_time
from annotator.products.excerpts.moments import Clock, Moment, staff_of, voice_of
from annotator.products.excerpts.section import Section
from annotator.products.excerpts.ties import drop_empty_notations, insert_before_first

OPENING = frozenset({"start", "crescendo", "diminuendo", "up", "down", "sostenuto", "resume"})
CLOSING = frozenset({"stop", "discontinue"})
MIDDLES = frozenset({"continue", "change"})
BESIDE = ("wedge", "octave-shift", "pedal", "dashes", "bracket")
ON_NOTES = ("slur", "tuplet", "glissando", "slide")


@dataclass(frozen=True, slots=True)
class End:
    """One end of a span: its element, the note or direction it belongs to, and where that stands."""

    moment: Moment
    element: Any

    @property
    def owner(self) -> Any:
        """The note or direction."""
        return self.moment.element


@dataclass(frozen=True, slots=True)
class Span:
    """Something from one end to another."""

    start: End
    stop: End


def mend_spans(section: Section) -> None:
    """Close, open again or take out what reaches over the cut."""
    bars = section.taken.bars
    openings = []
    for span in spans(section.bars):
        start_here, stop_here = (section.twin(end.element) is not None for end in (span.start, span.stop))
        before, behind = span.start.moment.bar < bars.start, span.stop.moment.bar >= bars.stop
        beside = span.start.element.tag in BESIDE
        if (start_here and stop_here) or span.stop.moment.bar < bars.start or span.start.moment.bar >= bars.stop:
            continue
        if not (start_here or before) or not (stop_here or behind):
            _take_out(section, span.start)
            _take_out(section, span.stop)
            continue
        if before:
            goes_on = behind or (span.stop.moment.bar, span.stop.moment.at) > (bars.start, 0)
            if beside and goes_on and _of_hand(section, span.start):
                openings.append(_alone(span.start))
            else:
                _take_out(section, span.stop)
                continue
        if behind and not (_close_beside(section, span) if beside else _close_on_note(section, span)):
            _take_out(section, span.start)
    for element in reversed(openings):
        section.measures[0].insert(0, element)
    _drop_loose_middles(section)


def spans(bars: Iterable[Iterable[Moment]]) -> list[Span]:
    """Return everything that has both ends, in the order in which it ends."""
    waiting: dict[tuple[str, str], list[End]] = {}
    found: list[Span] = []
    for bar in bars:
        early: list[End] = []
        for end in _ends(bar):
            key = (end.element.tag, end.element.get("number", "1"))
            if end.element.get("type") in CLOSING:
                start = _best(waiting.get(key, []), end)
                if start is None:
                    early.append(end)
                else:
                    found.append(Span(start, end))
                continue
            stop = next((each for each in early if each.owner is end.owner and each.element.tag == end.element.tag), None)
            if stop is not None:  # one note, told the wrong way round
                found.append(Span(end, stop))
                early.remove(stop)
            else:
                waiting.setdefault(key, []).append(end)
    return found


def _ends(bar: Iterable[Moment]) -> Iterator[End]:
    """Yield all ends in a bar in the order they sound, at one note the closing ones first."""
    for moment in in_time(moment for moment in bar if moment.tag in ("note", "direction") and _elements(moment)):
        for kinds in (CLOSING, OPENING):
            yield from (End(moment, each) for each in _elements(moment) if each.get("type") in kinds)


def _elements(moment: Moment) -> list[Any]:
    """Return the elements of a note or direction that may be ends."""
    if moment.tag == "direction":
        return [each for kind in moment.element.iterchildren("direction-type") for each in kind if each.tag in BESIDE]
    if moment.tag == "note":
        return [each for notations in moment.element.iterchildren("notations") for each in notations.iter(*ON_NOTES, "wavy-line")]
    return []


def _best(starts: list[End], stop: End) -> End | None:
    """Take the start that a stop belongs to out of those waiting: of its voice, of its staff, the latest."""
    if not starts:
        return None

    def suits(index: int) -> tuple[bool, bool, int]:
        """Return how well a start suits the end: staff, then voice, then the latest."""
        owner = starts[index].owner
        return staff_of(owner) == staff_of(stop.owner), voice_of(owner) == voice_of(stop.owner), index

    return starts.pop(max(range(len(starts)), key=suits))


def _drop_loose_middles(section: Section) -> None:
    """Take out what goes on with something that has not begun: a slur's turn over the page, a pedal's change."""
    begun: set[tuple[str, str]] = set()
    loose = []
    for measure in section.measures:
        for element in measure.iter(*BESIDE, *ON_NOTES, "wavy-line"):
            key = (element.tag, element.get("number", "1"))
            if element.get("type") in OPENING:
                begun.add(key)
            elif element.get("type") in MIDDLES and key not in begun:
                loose.append(element)
    for element in loose:
        _remove(element, next(element.iterancestors("note", "direction")))


def _of_hand(section: Section, end: End) -> bool:
    return section.taken.whole or staff_of(end.owner) in {str(staff) for staff in section.taken.staves}


def _take_out(section: Section, end: End) -> None:
    """Take one end out of the excerpt."""
    twin = section.twin(end.element)
    if twin is not None:
        _remove(twin, section.twins[end.owner])


def _remove(element: Any, owner: Any) -> None:
    """Take an element out of a note or direction, and what held it if nothing else is in it."""
    parent = element.getparent()
    parent.remove(element)
    if owner.tag == "note":
        drop_empty_notations(owner)
        return
    if not len(parent):
        owner.remove(parent)
    if owner.find("direction-type") is None:
        owner.getparent().remove(owner)


def _alone(end: End) -> Any:
    """Return a direction that holds a copy of one end and nothing else."""
    made = etree.Element("direction")
    placement = end.owner.get("placement")
    if placement:
        made.set("placement", placement)
    mark = copy.deepcopy(end.element)
    mark.tail = None
    for name in ("id", "default-x", "relative-x"):
        mark.attrib.pop(name, None)
    etree.SubElement(made, "direction-type").append(mark)
    staff = end.owner.findtext("staff")
    if staff:
        etree.SubElement(made, "staff").text = staff
    return made


def _close_beside(section: Section, span: Span) -> bool:
    """Close a line beside the staff behind the last note of its staff; return whether there is such a place."""
    after = _last_note(section, staff_of(span.stop.owner), section.twin(span.start.owner))
    if after is None:
        return False
    after.addnext(_alone(span.stop))
    return True


def _last_note(section: Section, staff: str, behind: Any) -> Any:
    """Return the note of the last bar that sounds to its end, if possible on that staff, and stands behind an element of that bar."""
    measure = section.measures[-1]
    moments = list(Clock(section.divisions[section.taken.bars[-1]]).bar(0, measure))
    floor = measure.index(behind) if behind is not None and behind.getparent() is measure else -1
    notes = [moment for moment in moments if moment.tag == "note" and moment.order > floor]
    if not notes:
        return None
    best = max(notes, key=lambda moment: (staff_of(moment.element) == staff, moment.until, moment.order))
    note = best.element
    while note.getnext() is not None and note.getnext().tag == "note" and note.getnext().find("chord") is not None:
        note = note.getnext()
    return note


def _close_on_note(section: Section, span: Span) -> bool:
    """Close a slur at the last note of its voice; return whether there is one behind its start. Nothing else can be closed early."""
    start = section.twin(span.start.owner)
    if span.start.element.tag != "slur" or start is None:
        return False
    voice, staff = voice_of(start), staff_of(start)
    for measure in reversed(section.measures):
        for note in reversed(measure.findall("note")):
            if note is start:
                return False
            if note.find("rest") is None and note.find("chord") is None and (voice_of(note), staff_of(note)) == (voice, staff):
                _add_stop(note, span)
                return True
    return False


def _add_stop(note: Any, span: Span) -> None:
    notations = note.find("notations")
    if notations is None:
        notations = etree.Element("notations")
        insert_before_first(note, notations, ("lyric", "play", "listen"))
    stop = etree.SubElement(notations, "slur", {"type": "stop"})
    number = span.stop.element.get("number")
    if number:
        stop.set("number", number)
