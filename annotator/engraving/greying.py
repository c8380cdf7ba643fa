"""Colour on the notes: what need not be read turns grey, with everything that belongs to it.

Conventions
-----------
* Notes are known by number. A tied-on note is in the set of grey numbers when the note it continues is.
* Grey is set as ``fill`` and ``color`` (strokes take the current colour) together with class ``grey``; anchors get class ``anchor``.
* Where reasons are given (what makes each note grey), what is grey tells those of its notes in ``data-grey``, with commas between the
  notes' reasons: ``data-grey="arpeggio,scale-run"`` is grey as long as both hold. A beam is then cut where the reason changes, too.

Rule
----
A note's head, accidental, stem, flag, dots and articulations are inside its group and turn with it; what a chord's notes share turns
when all of them are grey, its dots one by one. A beam is cut at its stems: the piece between two neighbouring grey stems is grey. A
ledger line is grey when all heads on it are, a tie when both its ends are, an arpeggio sign when all its notes are; a fingering follows
its note if the style says so. Slurs, dynamics, tuplet numbers and rests stay dark.

Source: where the engraver draws what was measured; the choice of what stays dark is common practice, no source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from annotator.engraving.boxes import Box, classes, numbers, tag
from annotator.engraving.geometry import boxes_of
from annotator.engraving.render_copy import PREFIX

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True, slots=True)
class Head:
    """A notehead on the page: the note's number, its box, and the staff (through all parts, from 1) it stands on."""

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


def note_number(element: Any) -> int:
    """Return the number of the note a group or a reference (``#note-12``) belongs to, 0 if none."""
    text = element if isinstance(element, str) else element.get("id", "")
    text = text.lstrip("#")
    return int(text[len(PREFIX) :]) if text.startswith(PREFIX) and text[len(PREFIX) :].isdecimal() else 0


def shade(page: Any, shades: Shades) -> None:
    """Colour everything on one page."""
    for group in page.iter(SVG + "g"):
        own = classes(group)
        if "chord" in own:
            shades.members[group.get("id", "")] = [number for number in map(note_number, group.iter(SVG + "g")) if number]
    for group in list(page.iter(SVG + "g")):
        for name in classes(group):
            if name in _RULES:
                _RULES[name](group, shades)


def _add_class(element: Any, name: str) -> None:
    element.set("class", f"{element.get('class', '')} {name}".strip())


def _turn_grey(element: Any, shades: Shades, why: str | None) -> None:
    """Colour an element, if there is a reason to."""
    if why is None:
        return
    element.set("fill", shades.colour)
    element.set("color", shades.colour)
    if why:
        element.set("data-grey", why)


def _note(group: Any, shades: Shades) -> None:
    number = note_number(group)
    if number in shades.grey:
        _add_class(group, "grey")
        _turn_grey(group, shades, shades.why([number]))
    elif number in shades.anchors:
        _add_class(group, "anchor")


def _chord(group: Any, shades: Shades) -> None:
    why = shades.why(shades.members.get(group.get("id", ""), []))
    _turn_grey(group, shades, why)
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
                _turn_grey(dot, shades, shades.why([number]))


def _tie(group: Any, shades: Shades) -> None:
    _turn_grey(group, shades, shades.why(note_number(group.get(name, "")) for name in ("data-startid", "data-endid")))


def _referred(text: str, shades: Shades) -> list[int]:
    found: list[int] = []
    for each in text.split():
        found += shades.members.get(each.lstrip("#"), [note_number(each)])
    return found


def _fingering(group: Any, shades: Shades) -> None:
    if shades.fingerings:
        _turn_grey(group, shades, shades.why(_referred(group.get("data-startid", ""), shades)))


def _arpeggio(group: Any, shades: Shades) -> None:
    _turn_grey(group, shades, shades.why(_referred(group.get("data-plist", ""), shades)))


def _stem_x(group: Any) -> float | None:
    for child in group:
        if "stem" in classes(child):
            for path in child:
                if tag(path) == "path":
                    return numbers(path.get("d"))[0]
    return None


Stem = tuple[float, tuple[int, ...]]
"""Where a stem stands, and the notes on it."""


def _stems(beam: Any, shades: Shades) -> list[Stem]:
    """Return the stems under a beam, from the left."""
    stems: list[Stem] = []
    for group in _within(beam):
        own = classes(group)
        if "chord" in own or ("note" in own and "chord" not in classes(group.getparent())):
            notes = shades.members.get(group.get("id", ""), [note_number(group)])
            x = _stem_x(group)
            if x is not None:
                stems.append((x, tuple(notes)))
    return sorted(stems)


def _within(beam: Any) -> Iterator[Any]:
    """Yield the groups of a beam, without those of beams and grace notes inside it."""
    for child in beam:
        if tag(child) == "g" and not {"beam", "graceGrp"} & set(classes(child)):
            yield child
            yield from _within(child)


def _beam(group: Any, shades: Shades) -> None:
    stems = _stems(group, shades)
    _colour_polygons(group, stems, shades)


def _beam_span(group: Any, shades: Shades) -> None:
    page = group.getroottree().getroot()
    wanted = set(_referred(group.get("data-plist", ""), shades))
    stems: list[Stem] = []
    for note in page.iter(SVG + "g"):
        if "note" in classes(note) and note_number(note) in wanted:
            parent = note.getparent()
            home = parent if "chord" in classes(parent) else note
            notes = shades.members.get(home.get("id", ""), [note_number(home)])
            x = _stem_x(home)
            if x is not None:
                stems.append((x, tuple(notes)))
    _colour_polygons(group, sorted(set(stems)), shades)


def _colour_polygons(group: Any, stems: list[Stem], shades: Shades) -> None:
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
            _turn_grey(polygon, shades, why)
            _add_class(polygon, "grey")


def _cut(polygon: Any, values: list[float], stems: list[Stem], shades: Shades) -> None:
    """Put pieces in place of a beam polygon, one for each run of neighbouring gaps of one colour, for one reason."""
    x1, x2 = values[0], values[2]
    left, right = min(x1, x2), max(x1, x2)
    edges = [left, *(stem[0] for stem in stems[1:-1]), right]
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
        corners = (
            (start, height(start, 1, 3)),
            (end, height(end, 1, 3)),
            (end, height(end, 7, 5)),
            (start, height(start, 7, 5)),
        )
        piece.set("points", " ".join(f"{x:g},{round(y, 1):g}" for x, y in corners))
        piece.tail = polygon.tail
        if why is not None:
            _turn_grey(piece, shades, why)
            _add_class(piece, "grey")
        polygon.addprevious(piece)
    polygon.getparent().remove(polygon)


def _measure(group: Any, shades: Shades) -> None:
    staves = [child for child in group if "staff" in classes(child)]
    heads: list[Head] | None = None
    for index, staff in enumerate(staves, 1):
        for ledgers in [child for child in staff if "ledgerLines" in classes(child)]:
            if heads is None:
                heads = heads_of(group, shades.staff_of)
            lines = staff_lines(staff)
            for path in ledgers:
                _ledger(path, [head for head in heads if head.staff == index], lines, shades)


def staff_lines(staff: Any) -> list[float]:
    """Return the heights of a staff's lines, from the top."""
    return [numbers(child.get("d"))[1] for child in staff if tag(child) == "path"]


def heads_of(group: Any, staff_of: Mapping[int, int]) -> list[Head]:
    """Return the noteheads in a group."""
    found = []
    for note in group.iter(SVG + "g"):
        number = note_number(note)
        if not number or "note" not in classes(note):
            continue
        for part in note:
            if "notehead" in classes(part):
                found += [Head(number, box, staff_of.get(number, 0)) for box in boxes_of(part)]
    return found


def _ledger(path: Any, heads: list[Head], lines: list[float], shades: Shades) -> None:
    values = numbers(path.get("d"))
    if len(values) < 4 or not lines:
        return
    left, right, y = values[0], values[2], values[1]
    above = y < lines[0]
    on_it = [
        head
        for head in heads
        if left - 10 <= (head.box.left + head.box.right) / 2 <= right + 10
        and ((head.box.top < y) if above else (head.box.bottom > y))
        and ((head.box.bottom < lines[0]) if above else (head.box.top > lines[-1]))
    ]
    _turn_grey(path, shades, shades.why(head.number for head in on_it))


_RULES = {
    "note": _note,
    "chord": _chord,
    "tie": _tie,
    "fing": _fingering,
    "arpeg": _arpeggio,
    "beam": _beam,
    "beamSpan": _beam_span,
    "measure": _measure,
}
