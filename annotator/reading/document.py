"""The user's document: one lxml tree, read safely, edited in place, written back as it came."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

PROGRAM = "annotator"
"""The target of the processing instructions that mark what this program has added to a document."""

LINE_END = re.compile(r"\r\n|\n|\r")


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of an ``.mxl`` archive as it was: its name and unpacked bytes."""

    name: str
    data: bytes


@dataclass(slots=True)
class Document:
    """A parsed score document.

    ``tree`` is the lxml ElementTree and the only mutable thing in the house; ``name`` is what messages call the file. ``data`` are the
    bytes it was parsed from (empty where there are none: a document of our own), ``encoding`` what they are encoded in, ``bom`` whether a
    byte order mark stands first. ``archive`` holds the entries of an ``.mxl`` in order (None for a plain file) and ``entry`` is the name
    of the score among them. ``timewise`` tells the root. ``notices`` is what there is to tell of a document that was converted from
    another format (empty for MusicXML).
    """

    tree: Any
    name: str
    data: bytes = b""
    encoding: str = "UTF-8"
    bom: bool = False
    archive: tuple[Entry, ...] | None = None
    entry: str = ""
    timewise: bool = False
    notices: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The text of ``data``, its line ends as they are."""
        return self.data.decode(self.encoding).removeprefix("\ufeff" if self.bom else "")

    @property
    def newline(self) -> str:
        """The first line end of the text; where it has none, a line feed."""
        found = LINE_END.search(self.text)
        return found.group() if found else "\n"

    def encoded(self, text: str) -> bytes:
        """Return the bytes of another text in the same encoding; what is not in it becomes a reference."""
        return (("\ufeff" if self.bom else "") + text).encode(self.encoding, "xmlcharrefreplace")
