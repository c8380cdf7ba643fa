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
from collections.abc import Iterator, Mapping
from typing import Any

from annotator.pages.beams import colour_beam, colour_beam_span
from annotator.pages.shades import Head, Shades, add_class, heads_of, note_number, referred, turn_grey
from annotator.pages.svg import SVG, classes, numbers, tag


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


def _note(group: Any, shades: Shades) -> None:
    number = note_number(group)
    if number in shades.grey:
        add_class(group, "grey")
        turn_grey(group, shades, shades.why([number]))
    elif number in shades.anchors:
        add_class(group, "anchor")


def _chord(group: Any, shades: Shades) -> None:
    why = shades.why(shades.members.get(group.get("id", ""), []))
    turn_grey(group, shades, why)
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
                turn_grey(dot, shades, shades.why([number]))


def _tie(group: Any, shades: Shades) -> None:
    turn_grey(group, shades, shades.why(note_number(group.get(name, "")) for name in ("data-startid", "data-endid")))


def _fingering(group: Any, shades: Shades) -> None:
    if shades.fingerings:
        turn_grey(group, shades, shades.why(referred(group.get("data-startid", ""), shades)))


def _arpeggio(group: Any, shades: Shades) -> None:
    turn_grey(group, shades, shades.why(referred(group.get("data-plist", ""), shades)))


def _measure(group: Any, shades: Shades) -> None:
    for path, on_it in ledger_lines(group, shades.staff_of):
        turn_grey(path, shades, shades.why(head.number for head in on_it))


def ledger_lines(measure: Any, staff_of: Mapping[int, int]) -> Iterator[tuple[Any, list[Head]]]:
    """Yield the ledger lines of a bar, each with the heads that need it."""
    staves = [child for child in measure if "staff" in classes(child)]
    heads: list[Head] | None = None
    for index, staff in enumerate(staves, 1):
        for ledgers in [child for child in staff if "ledgerLines" in classes(child)]:
            if heads is None:
                heads = heads_of(measure, staff_of)
            lines = staff_lines(staff)
            here = [head for head in heads if head.staff == index]
            yield from ((path, _on_ledger(path, here, lines)) for path in list(ledgers))


def staff_lines(staff: Any) -> list[float]:
    """Return the heights of a staff's lines, from the top."""
    return [numbers(child.get("d"))[1] for child in staff if tag(child) == "path"]


def _on_ledger(path: Any, heads: list[Head], lines: list[float]) -> list[Head]:
    values = numbers(path.get("d"))
    if len(values) < 4 or not lines:
        return []
    left, right, y = values[0], values[2], values[1]
    above = y < lines[0]
    return [
        head
        for head in heads
        if left - 10 <= (head.box.left + head.box.right) / 2 <= right + 10
        and ((head.box.top < y) if above else (head.box.bottom > y))
        and ((head.box.bottom < lines[0]) if above else (head.box.top > lines[-1]))
    ]


_RULES = {
    "note": _note,
    "chord": _chord,
    "tie": _tie,
    "fing": _fingering,
    "arpeg": _arpeggio,
    "beam": colour_beam,
    "beamSpan": colour_beam_span,
    "measure": _measure,
}
