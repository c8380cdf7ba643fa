"""Colours, lines and fills: from the style properties of an element to strokes and fills of cairo.

Conventions: colours are ``#RGB``, ``#RRGGBB``, ``rgb(r, g, b)``, a few names, ``none`` or ``currentColor``
(the property ``color``). Rule: first the fill, then the stroke, as SVG paints (SVG 1.1, chapter 11.1).
"""

from __future__ import annotations

import re
from functools import lru_cache

from annotator.engraving.canvas import Canvas
from annotator.engraving.outlines import UnknownDrawing, numbers
from annotator.engraving.stylesheet import Properties

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


def paint(context: Canvas, properties: Properties) -> None:
    """Fill and stroke cairo's current path as the properties say, and forget it."""
    fill, stroke = paint_of(properties, "fill", "black"), paint_of(properties, "stroke", "none")
    width = length(properties.get("stroke-width", "1"))
    if stroke is not None and width <= 0:
        stroke = None
    if fill is not None:
        context.set_fill_rule(1 if properties.get("fill-rule") == "evenodd" else 0)
        context.set_source_rgba(*fill)
        context.fill() if stroke is None else context.fill_preserve()
    if stroke is not None:
        if stroke != fill:
            context.set_source_rgba(*stroke)
        context.set_line_width(width)
        context.set_line_cap(_CAPS.get(properties.get("stroke-linecap", "butt"), 0))
        context.set_line_join(_JOINS.get(properties.get("stroke-linejoin", "miter"), 0))
        dashes = _dashes(properties)
        if dashes:
            context.set_dash(dashes, length(properties.get("stroke-dashoffset", "0")))
        context.stroke()
        if dashes:
            context.set_dash([])
    context.new_path()


def _dashes(properties: Properties) -> list[float]:
    text = properties.get("stroke-dasharray", "none")
    found = [] if text == "none" else numbers(text.replace("px", ""))
    return found if any(found) else []
