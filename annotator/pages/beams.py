"""Grey beams: a beam is cut at its stems.

Rule
----
The piece of a beam between two neighbouring grey stems is grey. Where reasons are given, a beam is also cut where the reason changes.

Source: where the engraver draws beams was measured.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from annotator.pages.shades import Shades, add_class, note_number, referred, turn_grey
from annotator.pages.svg import SVG, classes, numbers, tag


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


def colour_beam(group: Any, shades: Shades) -> None:
    """Colour the beam of a group of notes."""
    stems = _stems(group, shades)
    _colour_polygons(group, stems, shades)


def colour_beam_span(group: Any, shades: Shades) -> None:
    """Colour a beam that is drawn apart from its notes, of which it has a list."""
    page = group.getroottree().getroot()
    wanted = set(referred(group.get("data-plist", ""), shades))
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
            turn_grey(polygon, shades, why)
            add_class(polygon, "grey")


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
            turn_grey(piece, shades, why)
            add_class(piece, "grey")
        polygon.addprevious(piece)
    polygon.getparent().remove(polygon)
