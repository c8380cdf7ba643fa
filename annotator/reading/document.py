"""The user's document: its bytes, and one lxml tree read safely from them; how large it may be, what was repaired in it.

Conventions
-----------
* Sizes in bytes, durations in whole notes. A limit of the file or of the archive refuses; a limit on ``divisions`` or on a duration
  repairs, and the repair is named.
* Depth of nesting and length of one text are bounded by libxml2 itself (``huge_tree`` stays off).

Source of the limits: own measurements on real archives (ratios 3.6 to 22.8) and on hostile ones; they are choices, not a standard.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any, NamedTuple

PROGRAM = "annotator"
"""The target of the processing instructions that mark what this program has added to a document."""

LINE_END = re.compile(r"\r\n|\n|\r")
MEBIBYTE = 1024 * 1024


class Limits(NamedTuple):
    """The most that is read: ``file`` and ``entry`` in bytes (an entry of an archive, unpacked), ``archive`` all entries together.

    ``elements`` are counted by their tags, before a file is parsed: each takes up to 200 bytes of memory.
    ``ratio`` is unpacked to packed size, looked at above ``ratio_from`` bytes; ``entries`` counts those of an archive. ``notes`` and
    ``parts`` are counted in a score, ``bars`` and ``staves`` in each part. ``divisions`` is the finest a quarter note may be divided,
    ``resolution`` the finest common division kept, ``whole_notes`` the longest duration of one note or bar.
    """

    file: int = 64 * MEBIBYTE
    entry: int = 64 * MEBIBYTE
    archive: int = 128 * MEBIBYTE
    elements: int = 4_000_000
    ratio: int = 200
    ratio_from: int = MEBIBYTE
    entries: int = 1_000
    notes: int = 200_000
    bars: int = 5_000
    parts: int = 32
    staves: int = 8
    divisions: int = 16_384
    resolution: int = 2**40
    whole_notes: int = 64


LIMITS = Limits()
"""The limits in force unless others are given."""


class Repairs:
    """A tally of what had to be repaired while reading. Each kind is a sentence that stands after its count."""

    def __init__(self) -> None:
        self._tally: dict[str, tuple[int, str]] = {}

    def add(self, kind: str, place: str) -> None:
        """Count one repair of this kind; the first place is kept for the message."""
        count, first = self._tally.get(kind, (0, place))
        self._tally[kind] = (count + 1, first)

    def lines(self) -> tuple[str, ...]:
        """Return one line for each kind, in the order in which they were first met.

        >>> repairs = Repairs()
        >>> repairs.add("bars too long", "part 'Piano', bar 5")
        >>> repairs.lines()
        ("bars too long: 1, the first in part 'Piano', bar 5",)
        """
        return tuple(f"{kind}: {count}, the first in {place}" for kind, (count, place) in self._tally.items())


@dataclass(frozen=True, slots=True)
class Document:
    """A parsed score document.

    ``tree`` is the lxml ElementTree, which nobody changes; ``name`` is what messages call the file. ``data`` are the bytes it was parsed
    from, ``encoding`` what they are encoded in, ``bom`` whether a byte order mark stands first. ``archive`` holds the entries of an
    ``.mxl`` by their names, unpacked and in order (None for a plain file), and ``entry`` is the name of the score among them. ``timewise``
    tells the root. ``notices`` is what there is to tell of a document that was converted from another format (empty for MusicXML).
    """

    tree: Any
    name: str
    data: bytes = b""
    encoding: str = "UTF-8"
    bom: bool = False
    archive: dict[str, bytes] | None = None
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
