"""Text of a page: cut into pieces, anchored, and written so that it can be searched and copied.

Conventions
-----------
* A piece is text with one set of properties; a chunk is the pieces from one absolute position to the next,
  and is anchored as one.
* White space collapses across pieces as in a browser; a no-break space keeps its room but is written as a
  space, so that a search finds it.
* Music characters are drawn from outlines (``glyphs``). ``textLength`` stretches the text when the natural
  width differs.

Source: SVG 1.1 (W3C), chapter 10.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from lxml import etree

from annotator.pages import brush, fonts, glyphs
from annotator.pages.canvas import Canvas
from annotator.pages.outlines import UnknownDrawing
from annotator.pages.stylesheet import Properties, Stylesheet, inherit

_ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}


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
        return brush.length(self.properties.get("font-size", "16px"))

    @property
    def bold(self) -> bool:
        """Whether the piece is bold."""
        return self.properties.get("font-weight", "normal") in ("bold", "bolder", "600", "700", "800", "900")

    @property
    def italic(self) -> bool:
        """Whether the piece is italic."""
        return self.properties.get("font-style", "normal") in ("italic", "oblique")

    @property
    def family(self) -> str:
        """Name of the family the piece is set in."""
        return fonts.resolve(self.properties.get("font-family", fonts.FAMILY))


def pieces(element: etree._Element, inherited: Properties, sheet: Stylesheet) -> list[Piece]:
    """Return the pieces of a ``text`` element, white space collapsed; its parent hands down ``inherited``."""
    found: list[Piece] = []
    space = True
    for piece in _raw(element, inherited, sheet):
        text = ""
        for character in piece.text:
            blank = character in " \t\r\n"
            if not (blank and space):
                text += " " if blank else character
            space = blank
        if text or piece.x is not None or piece.y is not None or piece.dx or piece.dy:
            found.append(replace(piece, text=text))
    if found:
        found[-1] = replace(found[-1], text=found[-1].text.rstrip(" "))
    return found


def _raw(element: etree._Element, inherited: Properties, sheet: Stylesheet) -> Iterator[Piece]:
    tag = etree.QName(element).localname
    if tag not in ("text", "tspan", "a"):
        raise UnknownDrawing(f"element '{tag}' in text")
    if element.get("rotate") or (tag == "tspan" and element.get("textLength")):
        raise UnknownDrawing("turned letters or stretched spans")
    own = sheet.own(element, tag)
    properties = inherit(inherited, own)
    if own.get("display") == "none":
        return
    yield Piece(
        element.text or "",
        properties,
        _place(element, "x", 0.0 if tag == "text" else None),
        _place(element, "y", 0.0 if tag == "text" else None),
        _place(element, "dx", 0.0) or 0.0,
        _place(element, "dy", 0.0) or 0.0,
    )
    for child in element:
        if isinstance(child.tag, str) and etree.QName(child).localname not in ("title", "desc"):
            yield from _raw(child, properties, sheet)
        if child.tail:
            yield Piece(child.tail, properties)


def _place(element: etree._Element, name: str, default: float | None) -> float | None:
    text = element.get(name)
    return default if text is None else brush.length(text)


class Letterer:
    """Writes text on one canvas."""

    def __init__(self, context: Canvas) -> None:
        """Take the canvas to write on."""
        self._context = context

    def write(self, element: etree._Element, inherited: Properties, sheet: Stylesheet) -> None:
        """Write a ``text`` element."""
        chunks: list[list[Piece]] = []
        for piece in pieces(element, inherited, sheet):
            if not chunks or piece.x is not None or piece.y is not None:
                chunks.append([])
            chunks[-1].append(piece)
        wanted = element.get("textLength")
        stretch = self._stretch(chunks, brush.length(wanted)) if wanted else 1.0
        x = y = 0.0
        for chunk in chunks:
            x = x if chunk[0].x is None else chunk[0].x
            y = y if chunk[0].y is None else chunk[0].y
            x, y = self._chunk(chunk, x, y, stretch)

    def _stretch(self, chunks: list[list[Piece]], wanted: float) -> float:
        natural = sum(self._width(piece) for chunk in chunks for piece in chunk)
        return wanted / natural if natural > 0 and wanted > 0 else 1.0

    def _chunk(self, chunk: list[Piece], x: float, y: float, stretch: float) -> tuple[float, float]:
        first = next((piece for piece in chunk if piece.text), chunk[0])
        share = _ANCHORS.get(first.properties.get("text-anchor", "start"), 0.0)
        x -= share * sum(stretch * self._width(piece) + piece.dx for piece in chunk)
        for piece in chunk:
            x, y = x + piece.dx, y + piece.dy
            if piece.size > 0 and piece.properties.get("visibility") != "hidden":
                self._piece(piece, x, y, stretch)
            x += stretch * self._width(piece)
        return x, y

    def _parts(self, piece: Piece) -> Iterator[tuple[str, fonts.Run | glyphs.Glyph]]:
        """Yield music characters one by one and the rest in runs of one face."""
        for run in fonts.runs(piece.text.replace("\u00a0", " "), piece.bold, piece.italic, piece.family):
            if run.face is not None or not any(map(glyphs.is_music, run.text)):
                yield run.text, run
                continue
            for character in run.text:
                music = glyphs.is_music(character)
                yield character, glyphs.glyph(character) if music else fonts.Run(None, character)

    def _width(self, piece: Piece) -> float:
        return sum(self._advance(text, part, piece) for text, part in self._parts(piece)) if piece.size else 0.0

    def _advance(self, text: str, part: fonts.Run | glyphs.Glyph, piece: Piece) -> float:
        if isinstance(part, glyphs.Glyph):
            return part.advance * piece.size
        if part.face is None:
            self._select("sans-serif", piece.bold, piece.italic, piece.size, 1.0)
            return self._context.advance(text)
        face = part.face
        return fonts.text_width(text, piece.size, face.bold, face.italic, face.family)

    def _piece(self, piece: Piece, x: float, y: float, stretch: float) -> None:
        ink = brush.paint_of(piece.properties, "fill", "black")
        if ink is None:
            return
        self._context.set_source_rgba(*ink)
        for text, part in self._parts(piece):
            if isinstance(part, glyphs.Glyph):
                self._music(part, piece.size, x, y, stretch)
            else:
                face = part.face or fonts.Face("sans-serif", piece.bold, piece.italic)
                self._select(face.family, face.bold, face.italic, piece.size, stretch)
                self._context.move_to(x, y)
                self._context.show_text(text)
                self._context.new_path()
            x += stretch * self._advance(text, part, piece)

    def _select(self, family: str, bold: bool, italic: bool, size: float, stretch: float) -> None:
        self._context.select_font(family, bold, italic, size * stretch, size)

    def _music(self, glyph: glyphs.Glyph, size: float, x: float, y: float, stretch: float) -> None:
        context = self._context
        context.save()
        context.translate(x, y)
        context.scale(stretch * size / glyphs.EM, -size / glyphs.EM)
        context.trace(glyph.outline)
        context.fill()
        context.restore()
