"""Whether a file was made by this program, and whether it is still as it was made: told by what is in it, and by a seal.

Conventions
-----------
* A marked score (plain or archive) holds our ``<software>`` line with its record. A PDF names us as its creator or producer, a PNG as
  its software, an HTML page as its generator; an SVG holds our name in a comment, in an instruction, in its
  description or as the generator, or a figure of ours (``data-figure``).
* What the program made, somebody may have written on since: then the file is his. The seal tells. It is a digest of all bytes of the file
  but itself, and stands where no program shows it: in the marked MusicXML an instruction in our ``<software>`` line, before the last lines
  of a PDF a comment, in a PNG a text chunk before the last, in SVG and HTML a comment before the last end tag. A file of ours without one
  was made by an earlier version, and counts as it was made.
* A plain copy must hold nothing of ours, so nothing tells it. It is taken for a stranger's file: what is there already is left if it is
  just what would be written, and needs force otherwise.
* Only the bytes are looked at; nothing is parsed, and of an archive no more is unpacked than a score may hold.

Source: PDF 1.7 (comments between the trailer and ``startxref``, which is counted from the start), PNG (chunk ``tEXt``, its checksum),
XML 1.0 and HTML (comments).
"""

from __future__ import annotations

import re
import zlib
from hashlib import blake2b
from pathlib import Path

from annotator.errors import AnnotatorError

NAME = b"annotator"
SIGNED = "<software>annotator<?annotator added?>"
"""What our line among the programs begins with in the bytes of a marked score."""

_WIDE = "annotator".encode("utf-16-be")
_PDF_NAME = re.compile(
    rb"/(?:Creator|Producer)\s*(?:\(\s*(?:%b|\xfe\xff%b)|<(?:feff)?(?:%b|%b))"
    % (NAME, re.escape(_WIDE), _WIDE.hex().encode(), NAME.hex().encode()),
    re.IGNORECASE,
)
_PAGE = re.compile(rb"<(?:svg|html)\b", re.IGNORECASE)
_PAGE_NAME = re.compile(
    rb"<!--\s*(?:made by )?%b\b|<\?%b\b|generator[\"']\s+content=[\"']%b\b|<desc>Marked by %b\b|data-figure=" % ((NAME,) * 4)
)
_KEYWORD = "annotator digest"
_PDF, _PNG, _PNG_END = b"%PDF", b"\x89PNG", b"\0\0\0\0IEND"
_DIGEST = re.compile(rb"%b ?([0-9a-f]{32})" % _KEYWORD.encode())
_SIGNED = {encoding: SIGNED.encode(encoding) for encoding in ("utf-8", "utf-16-le", "utf-16-be", "utf-32-le", "utf-32-be")}
"""Made at once: a run whose rights have been taken away may not be able to load an encoding any more."""


def made_by_us(path: Path) -> bool:
    """Return whether the file at a path is one that this program wrote; False too where it cannot be read."""
    return any(is_our_work(data) for data in _contents(path))


def as_we_made_it(path: Path) -> bool:
    """Return whether the file at a path is one that this program wrote and nobody has changed; False too where it cannot be read."""
    ours = [data for data in _contents(path) if is_our_work(data)]
    return bool(ours) and all(seal_of(data) is not False for data in ours)


def is_our_work(data: bytes) -> bool:
    """Return whether the bytes of a file (not of an archive) say that this program wrote them."""
    if data.startswith(_PDF):
        return bool(_PDF_NAME.search(data))
    if data.startswith(_PNG):
        return b"tEXtSoftware\0" + NAME in data[:4096]
    return any(signed in data for signed in _SIGNED.values()) or bool(_PAGE.search(data[:4096]) and _PAGE_NAME.search(data))


def sealed(data: bytes) -> bytes:
    """Return a file of ours with its seal; one that has no place for a seal, or has one, as it is."""
    return _with_seal(data) if seal_of(data) is None else data


def seal_of(data: bytes) -> bool | None:
    """Return whether the seal of a file is unbroken; None where it has none."""
    digests = _DIGEST.findall(data.replace(b"\0", b""))  # without these an ASCII text is the same in all encodings
    if not digests:
        return None
    seal = _seal(data, digests[-1].decode())[1]
    before, found, behind = data.rpartition(seal) if seal else (b"", b"", b"")
    return found != b"" and _with_seal(before + behind) == data


def _with_seal(data: bytes) -> bytes:
    place, seal = _seal(data, blake2b(data, digest_size=16).hexdigest())
    return data[:place] + seal + data[place:]


def _seal(data: bytes, digest: str) -> tuple[int, bytes]:
    """Return where the seal of a file goes, and the seal with a digest; no bytes, where it has no place for one."""
    if data.startswith(_PDF) and b"startxref" in data:
        return data.rindex(b"startxref"), f"%{_KEYWORD} {digest}\n".encode()
    if data.startswith(_PNG) and _PNG_END in data:
        body = f"tEXt{_KEYWORD}\0{digest}".encode()
        return data.rindex(_PNG_END), (len(body) - 4).to_bytes(4, "big") + body + zlib.crc32(body).to_bytes(4, "big")
    for encoding, signed in _SIGNED.items():
        if signed in data:
            return data.index(signed) + len(signed), f"<?{_KEYWORD} {digest}?>".encode(encoding)
    if _PAGE.search(data[:4096]) and b"</" in data:
        return data.rindex(b"</"), f"<!-- {_KEYWORD} {digest} -->\n".encode()
    return 0, b""


def _contents(path: Path) -> list[bytes]:
    """Return the bytes of a file, or of the scores in an archive; nothing where they cannot be read."""
    from annotator.reading.container import is_archive, source_bytes, unpack
    from annotator.reading.document import LIMITS

    try:
        data = source_bytes(path)
        if not is_archive(data):
            return [data]
        return [entry for name, entry in unpack(data, LIMITS).items() if name.lower().endswith((".xml", ".musicxml"))]
    except AnnotatorError:
        return []
