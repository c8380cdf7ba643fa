"""All pages of a score in one PDF, or one page as a PNG picture.

Conventions
-----------
A paper is a name of ``paper.PAPERS`` or (width, height) in millimetres; a page is scaled to fill it, its proportions kept. The same pages
give the same bytes on any day (with the same cairo).

Rule: cairo, the C library, is loaded here and nowhere else, and not before it is needed, so that all but the pages works where it is
missing. It writes to a file of its own, never back into the program: an interrupt that came on such a way would be lost.
Source: PDF 1.7 unit of 1/72 inch; ISO 216 (A4, 210 x 297 mm); US letter, 8.5 x 11 inches; PNG specification, third edition (W3C 2025),
sections 5 (structure), 11.3.3.3 (tEXt) and 11.3.4.3 (pHYs), from memory.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Thread
from typing import Any

from annotator.errors import EngraverError
from annotator.pages import fonts
from annotator.pages.painter import Painter, page_size
from annotator.pages.paper import paper_of
from annotator.pages.svg import parsed

MISSING = (
    "the library cairo is missing, so no PDF or PNG can be made: install it "
    "(Debian, Ubuntu: apt install libcairo2; Fedora: dnf install cairo; macOS: brew install cairo; "
    "Windows: the GTK 3 runtime) and run again"
)

MM = 72 / 25.4
"""Points of a millimetre."""

CREATED = "2020-01-01T00:00:00Z"
"""The date in every PDF: a fixed one, so that the same score gives the same bytes."""

OLDEST = 11600
"""The first cairo that writes what a PDF says of itself: 1.16, as the library numbers its versions."""

Paper = str | tuple[float, float]


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


def load_ahead() -> None:
    """Begin to load cairo in the background, for the time that the engraver keeps us waiting; ``cairo`` meets what goes wrong."""

    def load() -> None:
        """Load it, and say nothing."""
        with suppress(EngraverError):
            cairo()

    Thread(target=load, name="cairo").start()


def write_pdf(pages: Sequence[str], paper: Paper, title: str, author: str, left_out: set[str] | None = None) -> bytes:
    """Return a PDF with one page for each SVG text; ``title`` and ``author`` become its metadata.

    What is on a page and cannot be drawn is added to ``left_out``.
    """
    if not pages:
        raise EngraverError("no pages to write")
    width, height = (MM * each for each in paper_size(paper))
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


def write_png(page: str, paper: Paper, dpi: float, left_out: set[str] | None = None) -> bytes:
    """Return one SVG page as a PNG on white, at ``dpi`` dots an inch; see ``write_pdf`` for ``left_out``."""
    width, height = (each / 25.4 * dpi for each in paper_size(paper))
    with _scratch("page.png") as file:
        surface = cairo().ImageSurface(cairo().FORMAT_RGB24, max(1, round(width)), max(1, round(height)))
        context = _pen(surface)
        context.set_source_rgba(1, 1, 1, 1)
        context.paint()
        _paint(context, page, width, height, left_out)
        surface.write_to_png(str(file))
        return with_origin(file.read_bytes(), dpi)


def paper_size(paper: Paper) -> tuple[float, float]:
    """Return width and height of a paper in millimetres.

    >>> paper_size("a4")
    (210.0, 297.0)
    """
    if not isinstance(paper, str):
        return paper
    return paper_of(paper).width / 10, paper_of(paper).height / 10


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
    wide, high = page_size(root)
    scale = min(width / wide, height / high)
    context.save()
    context.translate((width - scale * wide) / 2, (height - scale * high) / 2)
    context.scale(scale, scale)
    painter = Painter(context, root)
    painter.paint()
    context.restore()
    if left_out is not None:
        left_out |= painter.left_out


def with_origin(png: bytes, dpi: float) -> bytes:
    """Return a picture that says which program made it, and how large it is on paper (``dpi`` dots an inch; PNG counts dots a metre)."""
    dots, header = round(dpi / 0.0254), 8 + 25  # the signature, and the first chunk
    chunks = _chunk(b"tEXt", b"Software\0annotator") + _chunk(b"pHYs", struct.pack(">IIB", dots, dots, 1))
    return png[:header] + chunks + png[header:]


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
