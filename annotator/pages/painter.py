"""Paints the engraver's SVG pages onto cairo, element by element.

Conventions: one painter for one page; user units are the SVG's own, the caller has set the scale of the
paper. Rule: an engraver's page knows few kinds of drawing (path, polygon, polyline, rect, ellipse, circle,
line, use, text, nested g and svg). Each is one method, found by its tag in ``_DRAW``; anything else raises
``UnknownDrawing`` before a mark of it is on the page. Source: SVG 1.1 (W3C), chapters 5, 7, 9 and 14.5.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from lxml import etree

from annotator.errors import EngraverError
from annotator.pages import brush
from annotator.pages.canvas import Canvas
from annotator.pages.lettering import Letterer
from annotator.pages.outlines import UnknownDrawing, matrices, numbers, outline
from annotator.pages.stylesheet import Properties, Stylesheet, inherit

_HREF = "{http://www.w3.org/1999/xlink}href"
_SILENT = frozenset({"defs", "style", "title", "desc", "metadata", "symbol", "script"})
_DEPTH = 60

FINEST = 1 / 20_000
"""A stroke around a fill of its own colour that is finer than this part of the page's width, 0.01 mm on A4, is not painted: the engraver's
rules give every note head one, no printer shows it, and it doubles the work."""


def parse(page: str) -> etree._Element:
    """Return the root of an SVG page; nothing outside the text is fetched."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True, remove_comments=True)
    try:
        root = etree.fromstring(page.encode("utf-8"), parser)
    except etree.XMLSyntaxError as error:
        raise EngraverError(f"a page of the engraver is no well-formed SVG ({error})") from error
    if etree.QName(root).localname != "svg":
        raise EngraverError("a page of the engraver is no SVG")
    return root


def page_size(root: etree._Element) -> tuple[float, float]:
    """Return width and height of a page in its own user units."""
    box = root.get("viewBox")
    try:
        width, height = _box(box)[2:] if box else (brush.length(root.get("width", "")), brush.length(root.get("height", "")))
    except UnknownDrawing:
        width = height = 0.0
    if not (0 < width < math.inf and 0 < height < math.inf):
        raise EngraverError("a page of the engraver says no width and height")
    return width, height


def _box(text: str) -> tuple[float, float, float, float]:
    values = numbers(text)
    if len(values) != 4 or values[2] <= 0 or values[3] <= 0:
        raise UnknownDrawing(f"viewBox '{text[:40]}'")
    return values[0], values[1], values[2], values[3]


class Painter:
    """Paints one page on one canvas."""

    def __init__(self, context: Canvas, root: etree._Element) -> None:
        """Read the page's style rules and its ids."""
        self._context, self._root = context, root
        rules = "\n".join(each.text or "" for each in root.iter("{*}style"))
        self._sheet = Stylesheet(rules, root.get("id", ""))
        self._letterer = Letterer(context)
        self._by_id = {each.get("id"): each for each in root.iter("{*}g", "{*}path", "{*}symbol") if each.get("id")}
        self._size = page_size(root)
        self._finest = FINEST * self._size[0]
        brush.prepare(context)

    def paint(self) -> None:
        """Paint the whole page."""
        box = self._root.get("viewBox")
        if box:
            left, top, _, _ = _box(box)
            self._context.translate(-left, -top)
        self._children(self._root, inherit(Properties(), self._sheet.own(self._root, "svg")), 0)

    def _children(self, element: etree._Element, properties: Properties, depth: int) -> None:
        for child in element:
            if isinstance(child.tag, str):
                self._element(child, properties, depth + 1)

    def _element(self, element: etree._Element, inherited: Properties, depth: int) -> None:
        tag = element.tag.rpartition("}")[2]
        if tag in _SILENT:
            return
        draw = _DRAW.get(tag)
        if draw is None or depth > _DEPTH:
            raise UnknownDrawing(f"element '{tag}'" if draw is None else "groups nested too deep")
        own = self._sheet.own(element, tag)
        if own.get("display") == "none":
            return
        opacity = brush.length(own["opacity"]) if "opacity" in own else 1.0
        transform = element.get("transform")
        if opacity < 1:
            self._context.push_group()
        finest = self._finest
        if transform:
            self._context.save()
            for matrix in matrices(transform):
                self._context.transform(matrix)
                self._finest /= math.sqrt(abs(matrix[0] * matrix[3] - matrix[1] * matrix[2])) or 1.0
        draw(self, element, inherited if tag == "text" else inherit(inherited, own), depth)
        if transform:
            self._context.restore()
            self._finest = finest
        if opacity < 1:
            self._context.pop_group_to_source()
            self._context.paint_with_alpha(opacity)

    def _group(self, element: etree._Element, properties: Properties, depth: int) -> None:
        self._children(element, properties, depth)

    def _nested(self, element: etree._Element, properties: Properties, depth: int) -> None:
        """Paint an inner ``svg``: its viewBox fitted into its room, centred, as ``xMidYMid meet`` has it."""
        if element.get("preserveAspectRatio"):
            raise UnknownDrawing("preserveAspectRatio")
        width = self._extent(element, "width", self._size[0])
        height = self._extent(element, "height", self._size[1])
        finest = self._finest
        self._context.save()
        self._context.translate(self._number(element, "x"), self._number(element, "y"))
        box = element.get("viewBox")
        if box:
            left, top, wide, high = _box(box)
            scale = min(width / wide, height / high)
            self._context.translate((width - scale * wide) / 2, (height - scale * high) / 2)
            self._context.scale(scale, scale)
            self._context.translate(-left, -top)
            self._finest /= scale
        self._children(element, properties, depth)
        self._context.restore()
        self._finest = finest

    def _extent(self, element: etree._Element, name: str, whole: float) -> float:
        text = element.get(name, "100%")
        return whole * float(text[:-1]) / 100 if text.endswith("%") else brush.length(text)

    def _number(self, element: etree._Element, name: str) -> float:
        return brush.length(element.get(name, "0"))

    def _use(self, element: etree._Element, properties: Properties, depth: int) -> None:
        target = self._by_id.get((element.get(_HREF) or element.get("href") or "").removeprefix("#"))
        if target is None or etree.QName(target).localname == "symbol":
            raise UnknownDrawing(f"use of '{element.get(_HREF) or element.get('href')}'")
        moved = "x" in element.attrib or "y" in element.attrib
        if moved:
            self._context.save()
            self._context.translate(self._number(element, "x"), self._number(element, "y"))
        self._element(target, properties, depth + 1)
        if moved:
            self._context.restore()

    def _path(self, element: etree._Element, properties: Properties, depth: int) -> None:
        steps = outline(element.get("d", ""))
        self._context.trace(steps)
        brush.paint(self._context, properties, self._finest, area=len(steps) > 2)

    def _points(self, element: etree._Element, properties: Properties, depth: int) -> None:
        values = numbers(element.get("points", ""))
        for x, y in zip(values[::2], values[1::2], strict=False):
            self._context.line_to(x, y)
        if etree.QName(element).localname == "polygon" and values:
            self._context.close_path()
        brush.paint(self._context, properties, self._finest)

    def _line(self, element: etree._Element, properties: Properties, depth: int) -> None:
        self._context.move_to(self._number(element, "x1"), self._number(element, "y1"))
        self._context.line_to(self._number(element, "x2"), self._number(element, "y2"))
        brush.paint(self._context, properties)

    def _rect(self, element: etree._Element, properties: Properties, depth: int) -> None:
        if element.get("rx") or element.get("ry"):
            raise UnknownDrawing("rounded rectangles")
        width, height = self._number(element, "width"), self._number(element, "height")
        if width > 0 and height > 0:
            self._context.rectangle(self._number(element, "x"), self._number(element, "y"), width, height)
            brush.paint(self._context, properties)

    def _ellipse(self, element: etree._Element, properties: Properties, depth: int) -> None:
        across = self._number(element, "r" if element.get("r") else "rx")
        along = self._number(element, "r" if element.get("r") else "ry")
        if across <= 0 or along <= 0:
            return
        self._context.save()
        self._context.translate(self._number(element, "cx"), self._number(element, "cy"))
        self._context.scale(across, along)
        self._context.new_sub_path()
        self._context.arc(0, 0, 1, 0, 2 * math.pi)
        self._context.close_path()
        self._context.restore()
        brush.paint(self._context, properties)

    def _text(self, element: etree._Element, properties: Properties, depth: int) -> None:
        self._letterer.write(element, properties, self._sheet)


_DRAW: dict[str, Callable[[Painter, etree._Element, Properties, int], None]] = {
    "g": Painter._group,
    "a": Painter._group,
    "svg": Painter._nested,
    "use": Painter._use,
    "path": Painter._path,
    "polygon": Painter._points,
    "polyline": Painter._points,
    "line": Painter._line,
    "rect": Painter._rect,
    "ellipse": Painter._ellipse,
    "circle": Painter._ellipse,
    "text": Painter._text,
}
