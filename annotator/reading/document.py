"""The user's document: one lxml tree, read safely, edited in place, written back as it came."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

PROGRAM = "annotator"
"""The target of the processing instructions that mark what this program has added to a document."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of an ``.mxl`` archive as it was: its name and unpacked bytes."""

    name: str
    data: bytes


@dataclass(slots=True)
class Document:
    """A parsed score document.

    ``tree`` is the lxml ElementTree and the only mutable thing in the house; ``name`` is what messages call the file. ``declaration`` is
    the XML declaration word for word (empty if there was none), ``encoding`` what the text was encoded in, ``bom`` whether a byte order
    mark stood first, ``newline`` the line end used, ``tail`` the bytes after the root element. ``archive`` holds the entries of an
    ``.mxl`` in order (None for a plain file) and ``entry`` is the name of the score among them. ``timewise`` tells the root.
    ``notices`` is what there is to tell of a document that was converted from another format (empty for MusicXML).
    """

    tree: Any
    name: str
    declaration: str = ""
    encoding: str = "UTF-8"
    bom: bool = False
    newline: str = "\n"
    tail: str = "\n"
    archive: tuple[Entry, ...] | None = None
    entry: str = ""
    timewise: bool = False
    notices: tuple[str, ...] = ()
