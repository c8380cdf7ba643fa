"""Paints pages onto cairo, element by element: shapes, glyphs, and text that can be searched and copied.

Conventions
-----------
* One painter for one page; user units are the SVG's own, the caller has set the scale of the paper.
* A piece is text with one set of properties; a chunk is the pieces from one absolute position to the next, and is anchored as one.
* White space collapses across pieces as in a browser; a no-break space keeps its room but is written as a space, so that a search finds it.
* ``textLength`` stretches a text whose natural width differs.

Rule: a page knows few kinds of drawing (path, polygon, polyline, rect, ellipse, use, text, nested g and svg). Each is one method, found by
its tag in ``_DRAW``. What is not known here is left out, and noted in ``left_out``. The package cairosvg, which the tests draw with, will
not do for a score: it sets text letter by letter, knows no ``textLength``, and makes each page a file of its own.
Source: SVG 1.1 (W3C), chapters 5, 7, 9, 10 and 11.1.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from annotator.errors import EngraverError
from annotator.pages import fonts, svg

_SILENT = frozenset({"", "defs", "style", "title", "desc", "metadata"})
_MOVING = frozenset({"svg", "use"})
"""What moves the pen without a transform."""

_BLANKS = re.compile("[ \t\r\n]+")
_DEPTH = 60
_CAPS = {"butt": 0, "round": 1, "square": 2}
_JOINS = {"miter": 0, "round": 1, "bevel": 2}
_ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}
_MITER_LIMIT = 4.0

FINEST = 1 / 20_000
"""A stroke around a fill of its own colour that is finer than this part of the page's width, 0.01 mm on A4, is not painted: the engraver's
rules give every note head one, no printer shows it, and it doubles the work."""

Properties = Mapping[str, str]


def page_size(root: Any) -> tuple[float, float]:
    """Return width and height of a page in its own user units."""
    try:
        width, height = _view(root)[2:] if root.get("viewBox") else (svg.length(root.get("width", "")), svg.length(root.get("height", "")))
    except svg.UnknownDrawing:
        width = height = 0.0
    if svg.tag(root) != "svg" or not (0 < width < math.inf and 0 < height < math.inf):
        raise EngraverError("a page of the engraver is no SVG with width and height")
    return width, height


def _view(element: Any) -> list[float]:
    """Return left, top, width and height of what an ``svg`` shows."""
    values = svg.numbers(element.get("viewBox"))
    if len(values) != 4 or values[2] <= 0 or values[3] <= 0:
        raise svg.UnknownDrawing(f"viewBox '{element.get('viewBox')[:40]}'")
    return values


@dataclass(frozen=True, slots=True)
class Piece:
    """Text with one set of properties; ``x`` or ``y`` start a new chunk, ``dx`` and ``dy`` move the pen."""

    text: str
    properties: Properties
    x: float | None = None
    y: float | None = None
    dx: float = 0.0
    dy: float = 0.0

    @property
    def size(self) -> float:
        """Font size in user units."""
        return svg.length(self.properties.get("font-size", "16px"))


class Painter:
    """Paints one page on one context of cairo. ``left_out`` is what it does not know."""

    def __init__(self, context: Any, root: Any) -> None:
        """Read the page's style rules and its ids."""
        self._context, self._root, self.left_out = context, root, set[str]()
        self._sheet = svg.Stylesheet("\n".join(each.text or "" for each in root.iter("{*}style")), root.get("id", ""))
        self._by_id = {each.get("id"): each for each in root.iter("{*}g", "{*}path") if each.get("id")}
        self._size = page_size(root)
        self._finest = FINEST * self._on_paper(self._size[0])
        self._matrix = type(context.get_matrix())
        self._steps = {"M": context.move_to, "L": context.line_to, "C": context.curve_to, "Z": context.close_path}
        context.set_miter_limit(_MITER_LIMIT)

    def paint(self) -> None:
        """Paint the whole page."""
        if self._root.get("viewBox"):
            left, top, _, _ = _view(self._root)
            self._context.translate(-left, -top)
        self._group(self._root, svg.inherit({}, self._sheet.own(self._root, "svg")), 0)

    def _on_paper(self, distance: float) -> float:
        return math.hypot(*self._context.user_to_device_distance(distance, 0))

    def _element(self, element: Any, inherited: Properties, depth: int) -> None:
        name = svg.tag(element)
        if name in _SILENT:
            return
        own = self._sheet.own(element, name)
        if own.get("display") == "none":
            return
        moves = name in _MOVING or "transform" in element.attrib
        if moves:
            self._context.save()
        try:
            if name not in _DRAW or depth > _DEPTH:
                raise svg.UnknownDrawing(f"element '{name}'" if name not in _DRAW else "groups nested too deep")
            for matrix in svg.matrices(element.get("transform", "")):
                self._transform(*matrix)
            _DRAW[name](self, element, svg.inherit(inherited, own), depth)
        except svg.UnknownDrawing as unknown:
            self._context.new_path()
            self.left_out.add(str(unknown))
        if moves:
            self._context.restore()

    def _transform(self, a: float, b: float, c: float, d: float, x: float, y: float) -> None:
        """Put a matrix before the one in force: most move or scale only, and need no matrix made for them."""
        if (a, b, c, d) == (1, 0, 0, 1):
            self._context.translate(x, y)
        elif b == c == x == y == 0:
            self._context.scale(a, d)
        else:
            self._context.transform(self._matrix(a, b, c, d, x, y))

    def _group(self, element: Any, properties: Properties, depth: int) -> None:
        for child in element:
            self._element(child, properties, depth + 1)

    def _nested(self, element: Any, properties: Properties, depth: int) -> None:
        """Paint an inner ``svg``: its viewBox fitted into its room, centred, as ``xMidYMid meet`` has it."""
        width, height = (svg.length(element.get(name, str(of))) for name, of in zip(("width", "height"), self._size, strict=True))
        self._context.translate(_number(element, "x"), _number(element, "y"))
        if element.get("viewBox"):
            left, top, wide, high = _view(element)
            scale = min(width / wide, height / high)
            self._context.translate((width - scale * wide) / 2, (height - scale * high) / 2)
            self._context.scale(scale, scale)
            self._context.translate(-left, -top)
        self._group(element, properties, depth)

    def _use(self, element: Any, properties: Properties, depth: int) -> None:
        name = element.get(svg.HREF) or element.get("href") or ""
        target = self._by_id.get(name.removeprefix("#"))
        if target is None:
            raise svg.UnknownDrawing(f"use of '{name[:60]}'")
        self._context.translate(_number(element, "x"), _number(element, "y"))
        self._element(target, properties, depth + 1)

    def _path(self, element: Any, properties: Properties, depth: int) -> None:
        steps = svg.outline(element.get("d", ""))
        self._trace(steps)
        self._ink(properties, area=len(steps) > 2)

    def _points(self, element: Any, properties: Properties, depth: int) -> None:
        values = svg.numbers(element.get("points"))
        for x, y in zip(values[::2], values[1::2], strict=False):
            self._context.line_to(x, y)
        if svg.tag(element) == "polygon" and values:
            self._context.close_path()
        self._ink(properties)

    def _rect(self, element: Any, properties: Properties, depth: int) -> None:
        self._context.rectangle(*(_number(element, name) for name in ("x", "y", "width", "height")))
        self._ink(properties)

    def _ellipse(self, element: Any, properties: Properties, depth: int) -> None:
        across, along = _number(element, "rx"), _number(element, "ry")
        if across > 0 and along > 0:
            self._context.save()
            self._context.translate(_number(element, "cx"), _number(element, "cy"))
            self._context.scale(across, along)
            self._context.arc(0, 0, 1, 0, 2 * math.pi)
            self._context.close_path()
            self._context.restore()
            self._ink(properties)

    def _trace(self, steps: svg.Outline) -> None:
        """Add an outline to the current path."""
        for kind, *values in steps:
            self._steps[kind](*values)

    def _ink(self, properties: Properties, area: bool = True) -> None:
        """Fill and stroke the current path as the properties say; there is nothing to fill where it has no ``area``."""
        context, width = self._context, svg.length(properties.get("stroke-width", "1"))
        fill = svg.paint_of(properties, "fill", "black") if area else None
        if fill is not None:
            context.set_source_rgba(*fill)
            context.fill_preserve()
        stroke = svg.paint_of(properties, "stroke", "none") if width > 0 else None
        if stroke is not None and not (stroke == fill and self._on_paper(width) < self._finest):
            context.set_source_rgba(*stroke)
            context.set_line_width(width)
            context.set_line_cap(_CAPS.get(properties.get("stroke-linecap", "butt"), 0))
            context.set_line_join(_JOINS.get(properties.get("stroke-linejoin", "miter"), 0))
            dashes = svg.numbers(properties.get("stroke-dasharray"))
            if dashes:
                context.set_dash(dashes, svg.length(properties.get("stroke-dashoffset", "0")))
            context.stroke_preserve()
            if dashes:
                context.set_dash([])
        context.new_path()

    def _text(self, element: Any, properties: Properties, depth: int) -> None:
        chunks: list[list[Piece]] = []
        for piece in _pieces(element, properties, self._sheet):
            if not chunks or piece.x is not None or piece.y is not None:
                chunks.append([])
            chunks[-1].append(piece)
        wanted = svg.length(element.get("textLength", "0"))
        natural = sum(self._width(piece) for chunk in chunks for piece in chunk)
        stretch = wanted / natural if natural > 0 and wanted > 0 else 1.0
        x = y = 0.0
        for chunk in chunks:
            x = x if chunk[0].x is None else chunk[0].x
            y = y if chunk[0].y is None else chunk[0].y
            x, y = self._chunk(chunk, x, y, stretch)

    def _chunk(self, chunk: list[Piece], x: float, y: float, stretch: float) -> tuple[float, float]:
        """Write the pieces of a chunk; return where the pen is then."""
        first = next((piece for piece in chunk if piece.text), chunk[0])
        share = _ANCHORS.get(first.properties.get("text-anchor", "start"), 0.0)
        x -= share * sum(stretch * self._width(piece) + piece.dx for piece in chunk)
        for piece in chunk:
            x, y = x + piece.dx, y + piece.dy
            ink = svg.paint_of(piece.properties, "fill", "black") if piece.size > 0 else None
            if ink is not None:
                self._context.set_source_rgba(*ink)
                self._write(piece, x, y, stretch)
            x += stretch * self._width(piece)
        return x, y

    def _write(self, piece: Piece, x: float, y: float, stretch: float) -> None:
        for text, part in self._parts(piece):
            if isinstance(part, fonts.Glyph):
                self._context.save()
                self._context.translate(x, y)
                self._context.scale(stretch * piece.size / fonts.EM, -piece.size / fonts.EM)
                self._trace(part.outline)
                self._context.fill()
                self._context.restore()
            else:
                self._select(part, piece.size, stretch)
                self._context.move_to(x, y)
                self._context.show_text(text)
                self._context.new_path()
            x += stretch * self._advance(text, part, piece.size)

    def _parts(self, piece: Piece) -> Iterator[tuple[str, fonts.Face | fonts.Glyph]]:
        """Yield the music characters one by one, what no face here has in the system's, and the rest in runs of one face."""
        bold = piece.properties.get("font-weight", "normal") in ("bold", "bolder", "600", "700", "800", "900")
        italic = piece.properties.get("font-style", "normal") in ("italic", "oblique")
        family = fonts.resolve(piece.properties.get("font-family", fonts.FAMILY))
        for run in fonts.runs(piece.text.replace("\u00a0", " "), bold, italic, family):
            for text in [run.text] if run.face is not None else run.text:
                part = run.face or (fonts.glyph(text) if fonts.is_music(text) else fonts.Face("sans-serif", bold, italic))
                if isinstance(part, fonts.Glyph) and not part.outline:
                    self.left_out.add(f"music character U+{ord(text):04X}")
                yield text, part

    def _width(self, piece: Piece) -> float:
        return sum(self._advance(text, part, piece.size) for text, part in self._parts(piece)) if piece.size else 0.0

    def _advance(self, text: str, part: fonts.Face | fonts.Glyph, size: float) -> float:
        if isinstance(part, fonts.Glyph):
            return part.advance * size
        if part.family in fonts.FAMILIES.values():
            return fonts.text_width(text, size, part.bold, part.italic, part.family)
        self._select(part, size, 1.0)
        advance: float = self._context.text_extents(text)[4]
        return advance

    def _select(self, face: fonts.Face, size: float, stretch: float) -> None:
        """Take a face, its letters ``stretch`` times as wide as they are."""
        self._context.select_font_face(face.family, int(face.italic), int(face.bold))
        self._context.set_font_size(size)
        matrix = self._context.get_font_matrix()
        matrix.scale(stretch, 1.0)
        self._context.set_font_matrix(matrix)


_DRAW: dict[str, Callable[[Painter, Any, Properties, int], None]] = {
    "g": Painter._group,
    "svg": Painter._nested,
    "use": Painter._use,
    "path": Painter._path,
    "polygon": Painter._points,
    "polyline": Painter._points,
    "rect": Painter._rect,
    "ellipse": Painter._ellipse,
    "text": Painter._text,
}


def _number(element: Any, name: str) -> float:
    return svg.length(element.get(name, "0"))


def _pieces(element: Any, properties: Properties, sheet: svg.Stylesheet) -> list[Piece]:
    """Return the pieces of a ``text`` element, white space collapsed."""
    found: list[Piece] = []
    space = True
    for piece in _raw(element, properties, sheet):
        text = _BLANKS.sub(" ", piece.text)
        text = text.removeprefix(" ") if space else text
        space = text.endswith(" ") if text else space
        if text or piece.x is not None or piece.y is not None or piece.dx or piece.dy:
            found.append(replace(piece, text=text))
    if found:
        found[-1] = replace(found[-1], text=found[-1].text.rstrip(" "))
    return found


def _raw(element: Any, properties: Properties, sheet: svg.Stylesheet) -> Iterator[Piece]:
    """Yield the pieces of a ``text`` or ``tspan`` with these properties as they stand."""
    whole = svg.tag(element) == "text"
    x, y = (None if not whole and name not in element.attrib else _number(element, name) for name in ("x", "y"))
    yield Piece(element.text or "", properties, x, y, _number(element, "dx"), _number(element, "dy"))
    for child in element:
        if svg.tag(child) not in ("tspan", "title", "desc"):
            raise svg.UnknownDrawing(f"element '{svg.tag(child)}' in text")
        own = sheet.own(child, "tspan")
        if svg.tag(child) == "tspan" and own.get("display") != "none":
            yield from _raw(child, svg.inherit(properties, own), sheet)
        yield Piece(child.tail or "", properties)
