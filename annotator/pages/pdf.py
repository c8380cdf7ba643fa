"""All pages of a score in one PDF, or one page as a PNG picture.

Conventions: a paper is a name of ``paper.PAPERS`` or (width, height) in millimetres; a page is scaled to fill it,
its proportions kept. The same pages give the same bytes on any day (with the same cairo).

Rule: every page goes through the project's own painter. Where it meets a drawing it does not know, all is begun
anew and CairoSVG draws that page.
Source: PDF 1.7 unit of 1/72 inch; ISO 216 (A4, 210 x 297 mm); US letter, 8.5 x 11 inches.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from lxml import etree

from annotator.errors import EngraverError
from annotator.pages import fonts
from annotator.pages.canvas import AUTHOR, CREATED, CREATOR, TITLE, Canvas, pdf_canvas, picture_canvas
from annotator.pages.outlines import UnknownDrawing
from annotator.pages.painter import Painter, page_size, parse
from annotator.pages.paper import paper_of
from annotator.pages.picture import told

MM = 72 / 25.4
"""Points of a millimetre."""

_CREATED = "2020-01-01T00:00:00Z"
"""The date in every PDF: a fixed one, so that the same score gives the same bytes."""

Paper = str | tuple[float, float]


def paper_size(paper: Paper) -> tuple[float, float]:
    """Return width and height of a paper in millimetres.

    >>> paper_size("a4")
    (210.0, 297.0)
    """
    if not isinstance(paper, str):
        return paper
    found = paper_of(paper)
    return found.width / 10, found.height / 10


def write_pdf(pages: Sequence[str], paper: Paper, title: str, author: str) -> bytes:
    """Return a PDF with one page for each SVG text; ``title`` and ``author`` become its metadata."""
    if not pages:
        raise EngraverError("no pages to write")
    foreign: set[int] = set()
    while True:
        try:
            return _pdf(pages, frozenset(foreign), paper, title, author)
        except _StrangePageError as error:
            foreign.add(error.number)


class _StrangePageError(Exception):
    """The page of this number, from 0, holds a drawing the painter does not know."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


def _pdf(pages: Sequence[str], foreign: frozenset[int], paper: Paper, title: str, author: str) -> bytes:
    width, height = (MM * each for each in paper_size(paper))
    metadata = ((TITLE, title), (AUTHOR, author), (CREATOR, "annotator"), (CREATED, _CREATED))
    canvas = pdf_canvas(width, height, metadata)
    for number, page in enumerate(pages):
        try:
            _page(canvas, page, width, height, number in foreign)
        except UnknownDrawing as error:
            raise _StrangePageError(number) from error
        canvas.show_page()
        canvas.check()
    return canvas.finished()


def write_png(page_svg: str, paper: Paper, dpi: float) -> bytes:
    """Return one SVG page as a PNG on white, at ``dpi`` dots an inch."""
    try:
        return _png(page_svg, paper, dpi, foreign=False)
    except UnknownDrawing:
        return _png(page_svg, paper, dpi, foreign=True)


def _png(page: str, paper: Paper, dpi: float, foreign: bool) -> bytes:
    width, height = (each / 25.4 * dpi for each in paper_size(paper))
    canvas = picture_canvas(max(1, round(width)), max(1, round(height)))
    canvas.set_source_rgba(1, 1, 1, 1)
    canvas.paint()
    _page(canvas, page, width, height, foreign)
    return told(canvas.png(), dpi)


def _page(context: Canvas, page: str, width: float, height: float, foreign: bool) -> None:
    """Paint a page into a room of the context that begins at its origin."""
    root = parse(page)
    wide, high = page_size(root)
    scale = min(width / wide, height / high)
    context.save()
    context.translate((width - scale * wide) / 2, (height - scale * high) / 2)
    context.scale(scale, scale)
    if foreign:
        try:
            _paint_foreign(context, root)
        except (UnknownDrawing, ValueError, KeyError, TypeError) as error:
            raise EngraverError(f"a page of the engraver cannot be drawn ({error})") from error
    else:
        Painter(context, root).paint()
    context.restore()


def _no_fetching(url: str, resource_type: str | None = None) -> bytes:
    raise EngraverError(f"a page refers to '{url[:60]}'; pages may not refer to other files")


def _paint_foreign(context: Canvas, root: etree._Element) -> None:
    """Let CairoSVG draw a page, in our families, as a recording that is then painted."""
    import cairocffi
    from cairosvg import parser, surface

    class Recorded(surface.Surface):  # type: ignore[misc]
        """A surface that keeps what is drawn, to be drawn again on each page."""

        def _create_surface(self, width: float, height: float) -> tuple[Any, float, float]:
            return cairocffi.RecordingSurface(cairocffi.CONTENT_COLOR_ALPHA, None), width, height

    for element in root.iter():
        if isinstance(element.tag, str) and element.get("font-family"):
            element.set("font-family", fonts.resolve(element.get("font-family", "")))
    tree = parser.Tree(bytestring=etree.tostring(root), url_fetcher=_no_fetching)
    recorded = Recorded(tree, None, 96)
    wide, high = page_size(root)
    context.save()
    context.scale(wide / recorded.width, high / recorded.height)
    context.set_source_surface(int(cairocffi.ffi.cast("uintptr_t", recorded.cairo._pointer)), 0, 0)
    context.paint()
    context.restore()
