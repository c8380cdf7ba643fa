"""From marks to brackets: which systems of a page a figure stands in, from where to where, and at what height it would best stand.

Conventions
-----------
Everything is found on the engraved page by the numbers of the notes. A figure that goes on after a system break has one bracket in each
system; what continues has open ends and repeats the short label in parentheses, or three dots where that is wider than the bracket.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from annotator.marks.marking import Mark
from annotator.marks.style import Style
from annotator.pages.boxes import Box, around, boxes_of
from annotator.pages.breaks import AIR
from annotator.pages.carriers import CLASS, carrier_id
from annotator.pages.drawing import Bracket, Pen
from annotator.pages.placing import Piece
from annotator.pages.shades import heads_of
from annotator.pages.svg import SVG, classes, numbers, tag
from annotator.pages.widening import Stretch
from annotator.pages.wording import Wording, choose, room_to_write, word_bracket

AS_BEFORE = "(…)"
"""What a bracket says that goes on, where its words would be wider than it is."""

NEARLY = 0.9
"""From how much of its length on a bracket is nearly too short: in a narrower system it would be."""


@dataclass(frozen=True, slots=True)
class System:
    """One system of a page.

    ``index`` counts through the whole score. ``heads`` are by number of note, ``staves`` the top and bottom of each staff (through all
    parts, from 1), ``carriers`` the box of each carrier by index of mark.
    """

    index: int
    heads: Mapping[int, Box]
    staves: Mapping[int, tuple[float, float]]
    left: float
    right: float
    carriers: Mapping[int, Box]


def read_system(group: Any, index: int, staff_of: Mapping[int, int], carrier_index: Mapping[str, int]) -> System:
    """Read a system off the page and take the carriers out of it."""
    carriers: dict[int, Box] = {}
    for element in [each for each in group.iter(SVG + "g") if CLASS in classes(each)]:
        names = [element.get("id", ""), *(each.removeprefix("id-") for each in classes(element))]
        mark = next((carrier_index[name] for name in names if name in carrier_index), None)
        boxes = list(boxes_of(element))
        if mark is not None and boxes:
            carriers[mark] = around(boxes)
        element.getparent().remove(element)
    staves: dict[int, tuple[float, float]] = {}
    left, right = float("inf"), 0.0
    for measure in (each for each in group if "measure" in classes(each)):
        for number, staff in enumerate((each for each in measure if "staff" in classes(each)), 1):
            lines = [numbers(each.get("d")) for each in staff if tag(each) == "path"]
            if lines:
                staves.setdefault(number, (lines[0][1], lines[-1][1]))
                left, right = min(left, lines[0][0]), max(right, lines[0][2])
    heads: dict[int, Box] = {}
    for head in heads_of(group, staff_of):
        heads.setdefault(head.number, head.box)
    return System(index, heads, staves, left, right, carriers)


def carrier_indexes(marks: Sequence[Mark]) -> dict[str, int]:
    """Return the index of the mark by the id of its carrier."""
    return {carrier_id(index): index for index in range(len(marks))}


@dataclass(frozen=True, slots=True)
class Setting:
    """What brackets are made with.

    The style and its measures, the first staff of each part, the system that each note is in, the width of the page, and whether a bracket
    may give up the room to write on it.
    """

    style: Style
    pen: Pen
    first_staff: Mapping[str, int]
    system_of: Mapping[int, int]
    width: float
    gives_way: bool = False


def systems_of(mark: Mark, setting: Setting) -> range:
    """Return the indexes of the systems from a mark's first note to its last, none if they are not on the pages."""
    ends = [setting.system_of[note.number] for note in (mark.first, mark.last) if note.number in setting.system_of]
    return range(min(ends), max(ends) + 1) if len(ends) == 2 else range(0)


def bracket_in(system: System, index: int, mark: Mark, setting: Setting) -> tuple[Bracket, Piece] | None:
    """Return the bracket of a mark in one system, None if it has none there."""
    within = systems_of(mark, setting)
    if system.index not in within:
        return None
    here = tuple(note for note in mark.notes if note.number in system.heads)
    own = [system.heads[note.number] for note in here]
    if not own:
        return None
    whole = around(own)
    opens_left, opens_right = system.index > within[0], system.index < within[-1]
    left = whole.left - 150.0 if opens_left else system.heads[mark.first.number].left
    right = system.right - 40.0 if opens_right else system.heads[mark.last.number].right
    right = max(right, left + 60.0)
    if opens_left:
        left = _room_for_words(mark, system, left, right, setting)
    outward = -1 if mark.side == "above" else 1
    wording = _wording(mark, system, left, right, opens_left, setting)
    ticks = tuple(system.heads[note.number].left for note in mark.ticks if note.number in system.heads)
    bracket = Bracket(mark, here, left, right, opens_left, opens_right, outward, wording, ticks)
    staff = setting.first_staff.get(mark.part, 1) + mark.staff - 1
    group = (system.index, 0 if outward < 0 else 1, staff)
    at_home = [system.heads[note.number] for note in here if note.staff == mark.staff]
    wanted, inner = _heights(system, staff, around(at_home or own), outward, system.carriers.get(index), setting.pen)
    boxes = bracket.boxes(setting.pen)
    at_least = boxes[:1] if setting.style.labels == "blank" and setting.gives_way else boxes
    return bracket, Piece(group, boxes, at_least, wanted, inner, outward)


def stretch_of(bracket: Bracket, setting: Setting) -> Stretch | None:
    """Return the stretch that a bracket needs where it is too short for its words, or nearly so for its shortest label, else None."""
    words = [word for word in bracket.wording.words if word.text]
    if not words:
        return None
    mark, here = bracket.mark, bracket.notes
    fitting = setting.pen.fitting()
    length = bracket.right - bracket.left
    widest = max(word.width for word in words)
    narrow = widest > length
    if not narrow:
        widest = fitting.measure(mark.labels[2])
        if bracket.opens_left or widest + 2 * fitting.air <= NEARLY * length:
            return None
    needed = widest + 2 * (fitting.air + fitting.rest)
    first = here[0] if bracket.opens_left else mark.first
    last = 0 if bracket.opens_right or mark.last.tick <= first.tick else mark.last.number
    staff = setting.first_staff.get(mark.part, 1) + mark.staff - 1
    return Stretch(first.number, last, staff, mark.side, needed, max(0.0, needed - length / AIR), narrow)


def _heights(
    system: System, staff: int, notes: Box, outward: int, carrier: Box | None, pen: Pen
) -> tuple[float, float]:
    """Where a line would best be, and how near to the staff it may come."""
    top, bottom = system.staves.get(staff, (notes.top, notes.bottom))
    inner = min(top, notes.top) - pen.hook - 40.0 if outward < 0 else max(bottom, notes.bottom) + pen.hook + 40.0
    if carrier is None:
        return inner + outward * 60.0, inner
    wanted = (carrier.top + carrier.bottom) / 2
    return (min(wanted, inner) if outward < 0 else min(max(wanted, inner), inner + 60.0)), inner


def _wording(mark: Mark, system: System, left: float, right: float, goes_on: bool, setting: Setting) -> Wording:
    style, pen = setting.style, setting.pen
    if style.labels == "none" or not mark.labels[0]:
        return Wording((), "none")
    wordings = choose(mark.labels, style.labels)
    if goes_on:
        wordings = [(tier, text if pen.width(text) <= right - left else AS_BEFORE) for tier, text in _continued(mark, system)]
    changes = sorted((system.heads[note.number].left, text) for note, text in mark.changes if note.number in system.heads)
    if style.labels == "blank":
        return room_to_write(left, right, changes, pen.fitting())
    wording = word_bracket(left, right, wordings, changes, pen.fitting())
    return Wording(tuple(_inside(word, setting.width) for word in wording.words), wording.tier)


def _continued(mark: Mark, system: System) -> list[tuple[str, str]]:
    """Return what a bracket says that goes on from the system before.

    The short label, or the chord name last given, in parentheses; nothing where a chord name stands at its first note.
    """
    here = [note for note in mark.notes if note.number in system.heads]
    if any(note.tick == here[0].tick for note, _ in mark.changes):
        return []
    before = [text for note, text in mark.changes if note.tick < here[0].tick]
    return [("short", f"({before[-1] if before else mark.labels[2]})")]


def _room_for_words(mark: Mark, system: System, left: float, right: float, setting: Setting) -> float:
    """Return where a bracket that goes on begins: further left, up to the staff's beginning, where its words would be wider than it."""
    fitting = setting.pen.fitting()
    widths = [fitting.measure(text) for _, text in _continued(mark, system)] if setting.style.labels != "none" and mark.labels[0] else []
    needed = max(widths, default=0.0) + 2 * (fitting.air + fitting.rest)
    return min(left, max(system.left, right - needed)) if widths else left


def _inside(word: Any, width: float) -> Any:
    """Keep a word between the margins."""
    left = max(0.0, min(word.left, width - word.width))
    return type(word)(word.text, left, word.width, word.row, word.label)
