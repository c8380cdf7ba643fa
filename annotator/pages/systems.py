"""Systems: where they end, how they are on the page, and which brackets stand in them.

Conventions
-----------
* Widths and places are in the page's drawing units, from the left margin. The *strip* is the score drawn as one endless system, where
  nothing stretches or squeezes it; bars are counted from 0, staves through all parts from 1, notes are known by their numbers.
* A figure that goes on after a system break has one bracket in each system; what continues has open ends and repeats the short label in
  parentheses, or three dots where that is wider than the bracket.

Rule
----
A system of bars is stretched or squeezed by ``room / natural width``. Its cost is the square of what that differs from 1.08 (a little
air is good), squeezing four times as dear as stretching. The last system is left as it falls, but one that would be less than
half full costs what is missing, so that no last bar stands alone. Dynamic programming finds the cheapest whole.

Source: the method is the usual one for breaking lines of text; the 1.08 was tried out. Widths were measured on the engraver's pages.

>>> even_breaks([100.0] * 7, room=400.0, start=0.0)
(4,)
>>> even_breaks([100.0] * 9, room=400.0, start=0.0)
(4, 7)
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

from annotator.marks.marking import Mark
from annotator.marks.style import Style
from annotator.pages.boxes import Box, around, boxes_of
from annotator.pages.brackets import Bracket, Pen, Word, room_to_write, word_bracket
from annotator.pages.greying import groups_of, heads_of, lines_of, staves_of
from annotator.pages.mei import CLASS, Stretch, carrier_id
from annotator.pages.placing import Piece
from annotator.pages.svg import classes

AIR = 1.08
SQUEEZE = 4.0
MOST_BARS = 40
"""Bars looked at for one system."""

AS_BEFORE = "(…)"
"""What a bracket says that goes on, where its words would be wider than it is."""

TIERS = ("long", "medium", "short")
"""The labels of a mark, of which a style may want no longer one than this."""


@dataclass(frozen=True, slots=True)
class Strip:
    """The bar of each note by its number, the left ends of all bars and the right end of the last, from left to right.

    ``start`` is the width of what begins a system (clef, key).
    """

    bar_of: Mapping[int, int]
    edges: Sequence[float]
    start: float

    def widths(self, stretches: Iterable[Stretch]) -> list[float]:
        """Return the natural width of each bar, with what is missing in it."""
        widths = [right - left for left, right in pairwise(self.edges)]
        for stretch in stretches:
            if stretch.first in self.bar_of:
                widths[self.bar_of[stretch.first]] += stretch.missing
        return widths


@dataclass(frozen=True, slots=True)
class System:
    """One system of a page.

    ``index`` counts through the whole score. ``heads`` are by number of note, ``staves`` the top and bottom of each staff, ``carriers`` the
    box of each carrier by index of mark.
    """

    index: int
    heads: Mapping[int, Box]
    staves: Mapping[int, tuple[float, float]]
    left: float
    right: float
    carriers: Mapping[int, Box]


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

    def staff_of(self, mark: Mark) -> int:
        """Return the staff that a mark belongs to."""
        return self.first_staff.get(mark.part, 1) + mark.staff - 1

    def systems_of(self, mark: Mark) -> range:
        """Return the indexes of the systems from a mark's first note to its last, none if they are not on the pages."""
        ends = [self.system_of[note.number] for note in (mark.first, mark.last) if note.number in self.system_of]
        return range(min(ends), max(ends) + 1) if len(ends) == 2 else range(0)


def even_breaks(natural: Sequence[float], room: float, start: float) -> tuple[int, ...]:
    """Return the indexes of the bars that begin a new system, the first bar not among them; ``natural`` are the bars' widths.

    ``start`` is the width of clef and key signature at the start of every system but the first, whose bar has them already.
    """
    count = len(natural)
    best = [0.0] + [float("inf")] * count
    origin = [0] * (count + 1)
    for end in range(1, count + 1):
        width = 0.0
        for begin in range(end - 1, max(-1, end - 1 - MOST_BARS), -1):
            width += natural[begin]
            whole = width + (start if begin else 0.0)
            if whole > 1.35 * room and begin < end - 1:
                break
            cost = best[begin] + _cost(max(whole, 1.0), room, end == count)
            if cost < best[end]:
                best[end], origin[end] = cost, begin
    ends = []
    place = origin[count]
    while place:
        ends.append(place)
        place = origin[place]
    return tuple(reversed(ends))


def _cost(natural: float, room: float, last: bool) -> float:
    ratio = room / natural
    if last and ratio >= 1.0:
        missing = max(0.0, 0.5 - natural / room)
        return 2.0 * missing * missing
    off = ratio - AIR
    return off * off * (SQUEEZE if off < 0 else 1.0) + (1000.0 * (0.8 - ratio) if ratio < 0.8 else 0.0)


def read_strip(drawn: Any) -> Strip:
    """Read the strip as the engraver draws it."""
    bar_of: dict[int, int] = {}
    edges = [0.0]
    start = 0.0
    for bar, measure in enumerate(groups_of(drawn, "measure")):
        staff = next(iter(staves_of(measure)), ())
        lines = lines_of(staff)
        left, _, right, *_ = lines[0] if lines else (edges[-1], 0.0, edges[-1])
        if bar == 0:
            edges[0] = left
            begin = [box.right for each in staff if {"clef", "keySig"} & set(classes(each)) for box in boxes_of(each)]
            start = max([left, *begin]) - left
        edges.append(right)
        bar_of |= dict.fromkeys(heads_of(measure), bar)
    return Strip(bar_of, edges, start)


def read_systems(margins: Sequence[Any], marks: int) -> list[list[System]]:
    """Read all systems of so many marks, page by page, and take the carriers and the engraver's invisible marks out."""
    mark_of = {carrier_id(index): index for index in range(marks)}
    count = 0
    found: list[list[System]] = []
    for margin in margins:
        for hidden in groups_of(margin, "placeholder"):
            hidden.getparent().remove(hidden)
        groups = [each for each in margin if "system" in classes(each)]
        found.append([_system(group, count + at, mark_of) for at, group in enumerate(groups)])
        count += len(groups)
    return found


def _system(group: Any, index: int, mark_of: Mapping[str, int]) -> System:
    """Read a system and take the carriers out of it; ``mark_of`` is the index of the mark by its carrier's id."""
    carriers: dict[int, Box] = {}
    for element in groups_of(group, CLASS):
        names = [element.get("id", ""), *(each.removeprefix("id-") for each in classes(element))]
        mark = next((mark_of[name] for name in names if name in mark_of), None)
        boxes = boxes_of(element)
        if mark is not None and boxes:
            carriers[mark] = around(boxes)
        element.getparent().remove(element)
    staves: dict[int, tuple[float, float]] = {}
    left, right = float("inf"), 0.0
    for measure in [each for each in group if "measure" in classes(each)]:
        for number, staff in enumerate(staves_of(measure), 1):
            if lines := lines_of(staff):
                staves.setdefault(number, (lines[0][1], lines[-1][1]))
                left, right = min(left, lines[0][0]), max(right, lines[0][2])
    return System(index, heads_of(group), staves, left, right, carriers)


def brackets_in(systems: Sequence[System], marks: Sequence[Mark], setting: Setting) -> list[list[tuple[Bracket, Piece]]]:
    """Return the brackets of each of some systems that follow each other, in the order of the marks."""
    found: list[list[tuple[Bracket, Piece]]] = [[] for _ in systems]
    for index, mark in enumerate(marks):
        for at in setting.systems_of(mark):
            made = _bracket(systems[at], index, mark, setting)
            if made is not None:
                found[at].append(made)
    return found


def _bracket(system: System, index: int, mark: Mark, setting: Setting) -> tuple[Bracket, Piece] | None:
    """Return the bracket of a mark in one of its systems, None if it has none there."""
    within = setting.systems_of(mark)
    here = tuple(note for note in mark.notes if note.number in system.heads)
    if not here:
        return None
    whole = around([system.heads[note.number] for note in here])
    opens_left, opens_right = system.index > within[0], system.index < within[-1]
    left = whole.left - 150.0 if opens_left else system.heads[mark.first.number].left
    right = system.right - 40.0 if opens_right else system.heads[mark.last.number].right
    right = max(right, left + 60.0)
    again = _said_again(mark, system) if opens_left and setting.style.labels != "none" and mark.labels[0] else None
    if again:  # it begins further left, up to the staff's beginning, where its words would be wider than it
        left = min(left, max(system.left, right - setting.pen.width(again) - 2 * (setting.pen.air + setting.pen.rest)))
    outward = -1 if mark.side == "above" else 1
    words = _words(mark, system, left, right, again, setting)
    ticks = tuple(system.heads[note.number].left for note in mark.ticks if note.number in system.heads)
    bracket = Bracket(mark, here, left, right, opens_left, opens_right, outward, words, ticks)
    staff = setting.staff_of(mark)
    at_home = [system.heads[note.number] for note in here if note.staff == mark.staff]
    wanted, inner = _heights(system, staff, around(at_home) if at_home else whole, outward, system.carriers.get(index), setting.pen)
    boxes = bracket.boxes(setting.pen)
    at_least = boxes[:1] if setting.style.labels == "blank" and setting.gives_way else boxes
    return bracket, Piece((system.index, 0 if outward < 0 else 1, staff), boxes, at_least, wanted, inner, outward)


def _heights(system: System, staff: int, notes: Box, outward: int, carrier: Box | None, pen: Pen) -> tuple[float, float]:
    """Where a line would best be, and how near to the staff it may come."""
    top, bottom = system.staves.get(staff, (notes.top, notes.bottom))
    inner = min(top, notes.top) - pen.hook - 40.0 if outward < 0 else max(bottom, notes.bottom) + pen.hook + 40.0
    if carrier is None:
        return inner + outward * 60.0, inner
    wanted = (carrier.top + carrier.bottom) / 2
    return (min(wanted, inner) if outward < 0 else min(max(wanted, inner), inner + 60.0)), inner


def _words(mark: Mark, system: System, left: float, right: float, again: str | None, setting: Setting) -> tuple[Word, ...]:
    """Return the words of a bracket; ``again`` is what it says where it goes on from the system before, None if it begins here."""
    style, pen = setting.style, setting.pen
    if style.labels == "none" or not mark.labels[0]:
        return ()
    labels: Sequence[str] = mark.labels[TIERS.index(style.labels) if style.labels in TIERS else 0 :]
    if again is not None:
        labels = [again if pen.width(again) <= right - left else AS_BEFORE] if again else []
    changes = sorted((system.heads[note.number].left, text) for note, text in mark.changes if note.number in system.heads)
    if style.labels == "blank":
        return room_to_write(left, right, changes, pen)
    words = word_bracket(left, right, labels, changes, pen)
    return tuple(replace(word, left=max(0.0, min(word.left, setting.width - word.width))) for word in words)  # between the margins


def _said_again(mark: Mark, system: System) -> str:
    """Return what a bracket says that goes on from the system before.

    The short label, or the chord name last given, in parentheses; nothing where a chord name stands at its first note.
    """
    first = next(note for note in mark.notes if note.number in system.heads)
    if any(note.tick == first.tick for note, _ in mark.changes):
        return ""
    before = [text for note, text in mark.changes if note.tick < first.tick]
    return f"({before[-1] if before else mark.labels[2]})"


def stretch_of(bracket: Bracket, setting: Setting) -> Stretch | None:
    """Return the stretch that a bracket needs where it is too short for its words, else None."""
    mark, pen, length = bracket.mark, setting.pen, bracket.right - bracket.left
    widest = max((word.width for word in bracket.words if word.text), default=0.0)
    if widest <= length:
        return None
    needed = widest + 2 * (pen.air + pen.rest)
    first = bracket.notes[0] if bracket.opens_left else mark.first
    last = 0 if bracket.opens_right or mark.last.tick <= first.tick else mark.last.number
    return Stretch(first.number, last, setting.staff_of(mark), mark.side, needed, max(0.0, needed - length / AIR))
