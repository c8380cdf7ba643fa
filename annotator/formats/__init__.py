"""Which other format a file is in, told by what is in it, and its text.

Conventions
-----------
* Formats are named ``midi``, ``kern``, ``abc``, ``mei``; ``NAMES`` says what people call them. File names are not looked at.
* MIDI begins with ``MThd`` (or stands in a RIFF chunk); kern has ``**kern`` among its first interpretations; ABC has a line ``X:`` with a
  number and, below it, one with ``K:``. MEI is XML, so it is told by the root, where the XML is read.

Source: Standard MIDI Files 1.0; the Humdrum guide, "exclusive interpretations"; the ABC standard 2.1, "information fields".
"""

from __future__ import annotations

import base64
import re
from collections.abc import Sequence
from typing import Any, NamedTuple

NAMES = {"midi": "MIDI", "kern": "Humdrum kern", "abc": "ABC", "mei": "MEI"}
ENDINGS = (".abc", ".krn", ".mei", ".mid", ".midi")
VOICES_A_STAFF = 4  # so many numbers of voices each staff has, as is the custom of programs that write a piano as one part
MEI_NAMESPACE = "http://www.music-encoding.org/ns/mei"

_ABC_NUMBER = re.compile(r"^X:[ \t]*\d", re.MULTILINE)
_ABC_KEY = re.compile(r"^K:", re.MULTILINE)
_LOOKED_AT = 1 << 16  # characters of a text in which its kind must show


class Source(NamedTuple):
    """A source as it is given to the converter, and what is known of it without the converter.

    ``struck`` is how many notes are struck, None where that is not known. ``staves`` holds, for each staff of one keyboard instrument, the
    places of its voices (empty where the source says nothing). ``clefs`` ("G2", or None) and ``names`` are in the order of the voices.
    ``told`` is what there is to tell.
    """

    data: bytes
    struck: int | None = None
    staves: Sequence[Sequence[int]] = ()
    clefs: Sequence[str | None] = ()
    names: Sequence[str] = ()
    told: tuple[str, ...] = ()

    def job(self, kind: str) -> dict[str, Any]:
        """Return what the converter is told of a source of this format."""
        data = base64.b64encode(self.data).decode()
        return {"format": kind, "data": data, "staves": self.staves, "clefs": self.clefs, "names": self.names}


def format_of(data: bytes) -> str | None:
    r"""Return ``midi``, ``kern`` or ``abc``, or None for anything else.

    >>> format_of(b"**kern\n4c\n*-\n"), format_of(b"X:1\nK:C\nCDE|"), format_of(b"<score-partwise/>")
    ('kern', 'abc', None)
    """
    if data.startswith(b"MThd") or (data.startswith(b"RIFF") and data[8:12] == b"RMID"):
        return "midi"
    if data[:400].lstrip(b"\xef\xbb\xbf \t\r\n").startswith((b"<", b"%PDF", b"PK", b"{")):
        return None
    text = text_of(data[:_LOOKED_AT])
    for line in text.splitlines():
        if line.startswith("**"):
            return "kern" if "**kern" in line.split("\t") else None
        if line.strip() and not line.startswith("!"):
            break
    number = _ABC_NUMBER.search(text)
    return "abc" if number and _ABC_KEY.search(text, number.end()) else None


def is_mei(root: Any) -> bool:
    """Return whether the root of an XML document is MEI's."""
    return root.tag in ("mei", f"{{{MEI_NAMESPACE}}}mei")


def text_of(data: bytes) -> str:
    """Return a text file's characters: UTF-8 or UTF-16 with a mark, UTF-8 without one, else Latin-1, in which every byte is one."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if error.reason == "unexpected end of data":
            return data.decode("utf-8-sig", "ignore")
        return data.decode("latin-1")
