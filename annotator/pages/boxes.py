"""Boxes: how much room everything on a drawn page takes.

Conventions
-----------
* Units are those of the page's own drawing (ten to a tenth of a millimetre of paper), y grows downwards. A box is in the coordinates of
  whoever holds it; those of what is drawn are in the coordinates of the page's margin group, where our marks are drawn too.
* A slanted or curved thing is cut into slices, so that the room under a slur or beside a slanted beam stays free.

Rule
----
The engraver uses few kinds of element: path (straight lines, or one cubic curve there and one back), polygon, polyline, rect, ellipse,
glyph (``use``) and text. A box never is smaller than the ink.

Source: measured on the engraver's output.

>>> Box(0, 0, 10, 5).meets(Box(9, 4, 20, 20)), Box(0, 0, 10, 5).meets(Box(10, 0, 20, 5))
(True, False)
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any, NamedTuple

from fontTools.misc.transform import Transform

from annotator.pages import fonts
from annotator.pages.svg import HREF, SVG, chunks_of, numbers, transform_of

SLICES = 16
"""Pieces a slur is cut into."""

STEPS = 8
"""Pieces a slanted line or beam is cut into."""

_PARTS = [(step / STEPS, (step + 1) / STEPS) for step in range(STEPS)]

Point = tuple[float, float]


class Box(NamedTuple):
    """An upright rectangle. A page has some ten thousand: tuples are made in a third of the time of other frozen data."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box, padding: float = 0.0) -> bool:
        """Whether the two have room in common, or are nearer to each other than the padding."""
        return (
            self.left - padding < other.right
            and other.left - padding < self.right
            and self.top - padding < other.bottom
            and other.top - padding < self.bottom
        )

    def moved(self, dx: float, dy: float) -> Box:
        """Return the same box elsewhere."""
        return Box(self.left + dx, self.top + dy, self.right + dx, self.bottom + dy)

    def wider(self, by: float) -> Box:
        """Return the box with so much more on every side."""
        return Box(self.left - by, self.top - by, self.right + by, self.bottom + by)


def around(boxes: list[Box]) -> Box:
    """Return the smallest box that holds all (at least one) of these."""
    lefts, tops, rights, bottoms = zip(*boxes, strict=True)
    return Box(min(lefts), min(tops), max(rights), max(bottoms))


def turned(box: Box, matrix: Transform) -> Box:
    """Return the box after an SVG transform."""
    return _hull(matrix.transformPoints([(x, y) for x in (box.left, box.right) for y in (box.top, box.bottom)]))


def _hull(points: list[Point]) -> Box:
    xs, ys = zip(*points, strict=True)
    return Box(min(xs), min(ys), max(xs), max(ys))


def _between(x1: float, y1: float, x2: float, y2: float, by: float = 0.0) -> Box:
    return Box(min(x1, x2) - by, min(y1, y2) - by, max(x1, x2) + by, max(y1, y2) + by)


def boxes_of(element: Any) -> list[Box]:
    """Return the boxes of everything drawn in an element and below it, in the coordinates outside that element."""
    if element.tag in _DRAWN:
        return list(_DRAWN[element.tag](element))
    if element.tag != SVG + "g":
        return []
    inside = [box for child in element for box in boxes_of(child)]
    return [turned(box, transform_of(element)) for box in inside] if "transform" in element.attrib else inside


def _stroke(element: Any) -> float:
    return (numbers(element.get("stroke-width")) or [1.0])[0] / 2


def _points(element: Any, name: str = "points") -> list[Point]:
    values = numbers(element.get(name))
    return list(zip(values[::2], values[1::2], strict=False))


def _path(element: Any) -> Iterator[Box]:
    half, points = _stroke(element), _points(element, "d")
    if points and "C" not in element.get("d"):
        yield from _segments(points, half)
        return
    for index in range(0, len(points) - 3, 3):
        yield from _segments(_curve(points[index : index + 4]), half + 4)  # the bow between two points of the curve


def _curve(points: list[Point]) -> list[Point]:
    """Return points along a cubic curve."""

    def at(t: float) -> Point:
        """Return the point of the curve at a part of its way."""
        u = 1 - t
        weights = (u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t)
        x, y = (sum(weight * point[axis] for weight, point in zip(weights, points, strict=True)) for axis in (0, 1))
        return x, y

    return [at(index / SLICES) for index in range(SLICES + 1)]


def _segments(points: list[Point], half: float) -> Iterator[Box]:
    for (x1, y1), (x2, y2) in pairwise(points):
        if abs(x2 - x1) <= 60 or abs(y2 - y1) <= 60:
            yield _between(x1, y1, x2, y2, half)
        else:
            wide, high = x2 - x1, y2 - y1
            for a, b in _PARTS:
                yield _between(x1 + wide * a, y1 + high * a, x1 + wide * b, y1 + high * b, half)


def _polygon(element: Any) -> Iterator[Box]:
    points = _points(element)
    if len(points) == 4 and points[0][0] == points[3][0] and points[1][0] == points[2][0]:  # a beam
        (x1, y1), (x2, y2) = points[:2]
        wide, high, height = x2 - x1, y2 - y1, points[3][1] - y1
        for a, b in _PARTS:
            edge = _between(x1 + wide * a, y1 + high * a, x1 + wide * b, y1 + high * b)
            yield edge._replace(top=edge.top + min(height, 0.0), bottom=edge.bottom + max(height, 0.0))
    elif points:
        yield _hull(points)


def _polyline(element: Any) -> Iterator[Box]:
    return _segments(_points(element), _stroke(element))


def _rect(element: Any) -> Iterator[Box]:
    x, y, width, height = (float(element.get(name, 0)) for name in ("x", "y", "width", "height"))
    yield Box(x, y, x + width, y + height).wider(_stroke(element))


def _ellipse(element: Any) -> Iterator[Box]:
    x, y, rx, ry = (float(element.get(name, 0)) for name in ("cx", "cy", "rx", "ry"))
    yield Box(x - rx, y - ry, x + rx, y + ry)


def _use(element: Any) -> Iterator[Box]:
    found = fonts.music_box((element.get(HREF) or element.get("href") or "").lstrip("#").partition("-")[0])
    if found is not None:
        matrix, (left, top, right, bottom) = transform_of(element), found
        yield Box(*matrix.transformPoint((left, top)), *matrix.transformPoint((right, bottom)))  # never turned round


def _text(element: Any) -> Iterator[Box]:
    for chunk in chunks_of(element):
        _, tops, _, bottoms = zip(*(fonts.text_box(*piece.letters) for piece in chunk.pieces), strict=True)
        width = chunk.width
        left = chunk.left(width)
        yield Box(left - 15, chunk.y + min(0.0, *tops), left + width + 15, chunk.y + max(0.0, *bottoms))


_DRAWN = {
    SVG + "path": _path,
    SVG + "polygon": _polygon,
    SVG + "polyline": _polyline,
    SVG + "rect": _rect,
    SVG + "ellipse": _ellipse,
    SVG + "use": _use,
    SVG + "text": _text,
}
