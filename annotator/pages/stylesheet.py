"""The few style rules a page carries, and the properties they give each element.

Conventions: properties are the CSS names with their text; what an element does not say it inherits (``INHERITED``).

Rule: attributes give way to rules, rules to the ``style`` attribute, as CSS has it; so a page's ``path {stroke: currentColor}``
beats ``stroke="…"``, in a browser and here. A rule is a tag, classes and an id together, below the page's own id; anything more
raises ``UnknownDrawing``. At-rules (web fonts) are passed over.

Source: CSS 2.1 (W3C), chapters 5 and 6.4; SVG 1.1, chapter 6.4.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lxml import etree

from annotator.pages.outlines import UnknownDrawing


class Properties(dict[str, str]):
    """The properties in force on an element, by their CSS names.

    Elements alike share one object (``inherit``), so that what follows from the properties (``derived``) is worked out once.
    """

    __slots__ = ("derived", "heirs")

    def __init__(self, properties: Mapping[str, str] | None = None) -> None:
        """Take properties; nothing follows from them yet."""
        super().__init__(properties or {})
        self.heirs: dict[tuple[tuple[str, str], ...], Properties] = {}
        self.derived: Any = None


INHERITED = frozenset(
    {"fill", "stroke", "color", "stroke-width", "stroke-linecap", "stroke-linejoin", "stroke-dasharray"}
    | {"stroke-dashoffset", "fill-opacity", "stroke-opacity", "fill-rule", "visibility"}
    | {"font-family", "font-size", "font-style", "font-weight", "text-anchor"}
)
OWN = frozenset({"opacity", "display"})
_READ = INHERITED | OWN
_AT_RULE = re.compile(r"@[\w-]+[^{;]*(?:\{[^{}]*\}|;)")
_COMMENT = re.compile(r"/\*.*?\*/", re.S)
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
_COMPOUND = re.compile(r"([A-Za-z*][\w-]*)?((?:[.#][\w-]+)*)$")


@dataclass(frozen=True, slots=True)
class _Rule:
    """One selector with its properties; ``weight`` and ``order`` decide between rules."""

    tag: str
    classes: frozenset[str]
    id: str
    weight: tuple[int, int, int]
    order: int
    properties: tuple[tuple[str, str], ...]

    def fits(self, tag: str, classes: frozenset[str], ident: str) -> bool:
        """Tell whether the selector fits an element."""
        return self.tag in ("", "*", tag) and self.classes <= classes and self.id in ("", ident)


def declarations(text: str) -> dict[str, str]:
    """Return the properties of ``name: value; …``, those a page's drawing needs."""
    pairs = (part.split(":", 1) for part in text.split(";") if ":" in part)
    found = {name.strip().lower(): value.replace("!important", "").strip() for name, value in pairs}
    return {name: value for name, value in found.items() if name in _READ}


def _selector(text: str, root_id: str) -> tuple[str, frozenset[str], str]:
    compounds = text.split()
    if len(compounds) > 1 and compounds[0] == f"#{root_id}":
        compounds = compounds[1:]
    match = _COMPOUND.match(compounds[0]) if len(compounds) == 1 else None
    if match is None:
        raise UnknownDrawing(f"style rule '{text[:40]}'")
    names = re.findall(r"([.#])([\w-]+)", match[2])
    ids = [name for sign, name in names if sign == "#"]
    return match[1] or "", frozenset(name for sign, name in names if sign == "."), ids[0] if ids else ""


class Stylesheet:
    """All rules of one page."""

    def __init__(self, text: str, root_id: str) -> None:
        """Read the rules from the text of the page's ``style`` elements."""
        self._rules: list[_Rule] = []
        self._known: dict[tuple[str, str, str], dict[str, str]] = {}
        text = _AT_RULE.sub("", _COMMENT.sub("", text))
        for selectors, body in _RULE.findall(text):
            properties = tuple(declarations(body).items())
            for each in selectors.split(",") if properties else ():
                tag, classes, ident = _selector(each.strip(), root_id)
                weight = (bool(ident), len(classes), bool(tag))
                self._rules.append(_Rule(tag, classes, ident, weight, len(self._rules), properties))
        self._rules.sort(key=lambda rule: (rule.weight, rule.order))
        self._by_id = any(rule.id for rule in self._rules)

    def _matched(self, tag: str, classes: str, ident: str) -> dict[str, str]:
        key = (tag, classes, ident if self._by_id else "")
        if key not in self._known:
            names = frozenset(classes.split())
            fitting = [rule for rule in self._rules if rule.fits(tag, names, ident)]
            self._known[key] = {name: value for rule in fitting for name, value in rule.properties}
        return self._known[key]

    def own(self, element: etree._Element, tag: str) -> dict[str, str]:
        """Return the properties an element has of itself, not those it inherits."""
        own: dict[str, str] = {}
        classes = ident = style = ""
        for name, value in _texts(element):
            if name == "class":
                classes = value
            elif name == "id":
                ident = value
            elif name == "style":
                style = value
            elif name in _READ:
                own[name] = value
        matched = self._matched(tag, classes, ident)
        if matched:
            own.update(matched)
        if style:
            own.update(declarations(style))
        return own


def _texts(element: etree._Element) -> list[tuple[str, str]]:
    return element.items()  # type: ignore[return-value]  # of a parsed page all are texts


def inherit(parent: Mapping[str, str], own: Mapping[str, str]) -> Properties:
    """Return the properties in force on an element, from its parent's and its own."""
    if not isinstance(parent, Properties):
        parent = Properties(parent)
    if not own:
        return parent
    key = tuple(own.items())
    heir = parent.heirs.get(key)
    if heir is None:
        heir = Properties(parent)
        heir.update((name, value) for name, value in key if name in INHERITED and value != "inherit")
        parent.heirs[key] = heir
    return heir
