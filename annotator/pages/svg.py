"""SVG as pages have it: elements, numbers, path data and transforms, read by all that look at a page.

Conventions
-----------
* An outline is a tuple of steps in absolute coordinates: ``("M", x, y)``, ``("L", x, y)``, ``("C", x1, y1, x2, y2, x, y)``, ``("Z",)``.
* A matrix is (a, b, c, d, e, f) as in SVG: x' = a x + c y + e, y' = b x + d y + f.

Rule: path data and transforms that occur on pages; another one (arcs, quadratic curves, slanting) raises ``UnknownDrawing``.
Source: SVG 1.1 (W3C), chapters 8.3 "Path data" and 7.6 "The transform attribute".

>>> outline("M1 2l3 0v4z")
(('M', 1.0, 2.0), ('L', 4.0, 2.0), ('L', 4.0, 6.0), ('Z',))
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Any

from lxml import etree

from annotator.errors import EngraverError

SVG = "{http://www.w3.org/2000/svg}"
HREF = "{http://www.w3.org/1999/xlink}href"

Step = tuple[str, *tuple[float, ...]]
Outline = tuple[Step, ...]
Matrix = tuple[float, float, float, float, float, float]

_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_COMMAND = re.compile(r"([A-Za-z])([^A-DF-Za-df-z]*)")
_FUNCTION = re.compile(r"(\w+)\s*\(([^)]*)\)")
_COUNT = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Z": 0}
"""How many numbers each command of path data takes."""


class UnknownDrawing(Exception):
    """A page holds a drawing that is not known here; the text says what."""


def parsed(text: str, blanks: bool = True) -> Any:
    """Return an answer of the engraver, or a page, as a tree, with or without the blanks between elements.

    Nothing outside the text is fetched. Raises ``EngraverError``.
    """
    parser = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True, remove_blank_text=not blanks, remove_comments=True)
    try:
        return etree.fromstring(text.encode("utf-8"), parser)
    except etree.XMLSyntaxError as error:
        raise EngraverError(f"a page of the engraver is no well-formed XML ({error})") from error


def tag(element: Any) -> str:
    """Return an element's name without its namespace ('' for a comment)."""
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def classes(element: Any) -> tuple[str, ...]:
    """Return an element's classes."""
    return tuple(element.get("class", "").split())


def numbers(text: str | None) -> list[float]:
    """Return all numbers in a text.

    >>> numbers("M10 -20 L3.5,4")
    [10.0, -20.0, 3.5, 4.0]
    """
    return [float(each) for each in _NUMBER.findall(text or "")]


@lru_cache(maxsize=4096)
def outline(data: str) -> Outline:
    """Return the steps of path data (``d``)."""
    steps: list[Step] = []
    x = y = 0.0
    start, control = (0.0, 0.0), None
    for letter, text in _COMMAND.findall(data):
        kind, values = letter.upper(), numbers(text)
        count = _COUNT.get(kind)
        if count is None or (len(values) % count if count else values) or (count and not values) or (kind != "M" and not steps):
            raise UnknownDrawing(f"path data '{data[:40]}'")
        for at in range(0, max(len(values), 1), count or 1):
            if kind == "Z":
                steps.append(("Z",))
                (x, y), control = start, None
                continue
            points = _absolute(kind, values[at : at + count], x, y, letter.islower())
            if kind == "S":  # the control point before, mirrored
                points = [*((2 * x - control[0], 2 * y - control[1]) if control else (x, y)), *points]
            control = (points[2], points[3]) if kind in "CS" else None
            x, y = points[-2:]
            if kind == "M" and not at:
                start = (x, y)
            steps.append(("M" if kind == "M" and not at else "C" if kind in "CS" else "L", *points))
    return tuple(steps)


def _absolute(kind: str, values: list[float], x: float, y: float, relative: bool) -> list[float]:
    """Return the points of a command in absolute coordinates, the pen being at x and y."""
    if kind in "HV":
        moved = values[0] + ((x if kind == "H" else y) if relative else 0.0)
        return [moved, y] if kind == "H" else [x, moved]
    return [value + (y if at % 2 else x) for at, value in enumerate(values)] if relative else values


@lru_cache(maxsize=8192)
def matrices(transform: str) -> tuple[Matrix, ...]:
    """Return the matrices of a ``transform`` attribute, outermost first; a rotation about a point is three."""
    return tuple(matrix for name, inside in _FUNCTION.findall(transform) for matrix in _matrices(name, numbers(inside)))


def _matrices(name: str, values: list[float]) -> tuple[Matrix, ...]:
    if name == "translate" and len(values) in (1, 2):
        return ((1, 0, 0, 1, values[0], values[1] if len(values) > 1 else 0.0),)
    if name == "scale" and len(values) in (1, 2):
        return ((values[0], 0, 0, values[-1], 0, 0),)
    if name == "rotate" and len(values) in (1, 3):
        cos, sin = math.cos(math.radians(values[0])), math.sin(math.radians(values[0]))
        turn: Matrix = (cos, sin, -sin, cos, 0, 0)
        return (turn,) if len(values) == 1 else ((1, 0, 0, 1, values[1], values[2]), turn, (1, 0, 0, 1, -values[1], -values[2]))
    raise UnknownDrawing(f"transform '{name}'")
