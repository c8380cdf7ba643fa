"""How much room everything on a drawn page takes.

Conventions
-----------
* Units are those of the page's own drawing (ten to a tenth of a millimetre of paper), y grows downwards. Boxes are in the
  coordinates of the page's margin group, where our marks are drawn too.
* A slanted or curved thing is cut into slices, so that the room under a slur or beside a slanted beam stays free.

Rule
----
The engraver uses few kinds of element: path (straight lines, or one cubic curve there and one back), polygon, polyline, rect, ellipse,
glyph (``use``) and text. A box never is smaller than the ink; where a width has to be guessed (text in a music font) it is too large.

Source: measured on the engraver's output; glyph boxes are read from the table of the font that it ships (``Leipzig.xml``).
"""

from __future__ import annotations

import importlib.util
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from lxml import etree

from annotator.errors import EngraverError
from annotator.pages import fonts
from annotator.pages.boxes import TRANSFORM, Box, classes, numbers, tag, turned

SLICES = 16
"""Pieces a slur is cut into."""

HREF = "{http://www.w3.org/1999/xlink}href"
_ITALIC = frozenset({"dir", "dynam", "mNum"})
_BOLD = frozenset({"ending", "fing", "reh", "tempo"})
_LETTERED = _ITALIC | _BOLD


@cache
def glyphs() -> dict[str, tuple[float, float, float, float]]:
    """Return left, bottom, width and height of each music glyph by code point (``E0A4``), in thousandths of an em, y upwards."""
    spec = importlib.util.find_spec("verovio")
    if spec is None or spec.origin is None:
        raise EngraverError("the engraver is not installed: pip install verovio")
    table = Path(spec.origin).parent / "data" / "Leipzig.xml"
    try:
        root = etree.parse(str(table)).getroot()
    except (OSError, etree.XMLSyntaxError) as error:
        raise EngraverError(f"the engraver's font table cannot be read ({table}): install verovio anew") from error
    names = ("x", "y", "w", "h")
    return {
        g.get("c", ""): (float(g.get("x", 0)), float(g.get("y", 0)), float(g.get("w", 0)), float(g.get("h", 0)))
        for g in root.iter("g")
        if all(name in g.attrib for name in names)
    }


def boxes_of(element: Any, inherited: tuple[str, ...] = ()) -> Iterator[Box]:
    """Return the boxes of everything drawn in an element and below it, in the coordinates outside that element."""
    found: list[Box] = []
    _gather(element, inherited, found)
    return iter(found)


def _gather(element: Any, inherited: tuple[str, ...], found: list[Box]) -> None:
    """Append the boxes of an element and what is below it."""
    name = tag(element)
    draw = _DRAWN.get(name)
    if draw is not None:
        found.extend(draw(element))
        return
    own = classes(element)
    if "placeholder" in own:
        return
    if name == "g":
        transform, first = element.get("transform"), len(found)
        if not _LETTERED.isdisjoint(own):
            inherited = (*inherited, *own)
        for child in element:
            _gather(child, inherited, found)
        if transform:
            found[first:] = [turned(box, transform) for box in found[first:]]
    elif name == "text":
        found.extend(_text_boxes(element, inherited))


def _stroke(element: Any) -> float:
    return (numbers(element.get("stroke-width")) or [1.0])[0] / 2


def _path(element: Any) -> Iterator[Box]:
    data = element.get("d", "")
    half = _stroke(element)
    values = numbers(data)
    points = list(zip(values[::2], values[1::2], strict=False))
    if not points:
        return
    if "C" not in data:
        yield from _segments(points, half)
        return
    start = points[0]
    for index in range(1, len(points) - 2, 3):
        yield from _curve((start, *points[index : index + 3]), half)
        start = points[index + 2]


def _curve(points: tuple[tuple[float, float], ...], half: float) -> Iterator[Box]:
    def at(t: float) -> tuple[float, float]:
        """Return the point of the curve at a part of its way."""
        u = 1 - t
        weights = (u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t)
        return (
            sum(w * p[0] for w, p in zip(weights, points, strict=True)),
            sum(w * p[1] for w, p in zip(weights, points, strict=True)),
        )

    along = [at(index / SLICES) for index in range(SLICES + 1)]
    yield from _segments(along, half + 4)  # the bow between two points of the curve


def _segments(points: list[tuple[float, float]], half: float) -> Iterator[Box]:
    for (x1, y1), (x2, y2) in pairwise(points):
        if abs(x2 - x1) <= 60 or abs(y2 - y1) <= 60:
            yield Box(min(x1, x2) - half, min(y1, y2) - half, max(x1, x2) + half, max(y1, y2) + half)
            continue
        for step in range(8):  # slanted
            a, b = step / 8, (step + 1) / 8
            xa, xb = x1 + (x2 - x1) * a, x1 + (x2 - x1) * b
            ya, yb = y1 + (y2 - y1) * a, y1 + (y2 - y1) * b
            yield Box(min(xa, xb) - half, min(ya, yb) - half, max(xa, xb) + half, max(ya, yb) + half)


def _polygon(element: Any) -> Iterator[Box]:
    values = numbers(element.get("points"))
    points = list(zip(values[::2], values[1::2], strict=False))
    if len(points) == 4 and points[0][0] == points[3][0] and points[1][0] == points[2][0]:
        yield from _beam(points)
    elif points:
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        yield Box(min(xs), min(ys), max(xs), max(ys))


def _beam(points: list[tuple[float, float]]) -> Iterator[Box]:
    (x1, y1), (x2, y2) = points[0], points[1]
    height = points[3][1] - y1
    for step in range(8):
        a, b = step / 8, (step + 1) / 8
        ya, yb = y1 + (y2 - y1) * a, y1 + (y2 - y1) * b
        ys = (ya, yb, ya + height, yb + height)
        xa, xb = x1 + (x2 - x1) * a, x1 + (x2 - x1) * b
        yield Box(min(xa, xb), min(ys), max(xa, xb), max(ys))


def _polyline(element: Any) -> Iterator[Box]:
    values = numbers(element.get("points"))
    yield from _segments(list(zip(values[::2], values[1::2], strict=False)), _stroke(element))


def _rect(element: Any) -> Iterator[Box]:
    x, y, width, height = (float(element.get(name, 0)) for name in ("x", "y", "width", "height"))
    half = _stroke(element)
    yield Box(x - half, y - half, x + width + half, y + height + half)


def _ellipse(element: Any) -> Iterator[Box]:
    x, y, rx, ry = (float(element.get(name, 0)) for name in ("cx", "cy", "rx", "ry"))
    yield Box(x - rx, y - ry, x + rx, y + ry)


def _use(element: Any) -> Iterator[Box]:
    code = (element.get(HREF) or element.get("href") or "").lstrip("#").partition("-")[0]
    found = glyphs().get(code)
    if found is None:
        return
    parts = dict(TRANSFORM.findall(element.get("transform", "")))
    place = numbers(parts.get("translate")) or [0.0, 0.0]
    scale = numbers(parts.get("scale")) or [1.0]
    x, y, width, height = found
    sx, sy = scale[0], scale[-1]
    yield Box(place[0] + x * sx, place[1] - (y + height) * sy, place[0] + (x + width) * sx, place[1] - y * sy)


_DRAWN = {
    "path": _path,
    "polygon": _polygon,
    "polyline": _polyline,
    "rect": _rect,
    "ellipse": _ellipse,
    "use": _use,
}


@dataclass(slots=True)
class _Pen:
    """Where a text is being set, and what has been set from there on: (text, size, bold, italic, music)."""

    x: float
    y: float
    anchor: str
    runs: list[tuple[str, float, bool, bool, bool]]


def _text_boxes(element: Any, inherited: tuple[str, ...]) -> Iterator[Box]:
    pens = [_Pen(0.0, 0.0, "start", [])]
    bold = not _BOLD.isdisjoint(inherited)
    italic = not _ITALIC.isdisjoint(inherited)
    _set(element, pens, 0.0, bold, italic, False)
    for pen in pens:
        if pen.runs:
            yield _set_box(pen)


def _set(element: Any, pens: list[_Pen], size: float, bold: bool, italic: bool, music: bool) -> None:
    size = (numbers(element.get("font-size")) or [size])[0]
    bold = element.get("font-weight", "bold" if bold else "") == "bold"
    italic = element.get("font-style", "italic" if italic else "") == "italic"
    music = music or element.get("font-family") in ("Leipzig", "VerovioText")
    if element.get("x") is not None or element.get("y") is not None:
        last = pens[-1]
        x = float(element.get("x", last.x))
        pens.append(_Pen(x, float(element.get("y", last.y)), element.get("text-anchor", last.anchor), []))
    elif element.get("text-anchor"):
        pens[-1].anchor = element.get("text-anchor")
    text = element.text or ""
    if text.strip():
        pens[-1].runs.append((text, size, bold, italic, music))
    for child in element:
        _set(child, pens, size, bold, italic, music)


def _set_box(pen: _Pen) -> Box:
    width, top, bottom = 0.0, 0.0, 0.0
    for text, size, bold, italic, music in pen.runs:
        if music:
            width, top, bottom = width + 0.9 * size * len(text), max(top, 0.9 * size), max(bottom, 0.3 * size)
            continue
        box = fonts.text_box(text, size, bold, italic)
        width += fonts.text_width(text, size, bold, italic)
        top, bottom = max(top, -box[1]), max(bottom, box[3])
    left = pen.x - {"start": 0.0, "middle": width / 2, "end": width}.get(pen.anchor, 0.0)
    return Box(left - 15, pen.y - top, left + width + 15, pen.y + bottom)
