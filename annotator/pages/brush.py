"""Colours, lines and fills: from the style properties of an element to strokes and fills of cairo.

Conventions: colours are ``#RGB``, ``#RRGGBB``, ``rgb(r, g, b)``, a few names, ``none`` or ``currentColor``
(the property ``color``). Rule: first the fill, then the stroke, as SVG paints (SVG 1.1, chapter 11.1).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from annotator.pages.canvas import Canvas
from annotator.pages.outlines import UnknownDrawing, numbers
from annotator.pages.stylesheet import Properties

Colour = tuple[float, float, float]

_NAMES = {"black": "#000000", "white": "#FFFFFF", "gray": "#808080", "grey": "#808080", "red": "#FF0000"}
_RGB = re.compile(r"rgb\(\s*(\d+)\s*,\s*(\d+)\s*,\s*(\d+)\s*\)$")
_CAPS = {"butt": 0, "round": 1, "square": 2}
_JOINS = {"miter": 0, "round": 1, "bevel": 2}
_MITER_LIMIT = 4.0


@lru_cache(maxsize=256)
def colour(text: str) -> Colour | None:
    """Return red, green and blue from 0 to 1, or None for ``none``.

    >>> colour("#FF0000")
    (1.0, 0.0, 0.0)
    """
    text = _NAMES.get(text.strip().lower(), text.strip())
    if text.lower() in ("none", "transparent"):
        return None
    match = _RGB.match(text)
    if match:
        red, green, blue = (min(int(each), 255) / 255 for each in match.groups())
        return red, green, blue
    if re.fullmatch(r"#[0-9A-Fa-f]{3}", text):
        text = "#" + "".join(2 * digit for digit in text[1:])
    if not re.fullmatch(r"#[0-9A-Fa-f]{6}", text):
        raise UnknownDrawing(f"colour '{text[:40]}'")
    red, green, blue = (int(text[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue


@lru_cache(maxsize=1024)
def length(text: str) -> float:
    """Return a length in user units; ``px`` is one."""
    try:
        return float(text.strip().removesuffix("px"))
    except ValueError:
        raise UnknownDrawing(f"length '{text[:40]}'") from None


def paint_of(properties: Properties, name: str, default: str) -> tuple[float, float, float, float] | None:
    """Return the colour and opacity of ``fill`` or ``stroke``, or None where nothing is painted."""
    text = properties.get(name, default)
    if text.lower() == "currentcolor":
        text = properties.get("color", "black")
    found = colour(text)
    return None if found is None else (*found, length(properties.get(f"{name}-opacity", "1")))


def prepare(context: Canvas) -> None:
    """Set what is the same for every stroke of a page."""
    context.set_miter_limit(_MITER_LIMIT)


@dataclass(frozen=True, slots=True)
class Ink:
    """How a shape is painted: its fill, its stroke (None: not at all), and the line of the stroke."""

    fill: tuple[float, float, float, float] | None
    stroke: tuple[float, float, float, float] | None
    even_odd: bool
    width: float
    cap: int
    join: int
    dashes: list[float]
    offset: float


def ink_of(properties: Properties) -> Ink:
    """Return how the properties paint a shape."""
    found: Ink | None = properties.derived
    if found is None:
        hidden = properties.get("visibility") == "hidden"
        width = length(properties.get("stroke-width", "1"))
        found = properties.derived = Ink(
            None if hidden else paint_of(properties, "fill", "black"),
            None if hidden or width <= 0 else paint_of(properties, "stroke", "none"),
            properties.get("fill-rule") == "evenodd",
            width,
            _CAPS.get(properties.get("stroke-linecap", "butt"), 0),
            _JOINS.get(properties.get("stroke-linejoin", "miter"), 0),
            _dashes(properties),
            length(properties.get("stroke-dashoffset", "0")),
        )
    return found


def paint(context: Canvas, properties: Properties, finest: float = 0.0, area: bool = True) -> None:
    """Fill and stroke cairo's current path as the properties say, and forget it.

    A stroke thinner than ``finest`` in the colour of its fill is left out, and the fill where the path has no ``area``.
    """
    ink = ink_of(properties)
    filled = area and ink.fill is not None
    stroked = ink.stroke is not None and not (filled and ink.width < finest and ink.stroke == ink.fill)
    if filled and ink.fill is not None:
        context.set_fill_rule(ink.even_odd)
        context.set_source_rgba(*ink.fill)
        context.fill_preserve() if stroked else context.fill()
    if stroked and ink.stroke is not None:
        if not (filled and ink.stroke == ink.fill):
            context.set_source_rgba(*ink.stroke)
        context.set_line_width(ink.width)
        context.set_line_cap(ink.cap)
        context.set_line_join(ink.join)
        if ink.dashes:
            context.set_dash(ink.dashes, ink.offset)
        context.stroke()
        if ink.dashes:
            context.set_dash([])
    context.new_path()


def _dashes(properties: Properties) -> list[float]:
    text = properties.get("stroke-dasharray", "none")
    found = [] if text == "none" else numbers(text.replace("px", ""))
    return found if any(found) else []
