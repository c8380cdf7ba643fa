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


@dataclass(slots=True)
class Shades:
    """Which notes are grey and which are anchors, in what grey; the heads on a page, the staff of each note, what a chord's id stands for.

    ``reasons`` are those to tell.
    """

    grey: frozenset[int]
    anchors: frozenset[int]
    colour: str
    fingerings: bool
    heads: Mapping[int, Box]
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


def heads_of(group: Any) -> dict[int, Box]:
    """Return the noteheads in a group by the numbers of their notes."""
    return {
        number: box
        for note in groups_of(group, "note")
        if (number := note_number(note.get("id")))
        for part in note
        if "notehead" in classes(part)
        for box in boxes_of(part)[:1]
    }


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
            elif name in _REFERRING and (name != "fing" or shades.fingerings):
                shades.turn(group, shades.why(note for told in _REFERRING[name] for note in shades.referred(group.get(told, ""))))


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
    heads = sorted((shades.heads[number].top, number) for number in shades.members[chord.get("id")] if number in shades.heads)
    columns: dict[float, list[tuple[float, Any]]] = defaultdict(list)
    for dot in [child for child in dots if tag(child) == "ellipse"]:
        columns[float(dot.get("cx"))].append((float(dot.get("cy")), dot))
    for column in columns.values():
        if len(column) == len(heads):
            for (_, dot), (_, number) in zip(sorted(column, key=lambda each: each[0]), heads, strict=True):
                shades.turn(dot, shades.why([number]))


def _measure(group: Any, shades: Shades) -> None:
    for path, notes in ledger_lines(group, shades):
        shades.turn(path, shades.why(notes))


def ledger_lines(measure: Any, shades: Shades) -> Iterator[tuple[Any, list[int]]]:
    """Yield the ledger lines of a bar, each with the notes whose heads need it."""
    ledgers = [
        (index, path, lines)
        for index, staff in enumerate(staves_of(measure), 1)
        if (lines := lines_of(staff))
        for group in staff
        if "ledgerLines" in classes(group)
        for path in group
    ]
    here = [number for note in groups_of(measure, "note") if (number := note_number(note.get("id"))) in shades.heads] if ledgers else []
    for index, path, lines in ledgers:
        left, y, right, *_ = numbers(path.get("d"))
        heads = ((number, shades.heads[number]) for number in here if shades.staff_of.get(number) == index)
        yield path, [
            number
            for number, head in heads
            if left - 10 <= (head.left + head.right) / 2 <= right + 10
            and ((head.top < y and head.bottom < lines[0][1]) if y < lines[0][1] else (head.bottom > y and head.top > lines[-1][1]))
        ]


_BEAMED = {"beam", "graceGrp"}


def _has_no_chord(note: Any) -> bool:
    return "note" in classes(note) and "chord" not in classes(note.getparent())


def _beam(group: Any, shades: Shades) -> None:
    """Colour the beam of a group of notes, those of beams and grace notes inside it left out."""
    homes = [each for each in group.iter(SVG + "g") if "chord" in classes(each) or _has_no_chord(each)]
    own = [each for each in homes if next(up for up in each.iterancestors() if _BEAMED & set(classes(up))) is group]
    _colour_beam(group, own, shades)


def _beam_span(group: Any, shades: Shades) -> None:
    """Colour a beam that is drawn apart from its notes, of which it has a list."""
    wanted = set(shades.referred(group.get("data-plist", "")))
    notes = [note for note in groups_of(group.getroottree().getroot(), "note") if note_number(note.get("id")) in wanted]
    homes = [note if _has_no_chord(note) else note.getparent() for note in notes]
    _colour_beam(group, homes, shades)


def _colour_beam(group: Any, homes: Iterable[Any], shades: Shades) -> None:
    """Put pieces in place of each polygon of a beam, one for each run of neighbouring gaps of one colour, for one reason.

    ``homes`` are the notes and chords whose stems it joins.
    """
    stems = sorted(
        {
            (numbers(path.get("d"))[0], tuple(shades.members.get(home.get("id", ""), [note_number(home.get("id"))])))
            for home in homes
            for child in home
            if "stem" in classes(child)
            for path in child.iterchildren(SVG + "path")
        }
    )
    for polygon in [child for child in group if tag(child) == "polygon"]:
        values = numbers(polygon.get("points"))
        left, right = min(values[0::2]), max(values[0::2])
        near = [stem for stem in stems if left - 20 <= stem[0] <= right + 20]
        runs: list[tuple[float, str | None]] = []
        for one, other in pairwise(near) if len(near) > 1 else zip(near, near, strict=True):
            why = shades.why((*one[1], *other[1]))
            runs = [*(runs[:-1] if runs and runs[-1][1] == why else runs), (other[0], why)]
        if any(why is not None for _, why in runs):
            _cut(polygon, values, [*runs[:-1], (right, runs[-1][1])], shades)


def _cut(polygon: Any, values: list[float], runs: list[tuple[float, str | None]], shades: Shades) -> None:
    """Put pieces in place of a polygon of a beam, from the left: where each ends, and why it is grey."""
    x1, y1, x2, y2, _, y3, _, y4 = values
    start = min(x1, x2)
    for end, why in runs:
        along = [(x - x1) / (x2 - x1) for x in (start, end)]
        corners = [*zip((start, end), (y1 + (y2 - y1) * part for part in along), strict=True)]
        corners += [*zip((end, start), (y4 + (y3 - y4) * part for part in reversed(along)), strict=True)]
        piece = polygon.makeelement(polygon.tag, dict(polygon.attrib))
        piece.set("points", " ".join(f"{x:g},{round(y, 1):g}" for x, y in corners))
        piece.tail = polygon.tail
        if why is not None:
            shades.turn(piece, why)
            _add_class(piece, "grey")
        polygon.addprevious(piece)
        start = end
    polygon.getparent().remove(polygon)


_REFERRING = {"tie": ("data-startid", "data-endid"), "fing": ("data-startid",), "arpeg": ("data-plist",)}
"""What turns with notes that it refers to, and where it does."""

_RULES: dict[str, Callable[[Any, Shades], None]] = {
    "note": _note,
    "chord": _chord,
    "beam": _beam,
    "beamSpan": _beam_span,
    "measure": _measure,
}


def take_heads_off(page: Any, covered: Collection[int], shades: Shades) -> None:
    """Take off a page what is covered."""
    groups = [group for group in groups_of(page, "note") if note_number(group.get("id")) in covered and _has_stem(group)]
    bare = {note_number(group.get("id")) for group in groups}
    for measure in groups_of(page, "measure"):
        for path, notes in list(ledger_lines(measure, shades)):
            if notes and bare.issuperset(notes):
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
