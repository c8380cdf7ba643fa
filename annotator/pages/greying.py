"""Colour on the notes: what need not be read turns grey, with everything that belongs to it; what is covered is taken off.

Conventions
-----------
* Notes are known by number; staves are counted through all parts from 1. A tied-on note is in the set of grey numbers when the note it
  continues is.
* Grey is set as ``fill`` and ``color`` (strokes take the current colour) together with class ``grey``; anchors get class ``anchor``,
  covered notes ``covered`` beside ``grey``.
* Where reasons are given (what makes each note grey), what is grey tells those of its notes in ``data-grey``, with commas between the
  notes' reasons: ``data-grey="arpeggio,scale-run"`` is grey as long as both hold. A beam is then cut where the reason changes, too.

Rule
----
A note's head, accidental, stem, flag, dots and articulations are inside its group and turn with it; what a chord's notes share turns
when all of them are grey, its dots one by one. A beam is cut at its stems: the piece between two neighbouring grey stems is grey. A
ledger line is grey when all heads on it are, a tie when both its ends are, an arpeggio sign when all its notes are; a fingering follows
its note if the style says so. Slurs, dynamics, tuplet numbers and rests stay dark.

Covered are heads, accidentals and their ledger lines. They were there when the page was laid out, so that a covered page and its marked
page are alike in all else. A note without a stem keeps its head, for nothing would be left of it.

Source: where the engraver draws what was measured; the choice of what stays dark is common practice, no source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from annotator.pages.boxes import Box, boxes_of
from annotator.pages.render_copy import note_number
from annotator.pages.svg import SVG, classes, numbers, tag


@dataclass(frozen=True, slots=True)
class Head:
    """A notehead on the page: the note's number, its box, and the staff it stands on."""

    number: int
    box: Box
    staff: int


@dataclass(slots=True)
class Shades:
    """Which notes are grey and which are anchors, in what grey; the staff of each note; what a chord's id stands for; reasons to tell."""

    grey: frozenset[int]
    anchors: frozenset[int]
    colour: str
    fingerings: bool
    staff_of: Mapping[int, int]
    members: dict[str, list[int]] = field(default_factory=dict)
    reasons: Mapping[int, str] | None = None

    def why(self, notes: Iterable[int]) -> str | None:
        """Return why grey is what belongs to these notes: '' where no reasons are asked for, None if it is not grey."""
        notes = list(notes)
        if not notes or any(number not in self.grey for number in notes):
            return None
        return "" if self.reasons is None else ",".join(sorted({self.reasons.get(number, "") for number in notes}))

    def referred(self, text: str) -> list[int]:
        """Return the numbers of the notes that a list of references names, chords by their notes."""
        return [number for each in text.split() for number in self.members.get(each.lstrip("#"), [note_number(each)])]

    def turn(self, element: Any, why: str | None) -> None:
        """Colour an element, if there is a reason to."""
        if why is not None:
            element.set("fill", self.colour)
            element.set("color", self.colour)
            if why:
                element.set("data-grey", why)


def groups_of(element: Any, name: str) -> list[Any]:
    """Return the groups of a class in an element, itself among them."""
    return [each for each in element.iter(SVG + "g") if name in classes(each)]


def heads_of(group: Any, staff_of: Mapping[int, int]) -> list[Head]:
    """Return the noteheads in a group; ``staff_of`` is the staff of each note."""
    return [
        Head(number, box, staff_of.get(number, 0))
        for note in groups_of(group, "note")
        if (number := note_number(note.get("id")))
        for part in note
        if "notehead" in classes(part)
        for box in boxes_of(part)
    ]


def staves_of(measure: Any) -> list[Any]:
    """Return the staves of a bar, from the top."""
    return [child for child in measure if "staff" in classes(child)]


def lines_of(staff: Any) -> list[list[float]]:
    """Return the lines of a staff as they are drawn, from the top: left end, height, right end, height."""
    return [numbers(child.get("d")) for child in staff if tag(child) == "path"]


def _add_class(element: Any, name: str) -> None:
    element.set("class", f"{element.get('class', '')} {name}".strip())


def shade(page: Any, shades: Shades) -> None:
    """Colour everything on one page."""
    for chord in groups_of(page, "chord"):
        shades.members[chord.get("id", "")] = [number for each in chord.iter(SVG + "g") if (number := note_number(each.get("id")))]
    for group in list(page.iter(SVG + "g")):
        for name in classes(group):
            if name in _RULES:
                _RULES[name](group, shades)


def _note(group: Any, shades: Shades) -> None:
    number = note_number(group.get("id"))
    if number in shades.grey:
        _add_class(group, "grey")
        shades.turn(group, shades.why([number]))
    elif number in shades.anchors:
        _add_class(group, "anchor")


def _chord(group: Any, shades: Shades) -> None:
    why = shades.why(shades.members.get(group.get("id", ""), []))
    shades.turn(group, why)
    if why is None or why:  # in part, or for reasons of which one may be taken away
        for dots in [child for child in group if "dots" in classes(child)]:
            _dots(dots, group, shades)


def _dots(dots: Any, chord: Any, shades: Shades) -> None:
    """Colour the dots of a chord with their notes: every column of dots has one for each note, in the same order from the top."""
    heads = sorted((head.box.top + head.box.bottom, head.number) for head in heads_of(chord, shades.staff_of))
    columns: dict[float, list[tuple[float, Any]]] = defaultdict(list)
    for dot in [child for child in dots if tag(child) == "ellipse"]:
        columns[float(dot.get("cx"))].append((float(dot.get("cy")), dot))
    for column in columns.values():
        if len(column) == len(heads):
            for (_, dot), (_, number) in zip(sorted(column, key=lambda each: each[0]), heads, strict=True):
                shades.turn(dot, shades.why([number]))


def _tie(group: Any, shades: Shades) -> None:
    shades.turn(group, shades.why(note_number(group.get(name)) for name in ("data-startid", "data-endid")))


def _fingering(group: Any, shades: Shades) -> None:
    if shades.fingerings:
        shades.turn(group, shades.why(shades.referred(group.get("data-startid", ""))))


def _arpeggio(group: Any, shades: Shades) -> None:
    shades.turn(group, shades.why(shades.referred(group.get("data-plist", ""))))


def _measure(group: Any, shades: Shades) -> None:
    for path, on_it in ledger_lines(group, shades.staff_of):
        shades.turn(path, shades.why(head.number for head in on_it))


def ledger_lines(measure: Any, staff_of: Mapping[int, int]) -> Iterator[tuple[Any, list[Head]]]:
    """Yield the ledger lines of a bar, each with the heads that need it."""
    found = [
        (index, staff, path)
        for index, staff in enumerate(staves_of(measure), 1)
        for ledgers in staff
        if "ledgerLines" in classes(ledgers)
        for path in ledgers
    ]
    heads = heads_of(measure, staff_of) if found else []
    for index, staff, path in found:
        yield path, _on_ledger(path, [head for head in heads if head.staff == index], [line[1] for line in lines_of(staff)])


def _on_ledger(path: Any, heads: list[Head], lines: list[float]) -> list[Head]:
    left, y, right, *_ = numbers(path.get("d"))
    if not lines:
        return []
    above = y < lines[0]
    return [
        head
        for head in heads
        if left - 10 <= (head.box.left + head.box.right) / 2 <= right + 10
        and ((head.box.top < y) if above else (head.box.bottom > y))
        and ((head.box.bottom < lines[0]) if above else (head.box.top > lines[-1]))
    ]


Stem = tuple[float, tuple[int, ...]]
"""Where a stem stands, and the notes on it."""


def _stem(group: Any, shades: Shades) -> Iterator[Stem]:
    """Yield the stem of a note or chord, if it has one."""
    for child in group:
        if "stem" in classes(child):
            for path in child:
                if tag(path) == "path":
                    yield numbers(path.get("d"))[0], tuple(shades.members.get(group.get("id", ""), [note_number(group.get("id"))]))
                    return


def _has_no_chord(note: Any) -> bool:
    return "note" in classes(note) and "chord" not in classes(note.getparent())


def _beam(group: Any, shades: Shades) -> None:
    """Colour the beam of a group of notes, those of beams and grace notes inside it left out."""

    def within(beam: Any) -> Iterator[Any]:
        """Yield the groups of a beam."""
        for child in beam:
            if tag(child) == "g" and not {"beam", "graceGrp"} & set(classes(child)):
                yield child
                yield from within(child)

    homes = [each for each in within(group) if "chord" in classes(each) or _has_no_chord(each)]
    _colour_beam(group, sorted(stem for home in homes for stem in _stem(home, shades)), shades)


def _beam_span(group: Any, shades: Shades) -> None:
    """Colour a beam that is drawn apart from its notes, of which it has a list."""
    wanted = set(shades.referred(group.get("data-plist", "")))
    notes = [note for note in groups_of(group.getroottree().getroot(), "note") if note_number(note.get("id")) in wanted]
    homes = [note if _has_no_chord(note) else note.getparent() for note in notes]
    _colour_beam(group, sorted({stem for home in homes for stem in _stem(home, shades)}), shades)


def _colour_beam(group: Any, stems: list[Stem], shades: Shades) -> None:
    if all(shades.why(notes) is None for _, notes in stems):
        return
    for polygon in [child for child in group if tag(child) == "polygon"]:
        values = numbers(polygon.get("points"))
        if len(values) != 8:
            continue
        left, right = min(values[0::2]), max(values[0::2])
        near = [stem for stem in stems if left - 20 <= stem[0] <= right + 20]
        pieces = [shades.why((*a[1], *b[1])) for a, b in pairwise(near)]
        if len(set(pieces)) > 1:
            _cut(polygon, values, near, shades)
        elif near and (why := shades.why(note for _, notes in near for note in notes)) is not None:
            shades.turn(polygon, why)
            _add_class(polygon, "grey")


def _cut(polygon: Any, values: list[float], stems: list[Stem], shades: Shades) -> None:
    """Put pieces in place of a beam polygon, one for each run of neighbouring gaps of one colour, for one reason."""
    x1, x2 = values[0], values[2]
    edges = [min(x1, x2), *(stem[0] for stem in stems[1:-1]), max(x1, x2)]
    runs: list[tuple[float, float, str | None]] = []
    for (a, b), (start, end) in zip(pairwise(stems), pairwise(edges), strict=True):
        why = shades.why((*a[1], *b[1]))
        if runs and runs[-1][2] == why:
            runs[-1] = (runs[-1][0], end, why)
        else:
            runs.append((start, end, why))

    def height(x: float, first: int, second: int) -> float:
        """Return how high an edge of the beam is at a place."""
        return values[first] + (values[second] - values[first]) * (x - x1) / (x2 - x1)

    for start, end, why in runs:
        piece = polygon.makeelement(polygon.tag, dict(polygon.attrib))
        corners = [(x, height(x, 1, 3)) for x in (start, end)] + [(x, height(x, 7, 5)) for x in (end, start)]
        piece.set("points", " ".join(f"{x:g},{round(y, 1):g}" for x, y in corners))
        piece.tail = polygon.tail
        if why is not None:
            shades.turn(piece, why)
            _add_class(piece, "grey")
        polygon.addprevious(piece)
    polygon.getparent().remove(polygon)


_RULES: dict[str, Callable[[Any, Shades], None]] = {
    "note": _note,
    "chord": _chord,
    "tie": _tie,
    "fing": _fingering,
    "arpeg": _arpeggio,
    "beam": _beam,
    "beamSpan": _beam_span,
    "measure": _measure,
}


def take_heads_off(page: Any, covered: Collection[int], staff_of: Mapping[int, int]) -> None:
    """Take off a page what is covered."""
    groups = [group for group in groups_of(page, "note") if note_number(group.get("id")) in covered and _has_stem(group)]
    bare = {note_number(group.get("id")) for group in groups}
    for measure in groups_of(page, "measure"):
        for path, heads in ledger_lines(measure, staff_of):
            if heads and all(head.number in bare for head in heads):
                path.getparent().remove(path)
    for group in groups:
        _add_class(group, "covered")
        for part in list(group):
            if {"notehead", "accid"} & set(classes(part)):
                group.remove(part)


def _has_stem(note: Any) -> bool:
    """Return whether a note, or the chord that it is of, has a stem."""
    homes = (note,) if _has_no_chord(note) else (note, note.getparent())
    return any("stem" in classes(child) and len(child) for home in homes for child in home)
