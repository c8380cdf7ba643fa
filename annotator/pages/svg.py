"""SVG as the engraver writes it: elements, numbers, outlines, transforms, how an element looks, where the pieces of a text stand.

Conventions
-----------
* An outline is a tuple of steps in absolute coordinates, each named as fontTools names what a pen does: ``("moveTo", x, y)``,
  ``("lineTo", x, y)``, ``("curveTo", x1, y1, x2, y2, x, y)``, ``("closePath",)``, ``("endPath",)``.
* A look is what an element hands down to those in it (``LOOK``). Colours are ``#RRGGBB`` or ``none``.
* White space is collapsed across the pieces of a text as in a browser; a chunk is the pieces from one place to the next.

Rule
----
Every page of the engraver carries the same style rules; they are known here and not read. In them shapes are stroked in ``color``,
whatever their ``stroke`` says. What is not known raises ``UnknownDrawing``.

Source: SVG 1.1 (W3C), chapters 7.6 "The transform attribute", 8.3 "Path data", 10 "Text" and 11 "Painting"; the style rules are those of
Verovio 6.

>>> outline("M1 2l3 0v4z")[1:3]
(('lineTo', 4.0, 2.0), ('lineTo', 4.0, 6.0))
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import chain
from typing import Any

from fontTools.misc.transform import Identity, Transform
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from lxml import etree

from annotator.errors import EngraverError
from annotator.pages import fonts

SVG = "{http://www.w3.org/2000/svg}"
HREF = "{http://www.w3.org/1999/xlink}href"

Look = Mapping[str, str]
LOOK = frozenset({"fill", "color", "font-family", "font-size", "font-style", "font-weight", "text-anchor"})
_BOLD, _ITALIC = {"font-weight": "bold"}, {"font-style": "italic"}
_BY_CLASS: dict[str, Look] = {
    **dict.fromkeys(("ending", "fing", "reh", "tempo"), _BOLD),
    **dict.fromkeys(("dir", "dynam", "mNum"), _ITALIC),
}
"""What the engraver's style rules say of groups, by class."""

_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_FUNCTION = re.compile(r"(\w+)\s*\(([^)]*)\)")
_BLANKS = re.compile("[ \t\r\n]+")
_ANCHORS = {"middle": 0.5, "end": 1.0}

Outline = tuple[tuple[str, *tuple[float, ...]], ...]


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


def margin_of(page: Any) -> Any:
    """Return the group that everything on a page is drawn in."""
    margin = next((each for each in page.iter(SVG + "g") if "page-margin" in classes(each)), None)
    if margin is None:
        raise EngraverError("a page of the engraver has no music on it")
    return margin


def numbers(text: str | None) -> list[float]:
    """Return all numbers in a text.

    >>> numbers("M10 -20 L3.5,4")
    [10.0, -20.0, 3.5, 4.0]
    """
    return [float(each) for each in _NUMBER.findall(text or "")]


@lru_cache(maxsize=4096)
def outline(data: str) -> Outline:
    """Return the steps of path data (``d``)."""
    pen = RecordingPen()
    try:
        parse_path(data, pen)
    except (ValueError, IndexError, AssertionError) as error:
        raise UnknownDrawing(f"path data '{data[:40]}'") from error
    return tuple((name, *chain.from_iterable(points)) for name, points in pen.value)


def transform_of(element: Any) -> Transform:
    """Return what an element's ``transform`` does to what is in it."""
    matrix = Identity
    for name, inside in _FUNCTION.findall(element.get("transform", "")):
        values = numbers(inside)
        if name == "translate":
            matrix = matrix.translate(*values)
        elif name == "scale":
            matrix = matrix.scale(*values)
        elif name == "rotate":
            angle, x, y = (*values, 0.0, 0.0)[:3]
            matrix = matrix.translate(x, y).rotate(math.radians(angle)).translate(-x, -y)
        else:
            raise UnknownDrawing(f"transform '{name}'")
    return matrix


def look_of(element: Any, around: Look) -> Look:
    """Return how an element looks that stands in something of a look."""
    own = {name: value for name, value in element.items() if name in LOOK}
    for name in classes(element):
        own.update(_BY_CLASS.get(name, {}))
    return {**around, **own} if own else around


@lru_cache(maxsize=256)
def colour(text: str) -> tuple[float, float, float] | None:
    """Return red, green and blue from 0 to 1, or None for ``none``; a colour that cannot be read is black, so that nothing is lost.

    >>> colour("#FF0000")
    (1.0, 0.0, 0.0)
    """
    if text == "none":
        return None
    if not re.fullmatch("#[0-9A-Fa-f]{6}", text):
        return 0.0, 0.0, 0.0
    red, green, blue = (int(text[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue


@dataclass(frozen=True, slots=True)
class Piece:
    """Text of one look."""

    text: str
    look: Look

    @property
    def letters(self) -> tuple[str, float, bool, bool, str]:
        """The text with its size, whether it is bold and italic, and its family, as ``fonts`` takes them."""
        bold, italic = self.look.get("font-weight") == "bold", self.look.get("font-style") == "italic"
        return self.text, (numbers(self.look.get("font-size")) or [0.0])[0], bold, italic, self.look.get("font-family", fonts.FAMILY)

    @property
    def width(self) -> float:
        """How far it moves on."""
        return fonts.text_width(*self.letters)


@dataclass(slots=True)
class Chunk:
    """The pieces of a text that are set from one place."""

    x: float
    y: float
    pieces: list[Piece] = field(default_factory=list)

    @property
    def width(self) -> float:
        """How wide it is of itself."""
        return sum(piece.width for piece in self.pieces)

    def left(self, width: float) -> float:
        """Return where it begins if it is so wide."""
        return self.x - width * _ANCHORS.get(self.pieces[0].look.get("text-anchor", ""), 0.0)


def chunks_of(element: Any, around: Look | None = None) -> list[Chunk]:
    """Return the chunks of a ``text`` that stands in something of a look (None: that of all around it)."""
    if around is None:
        around = {}
        for each in reversed(list(element.iterancestors())):
            around = look_of(each, around)
    chunks = [Chunk(0.0, 0.0)]
    after_blank = True
    for words, look, x, y in _pieces(element, around):
        if x is not None or y is not None:
            chunks.append(Chunk(chunks[-1].x if x is None else float(x), chunks[-1].y if y is None else float(y)))
        text = _BLANKS.sub(" ", words)
        text = text.removeprefix(" ") if after_blank else text
        if text:
            after_blank = text.endswith(" ")
            chunks[-1].pieces.append(Piece(text, look))
    chunks = [chunk for chunk in chunks if chunk.pieces]
    if chunks:
        *_, last = chunks[-1].pieces
        chunks[-1].pieces[-1] = Piece(last.text.rstrip(" "), last.look)
    return chunks


def _pieces(element: Any, around: Look) -> Iterator[tuple[str, Look, str | None, str | None]]:
    """Yield each piece of a ``text`` or ``tspan`` as it stands, its look, and where it is set from if that is said."""
    look = look_of(element, around)
    yield element.text or "", look, element.get("x"), element.get("y")
    for child in element.iterchildren(SVG + "tspan"):
        yield from _pieces(child, look)
        yield child.tail or "", look, None, None
