"""SVG as pages have it: elements, numbers, path data, transforms, and how an element looks.

Conventions
-----------
* An outline is a tuple of steps in absolute coordinates: ``("M", x, y)``, ``("L", x, y)``, ``("C", x1, y1, x2, y2, x, y)``, ``("Z",)``.
* A matrix is (a, b, c, d, e, f) as in SVG: x' = a x + c y + e, y' = b x + d y + f.
* Properties are the CSS names with their text; what an element does not say it inherits (``INHERITED``). Colours are ``#RGB``, ``#RRGGBB``,
  ``none`` or ``currentColor`` (the property ``color``).

Rule
----
What occurs on pages is known; another path command (arcs, quadratic curves), transform or selector raises ``UnknownDrawing``.
Attributes give way to style rules, rules to the ``style`` attribute, as CSS has it; so a page's ``path {stroke: currentColor}`` beats
``stroke="…"``, in a browser and here. A rule is a tag and classes together, below the page's own id. At-rules (web fonts) are passed
over.

Source: SVG 1.1 (W3C), chapters 6.4 "Styling", 7.6 "The transform attribute", 8.3 "Path data" and 11 "Painting"; CSS 2.1 (W3C), chapters 5
and 6.4.

>>> outline("M1 2l3 0v4z")
(('M', 1.0, 2.0), ('L', 4.0, 2.0), ('L', 4.0, 6.0), ('Z',))
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from functools import cache, lru_cache
from typing import Any, NamedTuple

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

INHERITED = frozenset(
    {"fill", "stroke", "color", "stroke-width", "stroke-linecap", "stroke-linejoin", "stroke-dasharray"}
    | {"stroke-dashoffset", "fill-opacity", "stroke-opacity", "visibility"}
    | {"font-family", "font-size", "font-style", "font-weight", "text-anchor"}
)
_READ = INHERITED | {"display"}
_AT_RULE = re.compile(r"@[\w-]+[^{;]*(?:\{[^{}]*\}|;)")
_COMMENT = re.compile(r"/\*.*?\*/", re.S)
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
_COMPOUND = re.compile(r"([A-Za-z*][\w-]*)?((?:\.[\w-]+)*)$")

Colour = tuple[float, float, float, float]
"""Red, green, blue and opacity, from 0 to 1."""


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


def declarations(text: str) -> dict[str, str]:
    """Return the properties of ``name: value; …``, those a page's drawing needs."""
    pairs = (part.split(":", 1) for part in text.split(";") if ":" in part)
    found = {name.strip().lower(): value.replace("!important", "").strip() for name, value in pairs}
    return {name: value for name, value in found.items() if name in _READ}


class _Rule(NamedTuple):
    """One selector with its properties."""

    tag: str
    classes: frozenset[str]
    properties: dict[str, str]


def _rule(selector: str, root_id: str, properties: dict[str, str]) -> _Rule:
    compounds = selector.split()
    if len(compounds) > 1 and compounds[0] == f"#{root_id}":
        compounds = compounds[1:]
    match = _COMPOUND.match(compounds[0]) if len(compounds) == 1 else None
    if match is None:
        raise UnknownDrawing(f"style rule '{selector[:40]}'")
    return _Rule((match[1] or "").strip("*"), frozenset(re.findall(r"\.([\w-]+)", match[2])), properties)


class Stylesheet:
    """All rules of one page."""

    def __init__(self, text: str, root_id: str) -> None:
        """Read the rules from the text of the page's ``style`` elements."""
        rules = []
        for selectors, body in _RULE.findall(_AT_RULE.sub("", _COMMENT.sub("", text))):
            properties = declarations(body)
            rules += [_rule(each.strip(), root_id, properties) for each in selectors.split(",") if properties]
        self._rules = sorted(rules, key=lambda rule: (len(rule.classes), bool(rule.tag)))
        self._matched = cache(self._properties)

    def _properties(self, tag: str, classes: str) -> dict[str, str]:
        """Return what the rules say of elements of a kind."""
        names = frozenset(classes.split())
        fitting = [rule for rule in self._rules if rule.tag in ("", tag) and rule.classes <= names]
        return {name: value for rule in fitting for name, value in rule.properties.items()}

    def own(self, element: Any, tag: str) -> dict[str, str]:
        """Return the properties an element has of itself, not those it inherits."""
        own = {name: value for name, value in element.items() if name in _READ}
        own |= self._matched(tag, element.get("class", ""))
        return own | declarations(element.get("style")) if "style" in element.attrib else own


def inherit(parent: Mapping[str, str], own: Mapping[str, str]) -> Mapping[str, str]:
    """Return the properties in force on an element, from its parent's and its own."""
    return {**parent, **{name: value for name, value in own.items() if name in INHERITED and value != "inherit"}} if own else parent


@lru_cache(maxsize=256)
def colour(text: str) -> tuple[float, float, float] | None:
    """Return red, green and blue from 0 to 1, or None for ``none``; a colour that cannot be read is black, so that nothing is lost.

    >>> colour("#FF0000")
    (1.0, 0.0, 0.0)
    """
    if text in ("none", "transparent"):
        return None
    digits = {"white": "FFFFFF"}.get(text, text.removeprefix("#"))
    if len(digits) == 3:
        digits = "".join(2 * digit for digit in digits)
    if not re.fullmatch("[0-9A-Fa-f]{6}", digits):
        return 0.0, 0.0, 0.0
    red, green, blue = (int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4))
    return red, green, blue


@lru_cache(maxsize=1024)
def length(text: str) -> float:
    """Return a length in user units; ``px`` is one."""
    try:
        return float(text.strip().removesuffix("px"))
    except ValueError:
        raise UnknownDrawing(f"length '{text[:40]}'") from None


def paint_of(properties: Mapping[str, str], name: str, default: str) -> Colour | None:
    """Return the colour and opacity of ``fill`` or ``stroke`` among the properties in force, or None where nothing is painted."""
    text = properties.get(name, default)
    found = colour(properties.get("color", "black") if text.lower() == "currentcolor" else text)
    if found is None or properties.get("visibility") == "hidden":
        return None
    return *found, length(properties.get(f"{name}-opacity", "1"))
