"""How an element looks: the few style rules a page carries, what is inherited, and the colours and lines that follow.

Conventions: properties are the CSS names with their text; what an element does not say it inherits (``INHERITED``). Colours are ``#RGB``,
``#RRGGBB``, ``rgb(r, g, b)``, a few names, ``none`` or ``currentColor`` (the property ``color``).

Rule: attributes give way to rules, rules to the ``style`` attribute, as CSS has it; so a page's ``path {stroke: currentColor}``
beats ``stroke="…"``, in a browser and here. A rule is a tag, classes and an id together, below the page's own id; anything more
raises ``UnknownDrawing``. At-rules (web fonts) are passed over.

Source: CSS 2.1 (W3C), chapters 5 and 6.4; SVG 1.1, chapters 6.4 and 11.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

from annotator.pages.svg import UnknownDrawing

INHERITED = frozenset(
    {"fill", "stroke", "color", "stroke-width", "stroke-linecap", "stroke-linejoin", "stroke-dasharray"}
    | {"stroke-dashoffset", "fill-opacity", "stroke-opacity", "visibility"}
    | {"font-family", "font-size", "font-style", "font-weight", "text-anchor"}
)
_READ = INHERITED | {"display"}
_AT_RULE = re.compile(r"@[\w-]+[^{;]*(?:\{[^{}]*\}|;)")
_COMMENT = re.compile(r"/\*.*?\*/", re.S)
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
_COMPOUND = re.compile(r"([A-Za-z*][\w-]*)?((?:[.#][\w-]+)*)$")

_NAMES = {"black": "#000000", "white": "#FFFFFF", "gray": "#808080", "grey": "#808080", "red": "#FF0000"}
_RGB = re.compile(r"rgb\(\s*(\d+)\s*,\s*(\d+)\s*,\s*(\d+)\s*\)$")

Colour = tuple[float, float, float, float]
"""Red, green, blue and opacity, from 0 to 1."""


def declarations(text: str) -> dict[str, str]:
    """Return the properties of ``name: value; …``, those a page's drawing needs."""
    pairs = (part.split(":", 1) for part in text.split(";") if ":" in part)
    found = {name.strip().lower(): value.replace("!important", "").strip() for name, value in pairs}
    return {name: value for name, value in found.items() if name in _READ}


@dataclass(frozen=True, slots=True)
class _Rule:
    """One selector with its properties."""

    tag: str
    classes: frozenset[str]
    id: str
    properties: dict[str, str]

    @property
    def weight(self) -> tuple[bool, int, bool]:
        """What decides between rules."""
        return bool(self.id), len(self.classes), bool(self.tag)


def _rule(selector: str, root_id: str, properties: dict[str, str]) -> _Rule:
    compounds = selector.split()
    if len(compounds) > 1 and compounds[0] == f"#{root_id}":
        compounds = compounds[1:]
    match = _COMPOUND.match(compounds[0]) if len(compounds) == 1 else None
    if match is None:
        raise UnknownDrawing(f"style rule '{selector[:40]}'")
    ids = re.findall(r"#([\w-]+)", match[2])
    return _Rule((match[1] or "").strip("*"), frozenset(re.findall(r"\.([\w-]+)", match[2])), ids[0] if ids else "", properties)


class Stylesheet:
    """All rules of one page."""

    def __init__(self, text: str, root_id: str) -> None:
        """Read the rules from the text of the page's ``style`` elements."""
        rules = []
        for selectors, body in _RULE.findall(_AT_RULE.sub("", _COMMENT.sub("", text))):
            properties = declarations(body)
            rules += [_rule(each.strip(), root_id, properties) for each in selectors.split(",") if properties]
        self._rules = sorted(rules, key=lambda rule: rule.weight)
        self._ids = frozenset(rule.id for rule in rules)
        self._matched = cache(self._properties)

    def _properties(self, tag: str, classes: str, ident: str) -> dict[str, str]:
        """Return what the rules say of elements of a kind."""
        names = frozenset(classes.split())
        fitting = [rule for rule in self._rules if rule.tag in ("", tag) and rule.classes <= names and rule.id in ("", ident)]
        return {name: value for rule in fitting for name, value in rule.properties.items()}

    def own(self, element: Any, tag: str) -> dict[str, str]:
        """Return the properties an element has of itself, not those it inherits."""
        own = {name: value for name, value in element.items() if name in _READ}
        ident = element.get("id", "")
        own |= self._matched(tag, element.get("class", ""), ident if ident in self._ids else "")
        return own | declarations(element.get("style")) if "style" in element.attrib else own


def inherit(parent: Mapping[str, str], own: Mapping[str, str]) -> Mapping[str, str]:
    """Return the properties in force on an element, from its parent's and its own."""
    return {**parent, **{name: value for name, value in own.items() if name in INHERITED and value != "inherit"}} if own else parent


@lru_cache(maxsize=256)
def colour(text: str) -> tuple[float, float, float] | None:
    """Return red, green and blue from 0 to 1, or None for ``none``.

    >>> colour("#FF0000")
    (1.0, 0.0, 0.0)
    """
    text = _NAMES.get(text.strip().lower(), text.strip())
    if text.lower() in ("none", "transparent"):
        return None
    if match := _RGB.match(text):
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


@lru_cache(maxsize=1024)
def paint(text: str, current: str, opacity: str) -> Colour | None:
    """Return the colour and opacity of a ``fill`` or ``stroke``, or None where nothing is; ``current`` is the property ``color``."""
    found = colour(current if text.lower() == "currentcolor" else text)
    return None if found is None else (*found, length(opacity))


def paint_of(properties: Mapping[str, str], name: str, default: str) -> Colour | None:
    """Return the colour and opacity of ``fill`` or ``stroke`` among the properties in force, or None where nothing is painted."""
    if properties.get("visibility") == "hidden":
        return None
    return paint(properties.get(name, default), properties.get("color", "black"), properties.get(f"{name}-opacity", "1"))
