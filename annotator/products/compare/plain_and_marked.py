"""Marked pages cut into systems, each with its figures and the room that its ink takes, with marks and without.

Conventions
-----------
* Coordinates are those of the page's margin group: hundredths of a millimetre, y growing downwards.
* Glyphs are named by their code point alone (``E0A4``), so that pages can share them; they are the same on every page.

Rule: a figure has one group for each system in which it has notes, in the order of the systems; that tells which system a group is of.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from lxml import etree

from annotator.errors import EngraverError
from annotator.pages.boxes import Box, around, boxes_of
from annotator.pages.svg import HREF, SVG, classes, numbers, parsed

NAMESPACES: Any = {None: SVG.strip("{}")}
"""Of a drawing: SVG without a prefix."""

_FACE = re.compile(r"@font-face\s*\{[^}]*\}")


@dataclass(frozen=True, slots=True)
class System:
    """One system: its music, its figures as they stand in it, and the ink of both and of the music alone.

    ``notes`` are the boxes of its notes by their id on the page, in the order they are drawn.
    """

    music: Any
    figures: tuple[Any, ...]
    ink: Box
    bare: Box
    notes: Mapping[str, Box]


@dataclass(frozen=True, slots=True)
class Cut:
    """What pages are made of: the systems, the page head (or None), the glyphs by name, the style rules below a page's id.

    ``pages`` are the indexes of the systems of each page, ``top`` its upper margin in tenths of a millimetre.
    """

    systems: tuple[System, ...]
    head: Any
    glyphs: Mapping[str, Any]
    rules: str
    pages: tuple[range, ...]
    top: int


def cut(pages: Sequence[str], figures: Mapping[str, Iterable[str]]) -> Cut:
    """Cut marked pages into systems. ``figures`` are the page ids of each figure's notes by the figure's id."""
    roots = [parsed(page, blanks=False) for page in pages]
    glyphs: dict[str, Any] = {}
    systems: list[System] = []
    ranges, loose = [], []
    for root in roots:
        glyphs |= _glyphs(root)
        margin = margin_of(root)
        first = len(systems)
        systems += [_system(each) for each in margin if "system" in classes(each)]
        ranges.append(range(first, len(systems)))
        loose += [each for each in margin if "figure" in classes(each)]
    top = numbers(margin_of(roots[0]).get("transform"))[-1]
    head = next((each for each in margin_of(roots[0]) if "pgHead" in classes(each) and any(boxes_of(each))), None)
    placed = _with_figures(systems, loose, figures)
    return Cut(tuple(placed), head, glyphs, _rules(roots[0]), tuple(ranges), round(top / 10))


def margin_of(root: Any) -> Any:
    """Return the group that everything on a page is drawn in."""
    margin = next((each for each in root.iter(SVG + "g") if "page-margin" in classes(each)), None)
    if margin is None:
        raise EngraverError("a page has no music on it")
    return margin


def _glyphs(root: Any) -> dict[str, Any]:
    """Take the glyphs off a page and let everything that uses them name them by their code points."""
    found = {}
    for definitions in root.iter(SVG + "defs"):
        for glyph in definitions:
            name = glyph.get("id", "").partition("-")[0]
            glyph.set("id", name)
            found[name] = glyph
    for use in root.iter(SVG + "use"):
        target = use.attrib.pop(HREF, None) or use.get("href", "")
        use.set("href", target.partition("-")[0])
    return found


def _rules(root: Any) -> str:
    """Return the style rules of a page, without the page's id and without web fonts."""
    text = "\n".join(each.text or "" for each in root.iter(SVG + "style"))
    return _FACE.sub("", text).replace(f"#{root.get('id', '')} ", "").strip()


def _system(group: Any) -> System:
    box = around(boxes_of(group))
    notes = {}
    for note in group.iter(SVG + "g"):
        if "note" in classes(note) and note.get("id"):
            heads = [box for part in note if "notehead" in classes(part) for box in boxes_of(part)]
            notes[note.get("id")] = around(heads or boxes_of(note) or [box])
    bare = plain(group)
    return System(group, (), box, around(boxes_of(bare)), notes)


def _with_figures(systems: list[System], loose: list[Any], figures: Mapping[str, Iterable[str]]) -> list[System]:
    """Give each system the figures that stand in it."""
    system_of = {note: index for index, system in enumerate(systems) for note in system.notes}
    homes = {
        name: iter(sorted({system_of[note] for note in notes if note in system_of})) for name, notes in figures.items()
    }
    own: dict[int, list[Any]] = {}
    for figure in loose:
        index = next(homes.get(figure.get("data-figure", ""), iter(())), None)
        if index is None:
            raise EngraverError("a bracket stands in a system without its notes")
        own.setdefault(index, []).append(figure)
    return [
        replace(system, figures=tuple(found), ink=around([system.ink, *(box for each in found for box in boxes_of(each))]))
        for index, system in enumerate(systems)
        for found in [own.get(index, [])]
    ]


def scoped(rules: str, place: str) -> str:
    """Return the engraver's style rules for what stands in a place (a selector), without those of its own editor."""
    made = []
    for rule in rules.split("}"):
        selectors, brace, body = rule.partition("{")
        if brace and ".cursor" not in selectors and ".placeholder" not in selectors:
            made.append(",".join(f"{place} {each.strip()}" for each in selectors.split(",")) + "{" + body.strip() + "}")
    return "\n".join(made)


def plain(group: Any) -> Any:
    """Return a copy of some music without marks: grey notes in ink, no note names. Figures are no part of the music."""
    bare = copy.deepcopy(group)
    for element in list(bare.iter(etree.Element)):
        if "note-name" in classes(element):
            element.getparent().remove(element)
        if element.attrib.pop("data-grey", None) is not None:
            element.attrib.pop("fill", None)
            element.attrib.pop("color", None)
            element.set("class", " ".join(name for name in classes(element) if name != "grey"))
    return bare


def without_reasons(group: Any) -> Any:
    """Return a copy of some music that no longer tells why it is grey."""
    marked = copy.deepcopy(group)
    for element in marked.iter(etree.Element):
        element.attrib.pop("data-grey", None)
    return marked
