"""Bars and staves cut out of a part of a score document, with nothing torn at the cut. The document is edited in place.

Rule
----
* What is in force at the cut is said at its start: clefs, key, time; tempo and loudness too, unless the first bar begins with its own. A
  loudness is not after a hairpin, for nobody can say how loud it is then (common practice, no source).
* A line beside the staff (hairpin, octave line, bracket, dashes, pedal) is ended with the last bar and begun with the first. A slur is
  ended at the last note of its voice; half a slur from before is gone. A note tied in from the bar before is struck; what needs an
  accidental since then gets one.
* A repeat stays if both its ends are there, endings if all endings of their place are there; else a double bar stands in their place.
* Several stretches of bars follow each other behind a double bar, with the number of the bar, and what is in force there where that is new.
* A note goes with the staff it stands on; in a voice that crosses, the notes of the other hand are rests without ink. Tempo,
  rehearsal marks and jumps (D.C.) hold for both hands; so do loudness and hairpins of the other staff, where the hand has none of its own.

Source: MusicXML 4.0, elements ``attributes``, ``direction-type``, ``notations``, ``barline``.
"""

from __future__ import annotations

import copy
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from lxml import etree

from annotator.music.score import Bar, Note, Part
from annotator.musicxml.marks import SIGNS
from annotator.reading.bars import notes_with_signs
from annotator.reading.beside import Directions
from annotator.reading.notes import decimal

ATTRIBUTES = ("divisions", "key", "time", "staves", "part-symbol", "clef", "staff-details", "transpose")
"""What stays in force, in the order of the format."""
LINES = ("wedge", "octave-shift", "bracket", "dashes", "pedal")
STOPS = ("stop", "discontinue")
LOUD = frozenset({"dynamics", "wedge"})
FOR_BOTH = frozenset({"tempo", "jump", "rehearsal"})
"""What is said at one staff of a piano and holds for all; loudness too, where a staff has none of its own."""
SILENT = ("duration", "voice", "type", "dot", "time-modification", "beam", "notations")
"""What a note keeps that becomes a rest without ink."""


def remove(elements: Iterable[Any]) -> None:
    """Take elements out of their tree."""
    for each in list(elements):
        each.getparent().remove(each)


def cut_bars(part: Any, whole: Sequence[Bar], bars: Sequence[range]) -> None:
    """Leave these bars in a part of the document; ``whole`` are all its bars."""
    measures, slurs, force = list(part.iterchildren("measure")), _slurs(part), _InForce()
    taken: list[int] = []
    for stretch in bars:
        passed, inside = measures[taken[-1] + 1 if taken else 0 : stretch.start], measures[stretch.start : stretch.stop]
        force.take_all(passed)
        if inside:
            force.begin(inside[0])
            if taken:
                _set_apart(measures[taken[-1]], inside[0])
            force.take_all(inside)
            force.end(inside[-1])
            _end_slurs(slurs, inside)
            taken += range(stretch.start, stretch.start + len(inside))
    for measure in {*measures} - {measures[index] for index in taken}:
        part.remove(measure)
    _mend_repeats([measures[index] for index in taken], whole, taken)


def _set_apart(before: Any, measure: Any) -> None:
    """Let a double bar and the number of the bar say that a new stretch begins."""
    line = etree.SubElement(before, "barline", location="right")
    etree.SubElement(line, "bar-style").text = "light-light"
    direction = etree.Element("direction", placement="above")
    words = etree.SubElement(etree.SubElement(direction, "direction-type"), "words", {"font-size": "7"})
    words.text = measure.get("number")
    measure.insert(0, direction)


def _placed(measure: Any) -> list[tuple[Any, float, float]]:
    """Return what stands in a bar, and where it begins and ends, in divisions from the bar's start."""
    found = []
    at = 0.0
    for child in measure:
        length = float(decimal(child.findtext("duration")) or 0)
        moves = {"note": child.find("chord") is None, "forward": True, "backup": True}.get(child.tag, False)
        behind = max(0.0, at - length if child.tag == "backup" else at + length * moves)
        found.append((child, at, behind))
        at = behind
    return found


class _InForce:
    """What holds at one place of a part: attributes, the last tempo and loudness, the lines that are open beside the staves."""

    def __init__(self) -> None:
        self._said: dict[tuple[str, str], Any] = {}
        self._lines: dict[tuple[str, str, str], Any] = {}
        self._before: dict[tuple[str, str], bytes] = {}

    def take_all(self, measures: Iterable[Any]) -> None:
        """Take in some bars."""
        for measure in measures:
            for element in measure.iterchildren("attributes", "direction"):
                self.take(element)

    def take(self, element: Any) -> None:
        """Take in attributes or a direction."""
        if element.tag == "attributes":
            for each in element.iterchildren(*ATTRIBUTES):
                number = each.get("number", "1" if each.tag == "clef" else "")
                if each.tag == "key" and not number:
                    self._said = {key: said for key, said in self._said.items() if key[0] != "key"}
                self._said[each.tag, number] = each
            return
        for key, mark in _lines(element):
            if mark.get("type") in STOPS:
                self._lines.pop(key, None)
            elif mark.get("type") not in ("continue", "change", "resume"):
                self._lines[key] = _alone(element, mark.tag)
        tags = _tags(element)
        if tags & LOUD:
            self._said.pop(("dynamics", ""), None)
        if "dynamics" in tags and "wedge" not in tags:
            self._said["dynamics", ""] = _alone(element, "dynamics")
        if "tempo" in tags:
            self._said["tempo", ""] = _alone(element, "words", "metronome", "sound")
            self._said["tempo", ""].set("placement", "above")

    def begin(self, measure: Any) -> None:
        """Say at the start of a bar what is in force, as far as it was not where the bars before ended."""
        own: set[str] = set()
        for element, at, _ in _placed(measure):
            if at == 0 and element.tag == "attributes":
                self.take(element)
                measure.remove(element)
            elif at == 0 and element.tag == "direction":
                own |= _tags(element)
                for key, mark in [(key, mark) for key, mark in _lines(element) if mark.get("type") in STOPS]:
                    self._lines.pop(key, None)
                    mark.getparent().remove(mark)
        new = [key for key, each in self._said.items() if _text(each) != self._before.get(key) and key[0] not in own]
        attributes = etree.Element("attributes")
        attributes.extend(copy.deepcopy(self._said[key]) for tag in ATTRIBUTES for key in sorted(new) if key[0] == tag)
        directions = [self._said[key] for key in new if key[0] not in ATTRIBUTES]
        for each in reversed([attributes, *directions, *self._lines.values()]):
            measure.insert(0, copy.deepcopy(each))

    def end(self, measure: Any) -> None:
        """End with a bar what goes on behind it; the clef of the bar behind is not told."""
        placed = _placed(measure)
        length = max((behind for *_, behind in placed), default=0.0)
        remove(each for element, at, _ in placed if at >= length > 0 for each in element.iterfind("clef"))
        if placed and placed[-1][2] < length:
            etree.SubElement(etree.SubElement(measure, "forward"), "duration").text = f"{length - placed[-1][2]:g}"
        for line in self._lines.values():
            stop = copy.deepcopy(line)
            stop.find("direction-type")[0].set("type", "stop")
            measure.append(stop)
        self._before = {key: _text(each) for key, each in self._said.items()}


def _text(element: Any) -> bytes:
    return bytes(etree.tostring(element, with_tail=False))


def _tags(direction: Any) -> set[str]:
    """Return the tags of a direction's marks, and ``tempo`` or ``jump`` where it is that to the reader."""
    read = Directions()
    read.read(direction, 0, 0, 0)
    meant = {name for name, found in (("tempo", read.tempos), ("jump", read.jumps)) if found}
    return meant.union(mark.tag for mark in direction.iterfind("direction-type/*"))


def _lines(direction: Any) -> Iterator[tuple[tuple[str, str, str], Any]]:
    """Yield the ends of lines beside the staff that a direction holds, under tag, number and staff."""
    for mark in direction.iterfind("direction-type/*"):
        if mark.tag in LINES:
            yield (mark.tag, mark.get("number", "1"), direction.findtext("staff", "1")), mark


def _alone(direction: Any, *tags: str) -> Any:
    """Return a direction with these marks of it only, at its place."""
    made = copy.deepcopy(direction)
    parts = [*made.iterfind("direction-type/*"), *made.iterfind("sound"), *made.iterfind("offset")]
    remove(each for each in parts if each.tag not in tags)
    remove(each for each in made.iterfind("direction-type") if not len(each))
    return made


def _mend_repeats(measures: Sequence[Any], whole: Sequence[Bar], taken: Sequence[int]) -> None:
    """Take away repeats and endings that are not there as a whole; a double bar stands for a repeat, but at the ends of the excerpt."""
    repeats = [each for each in repeats_of(whole) if each[0] in taken and each[1] in taken]
    stay = {"forward": {start for start, _ in repeats}, "backward": {end for _, end in repeats}}
    for place, (measure, index) in enumerate(zip(measures, taken, strict=False)):
        for line in measure.findall("barline"):
            repeat, ending = line.find("repeat"), line.find("ending")
            if ending is not None and not {*taken}.issuperset(_endings_around(whole, index)):
                line.remove(ending)
            if repeat is not None and index not in stay.get(repeat.get("direction", ""), ()):
                line.remove(repeat)
                inner = place > 0 if line.get("location") == "left" else place + 1 < len(taken)
                style = line.find("bar-style")
                style = etree.SubElement(line, "bar-style") if style is None else style
                style.text = "light-light" if inner else "regular"


def repeats_of(bars: Sequence[Bar]) -> Iterator[tuple[int, int]]:
    """Yield the first and the last bar of everything that is played again, of each ending from the common beginning."""
    start = 0
    for bar in bars:
        start = bar.index if bar.repeat_before else start
        if bar.repeat_after:
            yield start, bar.index
            following = bars[bar.index + 1 : bar.index + 2]
            start = start if following and following[0].volta and bar.volta else bar.index + 1


def _endings_around(bars: Sequence[Bar], index: int) -> range:
    """Return the bars under neighbouring endings around a bar."""
    first = last = index
    while first and bars[first - 1].volta:
        first -= 1
    while last + 1 < len(bars) and bars[last + 1].volta:
        last += 1
    return range(first, last + 1)


def keep_staves(part: Any, names: Mapping[str, str], whole: Part, numbers: Mapping[Any, int]) -> None:
    """Leave some staves of a part; ``names`` are their new numbers by the old ones."""
    staff_of = {note.number: str(note.staff) for note in whole.notes}
    beam_of = {note.number: note.beam for note in whole.notes if note.beam is not None}
    beamed = Counter(beam for beam, _ in {(note.beam, note.tick) for note in whole.notes if str(note.staff) in names})
    for_both = _for_both(each for each in part.iter("direction") if each.findtext("staff", "1") in names)
    for measure in part.iterchildren("measure"):
        for each in list(measure.iterchildren("attributes", "direction")):
            if each.tag == "attributes":
                _count_anew(each, names)
            elif each.findtext("staff", "1") not in names:
                if _tags(each) & for_both:
                    each.set("placement", "above" if each.findtext("staff", "1") < min(names) else "below")
                else:
                    measure.remove(each)
        strokes: list[list[Any]] = []
        for note in measure.iterchildren("note"):
            if note.find("chord") is None or not strokes:
                strokes.append([])
            strokes[-1].append(note)
            if numbers[note] in beam_of and beamed[beam_of[numbers[note]]] < 2:  # no beam for one note
                remove(note.findall("beam"))
        own = [[n for n in stroke if staff_of.get(numbers[n], n.findtext("staff", "1")) in names] for stroke in strokes]
        heard = {stays[0].findtext("voice") for stays in own if stays}
        for stroke, stays in zip(strokes, own, strict=True):
            _keep(stroke, stays, stroke[0].findtext("voice") in heard)
        for staff in measure.iterfind("*/staff"):
            staff.text = names.get(staff.text or "", "1")


def _for_both(own: Iterable[Any]) -> frozenset[str]:
    """Return the tags of what is taken over from the other hand, by the directions that a hand has itself."""
    return FOR_BOTH if any(_tags(each) & LOUD for each in own) else FOR_BOTH | LOUD


def take_over(part: Any, other: Any) -> None:
    """Put into the part of one hand what the part of the other says to both: each at the start of its bar, as far on as it stands there."""
    for_both, own_divisions, divisions = _for_both(part.iter("direction")), 1.0, 1.0
    for measure, source in zip(part.iterchildren("measure"), other.iterchildren("measure"), strict=False):
        own_divisions = float(decimal(measure.findtext("attributes/divisions")) or own_divisions)
        divisions = float(decimal(source.findtext("attributes/divisions")) or divisions)
        for direction, at, _ in reversed(_placed(source)):
            if direction.tag == "direction" and _tags(direction) & for_both:
                made = copy.deepcopy(direction)
                moved = at + float(decimal(made.findtext("offset")) or 0)
                remove(made.iterchildren("offset", "voice", "staff"))
                if moved:
                    place = max(index for index, child in enumerate(made) if child.tag == "direction-type") + 1
                    made.insert(place, etree.Element("offset"))
                    made[place].text = f"{moved * own_divisions / divisions:g}"
                measure.insert(0, made)


def _count_anew(attributes: Any, names: Mapping[str, str]) -> None:
    """Leave in attributes what they say of some staves."""
    for each in [child for child in attributes if child.tag in ATTRIBUTES]:
        number = each.get("number", "1" if each.tag == "clef" else None)
        if each.tag == "staves":
            each.text = str(len(names))
        elif number in names:
            each.set("number", names[number])
        elif number is not None or each.tag == "part-symbol":
            attributes.remove(each)


def _keep(stroke: Sequence[Any], stays: Sequence[Any], heard: bool) -> None:
    """Leave some notes of a stroke; ``heard``: its voice has notes that stay in the bar. What is gone leaves its time."""
    first = stroke[0]
    remove(each for each in stroke if each not in stays and (each is not first or stays or each.find("grace") is not None))
    if stays and stays[0] is not first:
        remove(stays[0].findall("chord"))
        stays[0].extend(first.findall("beam"))
    elif not stays and first.getparent() is not None:
        first.tag = "note" if heard else "forward"
        remove(child for child in first if child.tag not in (SILENT if heard else ("duration",)))
        for each in first.findall("notations/*"):
            if each.tag == "tuplet":
                each.attrib.update({"show-number": "none", "bracket": "no"})
            else:
                each.getparent().remove(each)
        if heard:
            first.set("print-object", "no")
            first.insert(0, etree.Element("rest"))


def _slurs(part: Any) -> list[tuple[Any, Any]]:
    """Return the beginning and the end of each slur of a part."""
    found, begun = [], {}
    for slur in part.iter("slur"):
        number = slur.get("number", "1")
        if slur.get("type") == "start":
            begun[number] = slur
        elif slur.get("type") == "stop" and number in begun:
            found.append((begun.pop(number), slur))
    return found


def _end_slurs(slurs: Iterable[tuple[Any, Any]], measures: Sequence[Any]) -> None:
    """End the slurs that go on behind some bars at the last note of their voice."""
    there = {slur for measure in measures for slur in measure.iter("slur")}
    for start in [start for start, stop in slurs if start in there and stop not in there]:
        note = start.getparent().getparent()
        notes = [each for measure in measures for each in measure.iterchildren("note") if each.findtext("voice") == note.findtext("voice")]
        last = [each for each in notes if each.find("chord") is None and each.find("rest") is None][-1:]
        if last and notes.index(last[0]) > notes.index(note):
            etree.SubElement(etree.SubElement(last[0], "notations"), "slur", type="stop", number=start.get("number", "1"))


def drop_half_slurs(part: Any) -> None:
    """Take away slurs that have only one end."""
    paired = {end for slur in _slurs(part) for end in slur}
    remove(slur for slur in part.iter("slur") if slur not in paired)


def untie(parts: Iterable[Part], bars: Sequence[range], there: Mapping[int, Any]) -> None:
    """Take away the ties of which an end is not there, and give what needs an accidental since then one; ``there`` are the notes left."""
    stretch_of = {index: place for place, stretch in enumerate(bars) for index in stretch}
    for part in parts:
        first: dict[int, list[Note]] = {stretch.start: [] for stretch in bars}
        struck: dict[int, list[Note]] = {stretch.start: [] for stretch in bars}
        bar_of = {note.number: note.bar for note in part.notes}
        for note in part.notes:
            origin, bar = note.continues, note.bar
            torn = origin is not None and not (
                {origin, note.number} <= there.keys() and stretch_of[bar_of[origin]] == stretch_of[bar]
            )
            if torn and origin:
                _without_tie(there.get(note.number), "stop")
                _without_tie(there.get(origin), "start")
            if bar in first:
                first[bar].append(note)
                struck[bar].append(replace(note, continues=None) if torn else note)
        for bar, notes in first.items():
            had = {note.number for note in notes_with_signs(notes)}
            for note in notes_with_signs(struck[bar]):
                if note.number in there.keys() - had and note.accidental is None and note.pitch.alter in SIGNS:
                    etree.SubElement(there[note.number], "accidental").text = SIGNS[int(note.pitch.alter)]


def _without_tie(note: Any, end: str) -> None:
    """Take an end of a tie away from a note, if it is there."""
    ties = [] if note is None else [*note.iterfind("tie"), *note.iterfind("notations/tied")]
    remove(tie for tie in ties if tie.get("type") == end)
