"""One font file read: which glyph stands for a character, how far it moves the pen, how far its ink reaches.

Conventions
-----------
Lengths are in em, y grows downwards and the baseline is at 0, as in SVG. Advances are the file's own, without kerning. Only what is asked
for is read: a whole table takes longer than all else that a page wants to know of its typefaces.

Source: the OpenType specification 1.9, chapters cmap (formats 4 and 12), head, hhea, hmtx, loca and glyf.
"""

from __future__ import annotations

from functools import cached_property
from pathlib import Path
from struct import Struct, unpack_from

Box = tuple[float, float, float, float]

_SHORT, _LONG = Struct(">H"), Struct(">I")


class Typeface:
    """A font file with TrueType outlines."""

    def __init__(self, path: Path) -> None:
        """Read the file and where in it each table stands."""
        self._data = path.read_bytes()
        count = _SHORT.unpack_from(self._data, 4)[0]
        entries = (unpack_from(">4s4xI4x", self._data, 12 + 16 * i) for i in range(count))
        self._tables: dict[bytes, int] = dict(entries)
        self._em: int = _SHORT.unpack_from(self._data, self._tables[b"head"] + 18)[0]
        self._advances: int = _SHORT.unpack_from(self._data, self._tables[b"hhea"] + 34)[0]
        self._found: dict[str, int] = {}

    def _shorts(self, offset: int, count: int) -> tuple[int, ...]:
        return unpack_from(f">{count}H", self._data, offset)

    def glyph(self, character: str) -> int:
        """Return the number of a character's glyph, 0 where the file has none."""
        if character not in self._found:
            self._found[character] = self._look_up(ord(character))
        return self._found[character]

    def advance(self, character: str) -> float:
        """Return how far a character moves the pen."""
        number = min(self.glyph(character), self._advances - 1)
        width: int = _SHORT.unpack_from(self._data, self._tables[b"hmtx"] + 4 * number)[0]
        return width / self._em

    def ink(self, character: str) -> Box | None:
        """Return left, top, right and bottom of a character's ink, None where it has none."""
        number, wide = self.glyph(character), _SHORT.unpack_from(self._data, self._tables[b"head"] + 50)[0]
        places, unit = (">2I", 1) if wide else (">2H", 2)
        start, stop = (unit * each for each in unpack_from(places, self._data, self._tables[b"loca"] + number * (4 if wide else 2)))
        if start == stop:
            return None
        left, low, right, high = unpack_from(">4h", self._data, self._tables[b"glyf"] + start + 2)
        return left / self._em, -high / self._em, right / self._em, -low / self._em

    def _look_up(self, code: int) -> int:
        for start, stop, first, apart in self._ranges:
            if start <= code <= stop:
                return self._apart(code - start, first, apart)
        return 0

    def _apart(self, place: int, first: int, apart: tuple[int, int] | None) -> int:
        """Return the glyph at a place of a range: the next in turn, or from a list of its own (where it stands, what is added)."""
        if apart is None:
            return (first + place) & 0xFFFF
        number: int = _SHORT.unpack_from(self._data, apart[0] + 2 * place)[0]
        return (number + apart[1]) & 0xFFFF if number else 0

    @cached_property
    def _ranges(self) -> list[tuple[int, int, int, tuple[int, int] | None]]:
        """The ranges of characters: first and last character, first glyph, and the list of glyphs where they do not run in turn."""
        cmap = self._tables[b"cmap"]
        count = _SHORT.unpack_from(self._data, cmap + 2)[0]
        records = (unpack_from(">HHI", self._data, cmap + 4 + 8 * i) for i in range(count))
        tables = {(platform, kind): cmap + offset for platform, kind, offset in records}
        for platform_and_kind in ((3, 10), (0, 6), (0, 4), (3, 1), (0, 3), (0, 2), (0, 1), (0, 0)):
            at = tables.get(platform_and_kind)
            if at is not None and self._shorts(at, 1)[0] in (4, 12):
                return self._segments(at) if self._shorts(at, 1)[0] == 4 else self._groups(at)
        return []

    def _groups(self, at: int) -> list[tuple[int, int, int, tuple[int, int] | None]]:
        """Read a table of format 12."""
        count = _LONG.unpack_from(self._data, at + 12)[0]
        return [(*unpack_from(">III", self._data, at + 16 + 12 * i), None) for i in range(count)]

    def _segments(self, at: int) -> list[tuple[int, int, int, tuple[int, int] | None]]:
        """Read a table of format 4."""
        count = self._shorts(at + 6, 1)[0] // 2
        stops, starts = self._shorts(at + 14, count), self._shorts(at + 16 + 2 * count, count)
        deltas, lists = self._shorts(at + 16 + 4 * count, count), self._shorts(at + 16 + 6 * count, count)
        found: list[tuple[int, int, int, tuple[int, int] | None]] = []
        for i, (start, stop, delta, place) in enumerate(zip(starts, stops, deltas, lists, strict=True)):
            apart = (at + 16 + 6 * count + 2 * i + place, delta) if place else None
            found.append((start, stop, (start + delta) & 0xFFFF, apart))
        return found
