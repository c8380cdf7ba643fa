"""Whether a file was made by this program, and whether it is still as it was made: told by what is in it.

Conventions
-----------
* A marked score (plain or archive) holds our ``<software>`` line with its record. A PDF names us as its creator or producer, a PNG as
  its software, an HTML page as its generator; an SVG holds our name in a comment, in an instruction, in its
  description or as the generator, or a figure of ours (``data-figure``).
* What the program made, somebody may have written on since: then the file is his. The seal tells (``writing.seal``); a file of ours
  without one was made by an earlier version, and counts as it was made.
* A plain copy must hold nothing of ours, so nothing tells it. It is taken for a stranger's file: what is there already is left if it is
  just what would be written, and needs force otherwise.
* Only the bytes are looked at; nothing is parsed, and of an archive no more is unpacked than a score may hold.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path

from annotator.musicxml.seal import SIGNED, seal_of

NAME = "annotator"
LARGEST = 64 << 20  # bytes of a file, or of an entry unpacked, that are looked at

_WIDE = re.escape(NAME.encode("utf-16-be"))
_HEX = NAME.encode("utf-16-be").hex().encode()
_PDF = re.compile(
    rb"/(?:Creator|Producer)\s*(?:\(\s*(?:%b|\xfe\xff%b)|<(?:feff)?(?:%b|%b))"
    % (NAME.encode(), _WIDE, _HEX, NAME.encode().hex().encode()),
    re.IGNORECASE,
)
_PNG = b"tEXtSoftware\0" + NAME.encode()
_PAGE = re.compile(
    rb"<!--\s*(?:made by )?%b\b|<\?%b\b|generator[\"']\s+content=[\"']%b\b|<desc>Marked by %b\b|data-figure=" % ((NAME.encode(),) * 4)
)


def made_by_us(path: Path) -> bool:
    """Return whether the file at a path is one that this program wrote; False too where it cannot be read."""
    return any(is_our_work(data) for data in _contents(path))


def as_we_made_it(path: Path) -> bool:
    """Return whether the file at a path is one that this program wrote and nobody has changed; False too where it cannot be read."""
    ours = [data for data in _contents(path) if is_our_work(data)]
    return bool(ours) and all(seal_of(data) is not False for data in ours)


def _contents(path: Path) -> list[bytes]:
    """Return the bytes of a file, or of the scores in an archive; nothing where they cannot be read."""
    try:
        with path.open("rb") as stream:
            data = stream.read(LARGEST)
        return list(_scores_in(path)) if data.startswith(b"PK\x03\x04") else [data]
    except (OSError, zipfile.BadZipFile, zlib.error, RuntimeError, NotImplementedError, EOFError, ValueError):
        return []


def is_our_work(data: bytes) -> bool:
    """Return whether the bytes of a file (not of an archive) say that this program wrote them."""
    if data.startswith(b"%PDF"):
        return bool(_PDF.search(data))
    if data.startswith(b"\x89PNG"):
        return _PNG in data[:4096]
    if any(SIGNED.encode(encoding) in data for encoding in ("utf-8", "utf-16-le", "utf-16-be")):
        return True
    return bool(re.search(rb"<(?:svg|html)\b", data[:4096], re.IGNORECASE) and _PAGE.search(data))


def _scores_in(path: Path) -> Iterator[bytes]:
    """Yield the entries of an archive that may be scores."""
    with zipfile.ZipFile(path) as archive:
        for info in archive.infolist()[:1000]:
            if info.file_size <= LARGEST and info.filename.lower().endswith((".xml", ".musicxml")):
                with archive.open(info) as entry:
                    yield entry.read(LARGEST)
