"""The music of the page for the screen: each system one small SVG, the glyphs shared by all, greys told by the class of their reason.

Conventions
-----------
* What is grey for one reason has one class (``g0`` …), coloured by one property of the page (``--g0``).
* Under the music of a system lies a rectangle for each of its figures (class ``light``), over bracket and notes: it can be lit.
* A note tells its own id in ``data-note``; there are no ids beside those of the page itself and of the glyphs, so none occurs twice.

Rule: groups of the engraver that only say what they hold are opened, which makes a page half as long.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from lxml import etree

from annotator.marks.style import Style
from annotator.pages import fonts
from annotator.pages.boxes import around, boxes_of
from annotator.pages.svg import SVG, Stylesheet, classes
from annotator.products.compare.page_fonts import Lettering
from annotator.products.compare.sheets import NAMESPACES
from annotator.products.compare.systems import Cut, System

LEFT, RIGHT, EDGE = 320.0, 60.0, 40.0
"""What a system's picture has beside the width of the music (the brace stands to the left of it), and above and below its ink."""

AROUND_LIGHT = 70.0

_FONT = ("font-family", "font-weight", "font-style")

_TELLING = frozenset({"figure", "bracket", "label", "note", "anchor", "grey", "note-name"})
"""Classes that are kept: those that people style and script pages by, and those the engraver's own style rules name."""


@dataclass(frozen=True, slots=True)
class Music:
    """The systems and the glyphs as texts to be put into the page, its style rules, and the reasons in the order of their classes.

    ``drawn`` are the systems as elements, from which the letters are read; ``sheet`` says how those look.
    """

    systems: tuple[str, ...]
    glyphs: str
    rules: str
    reasons: tuple[str, ...]
    drawn: tuple[Any, ...]
    sheet: Stylesheet


def reasons_in(*cuts: Cut) -> tuple[str, ...]:
    """Return the reasons for which anything is grey in some music, in the order of their classes."""
    groups = (element for cut in cuts for system in cut.systems for element in system.music.iter(etree.Element))
    return tuple(sorted({reason for each in groups if (reason := each.get("data-grey"))}))


def music_of(
    cut: Cut,
    reasons: Sequence[str],
    kinds: Mapping[str, str],
    figures: Mapping[str, Sequence[str]],
    names: Sequence[str],
    style: Style,
    width: float,
) -> Music:
    """Return the music of a page.

    ``reasons`` are those of the whole page (``reasons_in``); ``kinds`` is the kind of each figure by id, ``figures`` the page ids of its
    notes; ``names`` says of each system what it is; ``width`` is that of the music.
    """
    drawn = tuple(_picture(system, kinds, figures, name, style, width) for system, name in zip(cut.systems, names, strict=True))
    sheet = Stylesheet(cut.rules, "")
    named = _named_classes(cut.rules)
    for picture in drawn:
        _slim(picture, reasons, named)
    glyphs = [etree.tostring(_bare(each), encoding="unicode") for _, each in sorted(cut.glyphs.items())]
    greys = [f".g{at}{{fill:var(--g{at},{style.grey});color:var(--g{at},{style.grey})}}" for at in range(len(reasons))]
    rules = "\n".join([_scoped(cut.rules), *greys])
    texts = tuple(etree.tostring(each, encoding="unicode") for each in drawn)
    return Music(texts, "".join(glyphs), rules, tuple(reasons), drawn, sheet)


def _picture(
    system: System, kinds: Mapping[str, str], figures: Mapping[str, Sequence[str]], name: str, style: Style, width: float
) -> Any:
    """Return a system as an SVG of its own."""
    top, bottom = system.ink.top - EDGE, system.ink.bottom + EDGE
    picture: Any = etree.Element(SVG + "svg", nsmap=NAMESPACES)
    box = f"{-LEFT:.0f} {top:.0f} {LEFT + width + RIGHT:.0f} {bottom - top:.0f}"
    look = {"color": style.ink, "fill": style.ink, "font-family": f"{fonts.SERIF}, '{fonts.SANS}', Times, serif"}
    for key, value in ({"class": "system", "viewBox": box, "role": "img", "aria-label": name} | look).items():
        picture.set(key, value)
    picture.extend(_light(each, system, kinds, figures) for each in system.figures)
    picture.append(copy.deepcopy(system.music))
    for each in system.figures:
        figure = copy.deepcopy(each)
        figure.set("data-kind", kinds[figure.get("data-figure")])
        picture.append(figure)
    return picture


def _light(figure: Any, system: System, kinds: Mapping[str, str], figures: Mapping[str, Sequence[str]]) -> Any:
    """Return the rectangle over a figure: its bracket and its notes in this system."""
    name = figure.get("data-figure")
    heads = [system.notes[note] for note in figures[name] if note in system.notes]
    box = around([*boxes_of(figure), *heads])
    rectangle = etree.Element(SVG + "rect", {"class": "light", "data-figure": name, "data-kind": kinds[name]})
    for key, value in (("x", box.left), ("y", box.top)):
        rectangle.set(key, f"{value - AROUND_LIGHT:.0f}")
    for key, value in (("width", box.right - box.left), ("height", box.bottom - box.top)):
        rectangle.set(key, f"{value + 2 * AROUND_LIGHT:.0f}")
    rectangle.set("rx", "60")
    return rectangle


def _named_classes(rules: str) -> frozenset[str]:
    """Return the classes that the engraver's style rules name."""
    selectors = " ".join(rule.partition("{")[0] for rule in rules.split("}"))
    return frozenset(re.findall(r"\.([\w-]+)", selectors))


def _slim(picture: Any, reasons: Sequence[str], named: frozenset[str]) -> None:
    """Take off everything a page does not need, and put classes in the place of grey."""
    for element in list(picture.iter(etree.Element)):
        if element is picture or not {"light", "figure"}.isdisjoint(classes(element)):
            continue
        kept = [name for name in classes(element) if name in _TELLING or name in named]
        reason = element.attrib.pop("data-grey", None)
        if reason is not None:
            element.attrib.pop("fill", None)
            element.attrib.pop("color", None)
            kept.append(f"g{reasons.index(reason)}")
        element.attrib.pop("class", None)
        if kept:
            element.set("class", " ".join(kept))
        ident = element.attrib.pop("id", None)
        if ident and "note" in kept:
            element.set("data-note", ident)
    for element in [each for each in picture.iter(SVG + "g") if not each.attrib]:
        _open(element)


def _open(group: Any) -> None:
    """Put what is in a group in its place."""
    parent, at = group.getparent(), group.getparent().index(group)
    children = list(group)
    parent.remove(group)
    for offset, child in enumerate(children):
        parent.insert(at + offset, child)


def _bare(glyph: Any) -> Any:
    made = copy.deepcopy(glyph)
    etree.cleanup_namespaces(made)
    return made


def _scoped(rules: str) -> str:
    """Return the engraver's style rules for the systems of the page, without those of its own editor."""
    made = []
    for rule in rules.split("}"):
        selectors, brace, body = rule.partition("{")
        if brace and ".cursor" not in selectors and ".placeholder" not in selectors:
            made.append(",".join(f".system {each.strip()}" for each in selectors.split(",")) + "{" + body.strip() + "}")
    return "\n".join(made)


def letterings(music: Music) -> Iterator[Lettering]:
    """Yield every text in the music as it looks."""
    for picture in music.drawn:
        yield from _letters(picture, {}, music.sheet)


def _letters(element: Any, inherited: dict[str, str], sheet: Stylesheet) -> Iterator[Lettering]:
    own = sheet.own(element, etree.QName(element).localname)
    properties = inherited | {name: own[name] for name in _FONT if name in own}
    if element.text and element.text.strip():
        bold, italic = (properties.get(name, "") for name in ("font-weight", "font-style"))
        yield Lettering(element.text, bold == "bold", italic == "italic", properties.get("font-family", fonts.FAMILY))
    for child in element.iterchildren(etree.Element):
        yield from _letters(child, properties, sheet)
