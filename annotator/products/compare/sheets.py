"""Sheets of paper: music put on a page of its own, with page head and foot, as one SVG text that the PDF is painted from.

Conventions: a ``Sheet`` is what is alike on all pages; everything on a page is drawn in its margin group, in hundredths of a millimetre.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from lxml import etree

from annotator.marks.style import Style
from annotator.pages import fonts
from annotator.pages.paper import MARGIN, Paper, draw_foot
from annotator.pages.svg import SVG

NAMESPACES: Any = {None: SVG.strip("{}")}
"""Of a drawing: SVG without a prefix."""

_PAGE = "page"


@dataclass(frozen=True, slots=True)
class Sheet:
    """What all pages share: paper, style, glyphs and style rules; title, legend and copyright notice for the foot."""

    paper: Paper
    style: Style
    glyphs: Mapping[str, Any]
    rules: str
    title: str
    legend: str
    notice: str


def sheet_text(sheet: Sheet, content: Iterable[Any], number: int, pages: int, legend: str | None = None) -> str:
    """Return a page with some groups on it; ``legend`` stands in the foot in place of the usual one."""
    width, height = sheet.paper.width, sheet.paper.height
    root = etree.Element(SVG + "svg", nsmap=NAMESPACES)
    size = {"width": f"{width / 10:g}mm", "height": f"{height / 10:g}mm"}
    for name, value in ({"id": _PAGE, "viewBox": f"0 0 {width} {height}"} | size).items():
        root.set(name, value)
    definitions = etree.SubElement(root, SVG + "defs")
    etree.SubElement(root, SVG + "style").text = _scoped(sheet.rules)
    drawing = etree.SubElement(root, SVG + "svg", {"class": "definition-scale", "viewBox": f"0 0 {10 * width} {10 * height}"})
    for name in ("color", "fill"):
        drawing.set(name, sheet.style.ink)
    drawing.set("font-family", f"{fonts.FAMILY}, Times, serif")
    margin = etree.SubElement(drawing, SVG + "g", {"class": "page-margin"})
    margin.set("transform", f"translate({10 * MARGIN}, {10 * sheet.paper.top})")
    margin.extend(content)
    draw_foot(margin, number, pages, sheet.title, sheet.legend if legend is None else legend, sheet.notice, sheet.paper)
    used = {each.get("href", "").removeprefix("#") for each in margin.iter(SVG + "use")}
    definitions.extend(copy.deepcopy(glyph) for name, glyph in sheet.glyphs.items() if name in used)
    text: str = etree.tostring(root, encoding="unicode")
    return text


def _scoped(rules: str) -> str:
    """Put the page's id before every selector, as the painter and a browser expect it."""
    made = []
    for rule in rules.split("}"):
        selectors, brace, body = rule.partition("{")
        if brace:
            made.append(",".join(f"#{_PAGE} {each.strip()}" for each in selectors.split(",")) + "{" + body + "}")
    return "".join(made)


def text_element(text: str, x: float, y: float, size: float, anchor: str = "start", **attributes: str) -> Any:
    """Return a line of text; attributes such as ``font_style`` get their hyphens here."""
    named = {name.replace("_", "-"): value for name, value in attributes.items()}
    element = etree.Element(SVG + "text", {"x": f"{x:.0f}", "y": f"{y:.0f}", "font-size": f"{size:.0f}px", "text-anchor": anchor} | named)
    element.text = text
    return element


def group(children: Iterable[Any], name: str, move: tuple[float, float] = (0.0, 0.0), scale: float = 1.0) -> Any:
    """Return children as one group, moved (and then made smaller)."""
    element = etree.Element(SVG + "g", {"class": name})
    steps = [f"translate({move[0]:.1f}, {move[1]:.1f})"] if move != (0.0, 0.0) or scale != 1.0 else []
    steps += [f"scale({scale:.4f})"] if scale != 1.0 else []
    if steps:
        element.set("transform", " ".join(steps))
    element.extend(children)
    return element
