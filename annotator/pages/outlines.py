"""SVG path data and transforms, read into plain numbers.

Conventions
-----------
* An outline is a tuple of steps in absolute coordinates: ``("M", x, y)``, ``("L", x, y)``, ``("C", x1, y1,
  x2, y2, x, y)``, ``("Z",)``.
* A matrix is (a, b, c, d, e, f) as in SVG: x' = a x + c y + e, y' = b x + d y + f.

Rule: all commands of path data but the elliptical arc, which no page here uses.
Source: SVG 1.1 (W3C), chapters 8.3 "Path data" and 7.6 "The transform attribute".

>>> outline("M1 2l3 0v4z")
(('M', 1.0, 2.0), ('L', 4.0, 2.0), ('L', 4.0, 6.0), ('Z',))
"""

from __future__ import annotations

import math
import re
from functools import lru_cache

Step = tuple[str, *tuple[float, ...]]
Outline = tuple[Step, ...]
Matrix = tuple[float, float, float, float, float, float]

_TOKEN = re.compile(r"([A-Za-z])|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)|([\s,]+)|(.)")
_STRAIGHT = re.compile(r"M(-?[\d.]+)[ ,](-?[\d.]+) ?L(-?[\d.]+)[ ,](-?[\d.]+)$")
"""One straight line, as nearly every path of a page is: staff lines, stems, bar lines."""

_COUNT = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "Z": 0}
_FUNCTION = re.compile(r"\s*([A-Za-z]+)\s*\(([^)]*)\)[\s,]*")


class UnknownDrawing(Exception):
    """A page holds a drawing that this painter does not know; another one must draw it."""


def numbers(text: str) -> list[float]:
    """Return the numbers of a list such as ``points`` or ``viewBox``."""
    try:
        return [float(each) for each in text.replace(",", " ").split()]
    except ValueError:
        raise UnknownDrawing(f"numbers '{text[:40]}'") from None


def _commands(data: str) -> list[tuple[str, list[float]]]:
    commands: list[tuple[str, list[float]]] = []
    for letter, number, _, strange in _TOKEN.findall(data):
        if letter:
            commands.append((letter, []))
        elif number and commands:
            commands[-1][1].append(float(number))
        elif number or strange:
            raise UnknownDrawing(f"path data '{data[:40]}'")
    return commands


@lru_cache(maxsize=4096)
def outline(data: str) -> Outline:
    """Return the steps of path data (``d``)."""
    straight = _STRAIGHT.match(data)
    if straight:
        return ("M", float(straight[1]), float(straight[2])), ("L", float(straight[3]), float(straight[4]))
    pen = _Pen()
    for letter, values in _commands(data):
        count = _COUNT.get(letter.upper())
        if count is None or (count and len(values) % count) or (count and not values):
            raise UnknownDrawing(f"path command '{letter}'")
        for at in range(0, max(len(values), 1), count or 1):
            kind = "L" if letter.upper() == "M" and at else letter.upper()
            pen.draw(kind, values[at : at + count], letter.islower())
    return tuple(pen.steps)


class _Pen:
    """Turns commands into absolute steps, one after the other."""

    def __init__(self) -> None:
        self.steps: list[Step] = []
        self.x = self.y = self.start_x = self.start_y = 0.0
        self.control: tuple[str, float, float] | None = None

    def draw(self, kind: str, values: list[float], relative: bool) -> None:
        """Draw one command."""
        if kind == "Z":
            self.steps.append(("Z",))
            self.x, self.y, self.control = self.start_x, self.start_y, None
            return
        if kind in "HV":
            base = (self.x if kind == "H" else self.y) if relative else 0.0
            point = (base + values[0], self.y) if kind == "H" else (self.x, base + values[0])
            kind, values = "L", list(point)
        elif relative:
            values = [value + (self.y if at % 2 else self.x) for at, value in enumerate(values)]
        self._absolute(kind, values)

    def _absolute(self, kind: str, values: list[float]) -> None:
        control = None
        if kind in "ML":
            self.steps.append((kind, *values))
            if kind == "M":
                self.start_x, self.start_y = values
        elif kind in "CS":
            if kind == "S":
                values = [*self._mirror("C"), *values]
            control = ("C", values[2], values[3])
            self.steps.append(("C", *values))
        else:
            if kind == "T":
                values = [*self._mirror("Q"), *values]
            control = ("Q", values[0], values[1])
            self.steps.append(("C", *self._raised(values)))
        self.control = control
        self.x, self.y = values[-2:]

    def _mirror(self, kind: str) -> tuple[float, float]:
        if self.control is None or self.control[0] != kind:
            return self.x, self.y
        return 2 * self.x - self.control[1], 2 * self.y - self.control[2]

    def _raised(self, values: list[float]) -> list[float]:
        """Return a quadratic curve's control points and end as those of a cubic one."""
        mid_x, mid_y, x, y = values
        first = [self.x + 2 / 3 * (mid_x - self.x), self.y + 2 / 3 * (mid_y - self.y)]
        return [*first, x + 2 / 3 * (mid_x - x), y + 2 / 3 * (mid_y - y), x, y]


@lru_cache(maxsize=8192)
def matrices(transform: str) -> tuple[Matrix, ...]:
    """Return the matrices of a ``transform`` attribute, outermost first."""
    found: list[Matrix] = []
    at = 0
    while at < len(transform.rstrip()):
        match = _FUNCTION.match(transform, at)
        if match is None:
            raise UnknownDrawing(f"transform '{transform[:40]}'")
        found.extend(_matrix(match[1], numbers(match[2])))
        at = match.end()
    return tuple(found)


def _matrix(name: str, values: list[float]) -> list[Matrix]:
    if name == "matrix" and len(values) == 6:
        a, b, c, d, e, f = values
        return [(a, b, c, d, e, f)]
    if name == "translate" and len(values) in (1, 2):
        return [(1, 0, 0, 1, values[0], values[1] if len(values) > 1 else 0.0)]
    if name == "scale" and len(values) in (1, 2):
        return [(values[0], 0, 0, values[-1], 0, 0)]
    if name == "rotate" and len(values) in (1, 3):
        cos, sin = math.cos(math.radians(values[0])), math.sin(math.radians(values[0]))
        turn: Matrix = (cos, sin, -sin, cos, 0, 0)
        if len(values) == 1:
            return [turn]
        _, x, y = values
        return [(1, 0, 0, 1, x, y), turn, (1, 0, 0, 1, -x, -y)]
    raise UnknownDrawing(f"transform '{name}'")
