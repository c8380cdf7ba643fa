"""What a PNG picture says of itself: which program made it, and how large it is on paper.

Conventions
-----------
A PNG is a signature of 8 bytes and a row of chunks: length, type, data, checksum. The first chunk is the header (25 bytes in all). What
is said here stands right after it. Resolution is dots an inch; PNG counts dots a metre.

Source: PNG specification, third edition (W3C 2025), sections 5 (structure), 11.3.3.3 (tEXt) and 11.3.4.3 (pHYs), from memory.
"""

from __future__ import annotations

import struct
import zlib

SOFTWARE = "annotator"
_AFTER_HEADER = 8 + 25
_INCH = 0.0254


def told(png: bytes, dpi: float) -> bytes:
    """Return a picture with the name of the program and its resolution in it."""
    dots = round(dpi / _INCH)
    chunks = _chunk(b"tEXt", b"Software\0" + SOFTWARE.encode("latin-1")) + _chunk(b"pHYs", struct.pack(">IIB", dots, dots, 1))
    return png[:_AFTER_HEADER] + chunks + png[_AFTER_HEADER:]


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
