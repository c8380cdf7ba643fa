"""The one door to cairo, the C library that writes PDF and PNG: found and loaded here, or its absence explained.

Conventions
-----------
The functions of the library are declared in one table, a letter for each argument: ``d`` number, ``i`` whole number, ``s`` text, ``p``
pointer; the first letter is what comes back (``v``: nothing). Nothing else opens the library, so that all but the pages works where it
is missing.

Rule: the library is called directly, because a page is some ten thousand calls and the package that wraps it takes as long to load as
many a score to paint. Calls that only note something hold Python's lock; those that work (``SLOW``) let it go.

Source: cairo's reference manual, 1.16.
"""

from __future__ import annotations

import ctypes
import sys
from contextlib import suppress
from functools import cache
from threading import Thread
from typing import Any

from annotator.errors import EngraverError
from annotator.pages import fonts

MISSING = (
    "the library cairo is missing, so no PDF or PNG can be made: install it "
    "(Debian, Ubuntu: apt install libcairo2; Fedora: dnf install cairo; macOS: brew install cairo; "
    "Windows: the GTK 3 runtime) and run again"
)

FILES = {"win32": ("libcairo-2.dll", "cairo.dll"), "darwin": ("libcairo.2.dylib", "/opt/homebrew/lib/libcairo.2.dylib")}
"""What the library's file is called where it is not ``libcairo.so.2``; else the system is asked for ``cairo``."""

TYPES: dict[str, Any] = {
    "d": ctypes.c_double,
    "i": ctypes.c_int,
    "s": ctypes.c_char_p,
    "p": ctypes.c_void_p,
    "v": None,
}

FUNCTIONS = {
    **dict.fromkeys(("save", "restore", "push_group", "pop_group_to_source", "paint", "new_path", "new_sub_path"), "vp"),
    **dict.fromkeys(("close_path", "fill", "fill_preserve", "stroke", "show_page", "destroy"), "vp"),
    **dict.fromkeys(("translate", "scale", "move_to", "line_to"), "vpdd"),
    **dict.fromkeys(("set_line_width", "set_miter_limit", "paint_with_alpha"), "vpd"),
    **dict.fromkeys(("set_fill_rule", "set_line_cap", "set_line_join"), "vpi"),
    **dict.fromkeys(("transform", "set_font_matrix", "append_path", "set_font_options"), "vpp"),
    **dict.fromkeys(("set_source_rgba", "rectangle"), "vpdddd"),
    "curve_to": "vpdddddd",
    "arc": "vpddddd",
    "set_dash": "vppid",
    "select_font_face": "vpsii",
    "show_text": "vps",
    "text_extents": "vpsp",
    "set_source_surface": "vppdd",
    "create": "pp",
    "status": "ip",
    "status_to_string": "si",
    "version_string": "s",
    "font_options_create": "p",
    "font_options_destroy": "vp",
    "font_options_set_hint_style": "vpi",
    "font_options_set_hint_metrics": "vpi",
    "pdf_surface_create_for_stream": "pppdd",
    "pdf_surface_set_metadata": "vpis",
    "image_surface_create": "piii",
    "surface_write_to_png_stream": "ippp",
    "surface_finish": "vp",
    "surface_destroy": "vp",
}
"""The functions used, without ``cairo_`` before their names."""

SLOW = frozenset({"show_page", "surface_finish", "surface_write_to_png_stream"})


class Library:
    """The functions of the library as attributes, ``cairo_`` left out."""

    def __init__(self, handle: int) -> None:
        """Declare the functions of the library that has been opened."""
        holding, letting_go = ctypes.PyDLL(None, handle=handle), ctypes.CDLL(None, handle=handle)
        for name, letters in FUNCTIONS.items():
            function = getattr(letting_go if name in SLOW else holding, f"cairo_{name}")
            function.restype, *function.argtypes = (TYPES[letter] for letter in letters)
            setattr(self, name, function)

    def __getattr__(self, name: str) -> Any:
        """Say that a function is not in the table."""
        raise AttributeError(f"cairo_{name} is not among the functions declared")

    def cairo_version_string(self) -> str:
        """Return the version of the library."""
        return str(self.version_string().decode())


def load_ahead() -> None:
    """Begin to load in the background, for the time that the engraver keeps us waiting; ``load`` waits for it and meets its errors."""
    Thread(target=_load_quietly, name="cairo").start()


def _load_quietly() -> None:
    with suppress(EngraverError):
        load()


def load() -> Library:
    """Return the library, the page's typefaces made known to it first. Raises an ``EngraverError`` where it is missing."""
    fonts.register()
    return opened()


@cache
def opened() -> Library:
    """Return the library, opened once."""
    from ctypes.util import find_library

    names = (*FILES.get(sys.platform, ("libcairo.so.2",)), find_library)
    for name in names:
        with suppress(OSError):
            file = name if isinstance(name, str) else name("cairo")
            if file:
                return _declared(ctypes.CDLL(file))
    raise EngraverError(MISSING)


def _declared(opened: ctypes.CDLL) -> Library:
    try:
        return Library(opened._handle)
    except AttributeError as error:
        raise EngraverError(f"the library cairo is too old, 1.16 is needed ({error}): install a newer one") from error
