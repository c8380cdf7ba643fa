"""Boxes: upright rectangles on a page, and the small facts of its SVG.

Conventions: y grows downwards; a box is in the coordinates of whoever holds it.

>>> Box(0, 0, 10, 5).meets(Box(9, 4, 20, 20)), Box(0, 0, 10, 5).meets(Box(10, 0, 20, 5))
(True, False)
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Any, NamedTuple

SVG = "{http://www.w3.org/2000/svg}"
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
TRANSFORM = re.compile(r"(\w+)\(([^)]*)\)")
"""One step of an SVG transform: its name and its values."""


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


def around(boxes: list[Box]) -> Box:
    """Return the smallest box that holds all (at least one) of these."""
    return Box(
        min(box.left for box in boxes),
        min(box.top for box in boxes),
        max(box.right for box in boxes),
        max(box.bottom for box in boxes),
    )


def numbers(text: str | None) -> list[float]:
    """Return all numbers in a text.

    >>> numbers("M10 -20 L3.5,4")
    [10.0, -20.0, 3.5, 4.0]
    """
    return [float(each) for each in _NUMBER.findall(text or "")]


def tag(element: Any) -> str:
    """Return an element's name without its namespace ('' for a comment)."""
    name = element.tag
    return _local(name) if isinstance(name, str) else ""


@lru_cache(maxsize=256)
def _local(name: str) -> str:
    return name.rpartition("}")[2]


def classes(element: Any) -> tuple[str, ...]:
    """Return an element's classes."""
    return _words(element.get("class", ""))


@lru_cache(maxsize=4096)
def _words(text: str) -> tuple[str, ...]:
    return tuple(text.split())


def turned(box: Box, transform: str | None) -> Box:
    """Return the box after an SVG transform of translations and a rotation about a point.

    >>> turned(Box(0, 0, 10, 2), "translate(5, 5)")
    Box(left=5.0, top=5.0, right=15.0, bottom=7.0)
    """
    for name, inside in reversed(TRANSFORM.findall(transform or "")):
        values = numbers(inside)
        if name == "translate":
            box = box.moved(values[0], values[1] if len(values) > 1 else 0.0)
        elif name == "rotate":
            box = _rotated(box, values[0], *(values[1:3] if len(values) > 2 else (0.0, 0.0)))
    return box


def _rotated(box: Box, degrees: float, x0: float, y0: float) -> Box:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    points = [
        (x0 + c * (x - x0) - s * (y - y0), y0 + s * (x - x0) + c * (y - y0))
        for x in (box.left, box.right)
        for y in (box.top, box.bottom)
    ]
    return Box(
        min(p[0] for p in points), min(p[1] for p in points), max(p[0] for p in points), max(p[1] for p in points)
    )
