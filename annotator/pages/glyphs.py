"""Music characters inside text (the note of a metronome mark): their outlines and advances.

Conventions: music characters are the private-use code points U+E000 to U+F8FF, as SMuFL numbers them;
lengths are in em. Rule: a PDF knows no web fonts, so a music character in text is drawn from the engraver's
own outlines. Source: the data Verovio ships, ``data/Leipzig.xml`` (advances, ``h-a-x``) and
``data/Leipzig/XXXX.xml`` (outlines), 1000 units an em.
"""

from __future__ import annotations

import importlib.util
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from lxml import etree

from annotator.pages.outlines import Outline, UnknownDrawing, outline

EM = 1000.0
"""Units of one em in the outlines."""


@dataclass(frozen=True, slots=True)
class Glyph:
    """One music character: its outline in units of ``EM`` with y growing upwards, and its advance in em."""

    outline: Outline
    advance: float


def is_music(character: str) -> bool:
    """Tell whether a character is a music character.

    >>> is_music(chr(0xE1D5)), is_music("C")
    (True, False)
    """
    return 0xE000 <= ord(character) <= 0xF8FF


@cache
def _folder() -> Path:
    spec = importlib.util.find_spec("verovio")
    if spec is None or spec.origin is None:
        raise UnknownDrawing("music characters without Verovio's data")
    return Path(spec.origin).parent / "data"


@cache
def _advances() -> dict[str, float]:
    tree = etree.parse(str(_folder() / "Leipzig.xml"))
    return {each.get("c", ""): float(each.get("h-a-x", "0")) / EM for each in tree.getroot().iter("g")}


@cache
def glyph(character: str) -> Glyph:
    """Return a music character's outline and advance; UnknownDrawing where the font has none."""
    code = f"{ord(character):04X}"
    path = _folder() / "Leipzig" / f"{code}.xml"
    if code not in _advances() or not path.is_file():
        raise UnknownDrawing(f"music character U+{code}")
    drawn = etree.parse(str(path)).getroot().iter("{*}path")
    steps = tuple(step for each in drawn for step in outline(each.get("d", "")))
    return Glyph(steps, _advances()[code])
