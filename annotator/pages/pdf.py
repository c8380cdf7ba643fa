"""Pages painted: all pages of a score in one PDF, or one page as a PNG picture, their text such that it can be searched and copied.

Conventions
-----------
* A page is scaled to fill its paper, its proportions kept. The same pages give the same bytes on any day (with the same cairo).
* A no-break space keeps its room but is written as a space, so that a search finds it. ``textLength`` stretches a text whose natural
  width differs.

Rule
----
Cairo, the C library, is loaded here and nowhere else, and not before it is needed, so that all but the pages works where it is missing. It
writes to a file of its own, never back into the program: an interrupt that came on such a way would be lost.

A page knows few kinds of drawing; each is one method of the painter, found by its tag in ``_DRAW``. Shapes are filled in ``fill``, and
stroked in ``color`` where they say how wide. What is not known here is left out, and noted in ``left_out``. The package cairosvg, which the
tests draw with, will not do for a score: it sets text letter by letter, knows no ``textLength``, and makes each page a file of its own.

Source: SVG 1.1 (W3C), chapters 5, 7, 9, 10 and 11.1; PDF 1.7 unit of 1/72 inch; ISO 216 (A4, 210 x 297 mm); US letter, 8.5 x 11 inches; PNG
specification, third edition (W3C 2025), sections 5 (structure), 11.3.3.3 (tEXt) and 11.3.4.3 (pHYs), from memory.
"""

from __future__ import annotations

import math
import struct
import zlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from annotator.errors import EngraverError
from annotator.pages import fonts
from annotator.pages.paper import Paper, paper_of
from annotator.pages.svg import (
    HREF,
    SVG,
    Look,
    Outline,
    Piece,
    UnknownDrawing,
    chunks_of,
    colour,
    look_of,
    numbers,
    outline,
    parsed,
    tag,
    transform_of,
)

MISSING = (
    "the library cairo is missing, so no PDF or PNG can be made: install it "
    "(Debian, Ubuntu: apt install libcairo2; Fedora: dnf install cairo; macOS: brew install cairo; "
    "Windows: the GTK 3 runtime) and run again"
)

TENTH = 72 / 254
"""Points of a tenth of a millimetre."""

CREATED = "2020-01-01T00:00:00Z"
"""The date in every PDF: a fixed one, so that the same score gives the same bytes."""

OLDEST = 11600
"""The first cairo that writes what a PDF says of itself: 1.16, as the library numbers its versions."""


@cache
def cairo() -> Any:
    """Return the package that calls cairo, the page's typefaces made known to it first. Raises an ``EngraverError`` where it is missing."""
    fonts.register()
    try:
        import cairocffi
    except OSError as error:
        raise EngraverError(MISSING) from error
    if cairocffi.cairo_version() < OLDEST:
        raise EngraverError(f"the library cairo is too old, 1.16 is needed ({cairocffi.cairo_version_string()}): install a newer one")
    return cairocffi


def write_pdf(pages: Sequence[str], paper: str | Paper, title: str, author: str, left_out: set[str] | None = None) -> bytes:
    """Return a PDF with one page for each SVG text; ``title`` and ``author`` become its metadata.

    What is on a page and cannot be drawn is added to ``left_out``.
    """
    if not pages:
        raise EngraverError("no pages to write")
    width, height = (TENTH * each for each in (paper_of(paper).width, paper_of(paper).height))
    with _scratch("pages.pdf") as file:
        surface = cairo().PDFSurface(str(file), width, height)
        for name, value in (("TITLE", title), ("AUTHOR", author), ("CREATOR", "annotator"), ("CREATE_DATE", CREATED)):
            surface.set_metadata(getattr(cairo(), f"PDF_METADATA_{name}"), value)
        context = _pen(surface)
        for page in pages:
            _paint(context, page, width, height, left_out)
            context.show_page()
        surface.finish()
        return file.read_bytes()


def write_png(page: str, paper: str | Paper, dpi: float, left_out: set[str] | None = None) -> bytes:
    """Return one SVG page as a PNG on white, at ``dpi`` dots an inch; see ``write_pdf`` for ``left_out``."""
    width, height = (each / 254 * dpi for each in (paper_of(paper).width, paper_of(paper).height))
    with _scratch("page.png") as file:
        surface = cairo().ImageSurface(cairo().FORMAT_RGB24, max(1, round(width)), max(1, round(height)))
        context = _pen(surface)
        context.set_source_rgba(1, 1, 1, 1)
        context.paint()
        _paint(context, page, width, height, left_out)
        surface.write_to_png(str(file))
        return with_origin(file.read_bytes(), dpi)


@contextmanager
def _scratch(name: str) -> Iterator[Path]:
    """Give the place of a file for cairo to write, and turn what goes wrong there into an ``EngraverError``."""
    with TemporaryDirectory() as folder:
        try:
            yield Path(folder) / name
        except cairo().CairoError as error:
            raise EngraverError(f"the library cairo failed ({error})") from error


def _pen(surface: Any) -> Any:
    """Return a context that draws on a surface and lets letters keep their own shapes and widths at every size."""
    context = cairo().Context(surface)
    context.set_font_options(cairo().FontOptions(hint_style=cairo().HINT_STYLE_NONE, hint_metrics=cairo().HINT_METRICS_OFF))
    return context


def _paint(context: Any, page: str, width: float, height: float, left_out: set[str] | None) -> None:
    """Paint a page into a room of the context that begins at its origin."""
    root = parsed(page)
    view = numbers(root.get("viewBox")) or [0.0, 0.0, *numbers(root.get("width")), *numbers(root.get("height"))]
    if tag(root) != "svg" or len(view) != 4 or min(view[2:]) <= 0 or math.inf in view:
        raise EngraverError("a page of the engraver is no SVG with width and height")
    painter = Painter(context, root, view, set() if left_out is None else left_out)
    context.save()
    painter.fit(view, 0.0, 0.0, width, height)
    painter.inside(root, look_of(root, {}))
    context.restore()


class Painter:
    """Paints one page on one context of cairo. What it does not know is added to ``left_out``."""

    def __init__(self, context: Any, root: Any, view: Sequence[float], left_out: set[str]) -> None:
        """Read the glyphs of the page, of which this much is seen (left, top, width, height)."""
        self._context, self._view, self._left_out = context, view, left_out
        self._glyphs = {f"#{path.getparent().get('id')}": outline(path.get("d")) for path in root.iterfind(f".//{SVG}defs/*/{SVG}path")}
        self._matrix = type(context.get_matrix())
        self._steps = {
            "moveTo": context.move_to,
            "lineTo": context.line_to,
            "curveTo": context.curve_to,
            "closePath": context.close_path,
            "endPath": lambda: None,
        }
        context.set_miter_limit(4.0)

    def fit(self, view: Sequence[float], x: float, y: float, width: float, height: float) -> None:
        """Let all that is painted from here on fit into a room as large as it can, in the middle of it."""
        left, top, wide, high = view
        scale = min(width / wide, height / high)
        self._context.translate(x + (width - scale * wide) / 2, y + (height - scale * high) / 2)
        self._context.scale(scale, scale)
        self._context.translate(-left, -top)

    def inside(self, element: Any, look: Look) -> None:
        """Paint all that is in an element of a look."""
        for child in element:
            self._element(child, look)

    def _element(self, element: Any, around: Look) -> None:
        if element.tag in _SILENT:
            return
        moves = element.tag == SVG + "svg" or "transform" in element.attrib
        if moves:
            self._context.save()
        try:
            if element.tag not in _DRAW:
                raise UnknownDrawing(f"element '{tag(element)}'")
            if "transform" in element.attrib:
                self._context.transform(self._matrix(*transform_of(element)))
            _DRAW[element.tag](self, element, look_of(element, around))
        except UnknownDrawing as unknown:
            self._context.new_path()
            self._left_out.add(str(unknown))
        if moves:
            self._context.restore()

    def _nested(self, element: Any, look: Look) -> None:
        """Paint an ``svg`` in a page: where it says, or all over it."""
        x, y, width, height = (float(element.get(name, usual)) for name, usual in zip(_ROOM, (0.0, 0.0, *self._view[2:]), strict=True))
        self.fit(numbers(element.get("viewBox")), x, y, width, height)
        self.inside(element, look)

    def _use(self, element: Any, look: Look) -> None:
        name = element.get(HREF) or element.get("href") or ""
        if name not in self._glyphs:
            raise UnknownDrawing(f"use of '{name[:60]}'")
        self._context.scale(1, -1)  # outlines of glyphs grow upwards
        self._trace(self._glyphs[name])
        self._ink(element, look)

    def _path(self, element: Any, look: Look) -> None:
        steps = outline(element.get("d", ""))
        self._trace(steps)
        self._ink(element, look, area=len(steps) > 3)

    def _trace(self, steps: Outline) -> None:
        """Add an outline to the current path."""
        for kind, *values in steps:
            self._steps[kind](*values)

    def _points(self, element: Any, look: Look) -> None:
        values = numbers(element.get("points"))
        for x, y in zip(values[::2], values[1::2], strict=False):
            self._context.line_to(x, y)
        if element.tag == SVG + "polygon":
            self._context.close_path()
        self._ink(element, look)

    def _rect(self, element: Any, look: Look) -> None:
        self._context.rectangle(*(float(element.get(name, 0)) for name in _ROOM))
        self._ink(element, look)

    def _ellipse(self, element: Any, look: Look) -> None:
        self._context.save()
        self._context.translate(float(element.get("cx")), float(element.get("cy")))
        self._context.scale(float(element.get("rx")), float(element.get("ry")))
        self._context.arc(0, 0, 1, 0, 2 * math.pi)
        self._context.restore()
        self._ink(element, look)

    def _ink(self, element: Any, look: Look, area: bool = True) -> None:
        """Fill the current path, where it has an ``area``, and stroke it, where it says how wide."""
        context = self._context
        fill, stroke = (colour(look.get(name, "#000000")) for name in ("fill", "color"))
        if area and fill is not None:
            context.set_source_rgb(*fill)
            context.fill_preserve()
        width, dashes = float(element.get("stroke-width", 0)), numbers(element.get("stroke-dasharray"))
        if width and stroke is not None:
            context.set_source_rgb(*stroke)
            context.set_line_width(width)
            context.set_line_cap(_CAPS.get(element.get("stroke-linecap"), 0))
            context.set_line_join(_JOINS.get(element.get("stroke-linejoin"), 0))
            if dashes:
                context.set_dash(dashes)
            context.stroke()
            if dashes:
                context.set_dash([])
        context.new_path()

    def _text(self, element: Any, look: Look) -> None:
        chunks = chunks_of(element, look)
        natural, wanted = sum(chunk.width for chunk in chunks), float(element.get("textLength", 0))
        stretch = wanted / natural if natural and wanted else 1.0
        for chunk in chunks:
            x = chunk.left(stretch * chunk.width)
            for piece in chunk.pieces:
                self._write(piece, x, chunk.y, stretch)
                x += stretch * piece.width

    def _write(self, piece: Piece, x: float, y: float, stretch: float) -> None:
        """Write text of one look, its letters ``stretch`` times as wide as they are; what no face here has is left to the system's."""
        ink = colour(piece.look.get("fill", "#000000"))
        text, size, bold, italic, family = piece.letters
        if ink is None or not size:
            return
        self._context.set_source_rgb(*ink)
        for run in fonts.runs(text.replace("\u00a0", " "), bold, italic, family):
            width = stretch * fonts.text_width(run.text, size, bold, italic, family)
            if run.face == fonts.MUSIC_FACE:
                self._music(run.text, x, y, size / fonts.EM, stretch)
            else:
                face = run.face or fonts.Face("sans-serif", bold, italic)
                self._context.select_font_face(face.family, int(face.italic), int(face.bold))
                self._context.set_font_matrix(self._matrix(xx=stretch * size, yy=size))
                self._context.move_to(x, y)
                self._context.show_text(run.text)
                self._context.new_path()
            x += width

    def _music(self, text: str, x: float, y: float, scale: float, stretch: float) -> None:
        """Draw music characters from their outlines; one unit of these is so much."""
        for character in text:
            glyph = fonts.glyph(character)
            if not glyph.path:
                self._left_out.add(f"music character U+{ord(character):04X}")
            self._context.save()
            self._context.translate(x, y)
            self._context.scale(stretch * scale, -scale)
            self._trace(outline(glyph.path))
            self._context.fill()
            self._context.restore()
            x += stretch * glyph.advance * fonts.EM * scale


_ROOM = ("x", "y", "width", "height")
_SILENT = frozenset(SVG + name for name in ("defs", "style", "title", "desc", "metadata"))
_CAPS = {"round": 1, "square": 2}
_JOINS = {"round": 1}
_DRAW: dict[str, Callable[[Painter, Any, Look], None]] = {
    SVG + "g": Painter.inside,
    SVG + "svg": Painter._nested,
    SVG + "use": Painter._use,
    SVG + "path": Painter._path,
    SVG + "polygon": Painter._points,
    SVG + "polyline": Painter._points,
    SVG + "rect": Painter._rect,
    SVG + "ellipse": Painter._ellipse,
    SVG + "text": Painter._text,
}


def with_origin(png: bytes, dpi: float) -> bytes:
    """Return a picture that says which program made it, and how large it is on paper (``dpi`` dots an inch; PNG counts dots a metre)."""
    dots, header = round(dpi / 0.0254), 8 + 25  # the signature, and the first chunk
    chunks = _chunk(b"tEXt", b"Software\0annotator") + _chunk(b"pHYs", struct.pack(">IIB", dots, dots, 1))
    return png[:header] + chunks + png[header:]


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
