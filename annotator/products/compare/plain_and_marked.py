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
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from lxml import etree

from annotator.pages.boxes import Box, around, boxes_of
from annotator.pages.paper import Paper
from annotator.pages.svg import HREF, SVG, classes, margin_of, numbers, parsed

NAMESPACES: Any = {None: SVG.strip("{}")}
"""Of a drawing: SVG without a prefix."""

_FACE = re.compile(r"@font-face\s*\{[^}]*\}")


@dataclass(frozen=True, slots=True)
class System:
    """One system: the index of its page, its music, its figures as they stand in it, the ink of both and of the music alone.

    ``notes`` are the boxes of its notes by their id on the page, in the order they are drawn.
    """

    page: int
    music: Any
    figures: tuple[Any, ...]
    ink: Box
    bare: Box
    notes: Mapping[str, Box]


@dataclass(frozen=True, slots=True)
class Cut:
    """What pages are made of: the systems, the page head (or None), the glyphs by name, the style rules, and the web fonts beside them.

    ``paper`` is what was engraved on, with the upper margin that came of it.
    """

    systems: tuple[System, ...]
    head: Any
    glyphs: Mapping[str, Any]
    rules: str
    fonts: str
    paper: Paper


def cut(pages: Sequence[str], figures: Mapping[str, Iterable[str]], paper: Paper) -> Cut:
    """Cut marked pages into systems. ``figures`` are the page ids of each figure's notes by the figure's id."""
    roots = [parsed(page, blanks=False) for page in pages]
    margins = [margin_of(root) for root in roots]
    glyphs = {name: glyph for root in roots for name, glyph in _glyphs(root).items()}
    head = next((each for each in margins[0] if "pgHead" in classes(each) and any(boxes_of(each))), None)
    rules, *others = ["\n".join(each.text or "" for each in root.iter(SVG + "style")) for root in roots]
    faces = dict.fromkeys(face for text in (rules, *others) for face in _FACE.findall(text))
    rules = _FACE.sub("", rules).replace(f"#{roots[0].get('id', '')} ", "").strip()
    top = round(numbers(margins[0].get("transform"))[-1] / 10)
    return Cut(tuple(_systems(margins, figures)), head, glyphs, rules, "\n".join(faces), replace(paper, top=top))


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
    etree.cleanup_namespaces(root)
    return found


def _systems(margins: Sequence[Any], figures: Mapping[str, Iterable[str]]) -> list[System]:
    """Return the systems of some pages, each with the figures that stand in it."""
    systems = [(page, each) for page, margin in enumerate(margins) for each in margin if "system" in classes(each)]
    notes = [_notes(music) for _, music in systems]
    system_of = {note: index for index, found in enumerate(notes) for note in found}
    homes = {name: iter(sorted({system_of[note] for note in ids if note in system_of})) for name, ids in figures.items()}
    own: dict[int, list[Any]] = defaultdict(list)
    for figure in (each for margin in margins for each in margin if "figure" in classes(each)):
        own[next(homes[figure.get("data-figure")])].append(figure)
    return [
        System(page, music, tuple(own[index]), _ink(music, *own[index]), _ink(plain(music)), notes[index])
        for index, (page, music) in enumerate(systems)
    ]


def _notes(music: Any) -> dict[str, Box]:
    """Return the boxes of the notes of a system by their ids."""
    notes = {}
    for note in music.iter(SVG + "g"):
        if "note" in classes(note) and note.get("id"):
            heads = [box for part in note if "notehead" in classes(part) for box in boxes_of(part)]
            notes[note.get("id")] = around(heads or boxes_of(note) or boxes_of(music))
    return notes


def _ink(*drawn: Any) -> Box:
    return around([box for each in drawn for box in boxes_of(each)])


def plain(music: Any) -> Any:
    """Return a copy of some music without marks: grey notes in ink, no note names. Figures are no part of the music."""
    bare = copy.deepcopy(music)
    for element in list(bare.iter(etree.Element)):
        if "note-name" in classes(element):
            element.getparent().remove(element)
        if take_grey(element) is not None:
            element.set("class", " ".join(name for name in classes(element) if name != "grey"))
    return bare


def take_grey(element: Any) -> str | None:
    """Give an element its ink back, and return the reason why it was grey; None: it was not."""
    reason: str | None = element.attrib.pop("data-grey", None)
    if reason is not None:
        element.attrib.pop("fill", None)
        element.attrib.pop("color", None)
    return reason
