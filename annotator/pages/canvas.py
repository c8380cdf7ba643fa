"""What is painted on: the pages of a PDF or one picture, and cairo's pen over it.

Conventions
-----------
A ``Canvas`` has the drawing functions of cairo as methods, under cairo's names without ``cairo_``. Lengths are in the units that the
scale in force makes of them. cairo remembers the first thing that went wrong; ``check`` asks for it, once for each page.

Source: cairo's reference manual, 1.16: contexts, paths, text, PDF and image surfaces.
"""

from __future__ import annotations

import ctypes
import struct
from collections.abc import Callable, Sequence
from functools import lru_cache, partial
from typing import Any

from annotator.errors import EngraverError
from annotator.pages import cairo_library
from annotator.pages.outlines import Matrix, Outline

TITLE, AUTHOR, CREATOR, CREATED = 0, 1, 4, 5
"""Numbers of the PDF's metadata."""

RGB24 = 1
HINT_NONE, METRICS_OFF = 1, 1
EVEN_ODD = 1

Draw = Callable[..., None]

_METHODS = (
    *("save", "restore", "translate", "scale", "push_group", "pop_group_to_source", "paint", "paint_with_alpha"),
    *("move_to", "line_to", "curve_to", "close_path", "rectangle", "arc", "new_path", "new_sub_path"),
    *("set_source_rgba", "set_fill_rule", "set_line_width", "set_line_cap", "set_line_join", "set_miter_limit"),
    *("fill", "fill_preserve", "stroke", "show_page", "set_source_surface"),
)
_Six = ctypes.c_double * 6


class _Path(ctypes.Structure):
    """cairo's ``cairo_path_t``."""

    _fields_ = (("status", ctypes.c_int), ("data", ctypes.c_void_p), ("count", ctypes.c_int))


class Canvas:
    """A surface and the pen over it."""

    save: Draw
    restore: Draw
    translate: Draw
    scale: Draw
    push_group: Draw
    pop_group_to_source: Draw
    paint: Draw
    paint_with_alpha: Draw
    move_to: Draw
    line_to: Draw
    curve_to: Draw
    close_path: Draw
    rectangle: Draw
    arc: Draw
    new_path: Draw
    new_sub_path: Draw
    set_source_rgba: Draw
    set_fill_rule: Draw
    set_line_width: Draw
    set_line_cap: Draw
    set_line_join: Draw
    set_miter_limit: Draw
    fill: Draw
    fill_preserve: Draw
    stroke: Draw
    show_page: Draw
    set_source_surface: Draw

    def __init__(self, make: Callable[[cairo_library.Library, Any], int]) -> None:
        """Take what makes the surface, from the library and the function that is given its bytes."""
        self._library = cairo_library.load()
        self._written: list[bytes] = []
        self._sink = _WRITER(self._write)
        self._surface = make(self._library, self._sink)
        self._pen = self._library.create(self._surface)
        for name in _METHODS:
            setattr(self, name, partial(getattr(self._library, name), self._pen))
        self._append_path = partial(self._library.append_path, self._pen)
        self._plain_letters()

    def __del__(self) -> None:
        """Give the pen and the surface back."""
        if hasattr(self, "_pen"):
            self._library.destroy(self._pen)
            self._library.surface_destroy(self._surface)

    def _write(self, _closure: int | None, data: int, length: int) -> int:
        self._written.append(ctypes.string_at(data, length))
        return 0

    def _plain_letters(self) -> None:
        """Let letters keep their own shapes and widths at every size."""
        options = self._library.font_options_create()
        self._library.font_options_set_hint_style(options, HINT_NONE)
        self._library.font_options_set_hint_metrics(options, METRICS_OFF)
        self._library.set_font_options(self._pen, options)
        self._library.font_options_destroy(options)

    def check(self) -> None:
        """Raise an ``EngraverError`` if anything went wrong so far."""
        status = self._library.status(self._pen)
        if status:
            raise EngraverError(f"the library cairo failed ({self._library.status_to_string(status).decode()})")

    def transform(self, matrix: Matrix) -> None:
        """Put a matrix before the one in force."""
        a, b, c, d, x, y = matrix
        if a == d == 1 and b == c == 0:
            self.translate(x, y)
        elif b == c == x == y == 0:
            self.scale(a, d)
        else:
            self._library.transform(self._pen, _Six(*matrix))

    def set_dash(self, lengths: Sequence[float], offset: float = 0.0) -> None:
        """Make lines dashed; an empty row makes them whole."""
        self._library.set_dash(self._pen, (ctypes.c_double * len(lengths))(*lengths), len(lengths), offset)

    def trace(self, steps: Outline) -> None:
        """Add an outline to the current path: step by step, or at once where it is a long one, drawn again and again (a glyph)."""
        if len(steps) > _FEW:
            self._append_path(_packed(steps)[0])
            return
        for kind, *numbers in steps:
            if kind == "L":
                self.line_to(*numbers)
            elif kind == "M":
                self.move_to(*numbers)
            elif kind == "C":
                self.curve_to(*numbers)
            else:
                self.close_path()

    def select_font(self, family: str, bold: bool, italic: bool, width: float, height: float) -> None:
        """Take a face, ``width`` and ``height`` of an em in user units."""
        self._library.select_font_face(self._pen, family.encode(), int(italic), int(bold))
        self._library.set_font_matrix(self._pen, _Six(width, 0.0, 0.0, height, 0.0, 0.0))

    def show_text(self, text: str) -> None:
        """Write a text where the pen is."""
        self._library.show_text(self._pen, _encoded(text))

    def advance(self, text: str) -> float:
        """Return how far a text moves the pen."""
        extents = _Six()
        self._library.text_extents(self._pen, _encoded(text), extents)
        return extents[4]

    def finished(self) -> bytes:
        """Close the pages and return them."""
        self._library.surface_finish(self._surface)
        self.check()
        return b"".join(self._written)

    def png(self) -> bytes:
        """Return the picture."""
        self.check()
        self._library.surface_write_to_png_stream(self._surface, self._sink, None)
        return b"".join(self._written)


_WRITER = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_uint)
"""cairo's ``cairo_write_func_t``."""

_FEW = 6
"""Steps of an outline that are drawn one by one: the frame of a staff line, a stem, a beam or a slur, each drawn once."""

_HEADERS = {kind: struct.pack("ii8x", number, points + 1) for number, (kind, points) in enumerate((("M", 1), ("L", 1), ("C", 3), ("Z", 0)))}
"""What stands before the points of a step in cairo's path data: the kind of step and how many places it takes, itself among them."""


@lru_cache(maxsize=1024)
def _packed(steps: Outline) -> tuple[Any, _Path, Any]:
    """Return an outline as cairo keeps it, with what must live as long."""
    data = b"".join(_HEADERS[step[0]] + struct.pack(f"{len(step) - 1}d", *step[1:]) for step in steps)
    held = ctypes.create_string_buffer(data, len(data))
    path = _Path(0, ctypes.addressof(held), len(data) // 16)
    return ctypes.byref(path), path, held


def _encoded(text: str) -> bytes:
    """Return text as the library wants it; what cannot be encoded or would end it is left out."""
    return text.replace("\0", "").encode("utf-8", "ignore")


def pdf_canvas(width: float, height: float, metadata: Sequence[tuple[int, str]]) -> Canvas:
    """Return the pages of a PDF, in points of 1/72 inch."""

    def make(library: cairo_library.Library, sink: Any) -> int:
        """Make the surface of a PDF that writes to a sink."""
        surface: int = library.pdf_surface_create_for_stream(sink, None, width, height)
        for number, value in metadata:
            library.pdf_surface_set_metadata(surface, number, _encoded(value))
        return surface

    return Canvas(make)


def picture_canvas(width: int, height: int) -> Canvas:
    """Return a picture, in dots."""
    return Canvas(lambda library, _sink: library.image_surface_create(RGB24, width, height))
