"""The seal: a digest inside a file of ours, which tells whether the file is still exactly as the program made it.

Conventions
-----------
* The digest is of all bytes of the file but the seal itself. It stands where no program shows it: in the marked MusicXML an instruction in
  our ``<software>`` line, before the last lines of a PDF a comment, in a PNG a text chunk before the last, in SVG and HTML a comment before
  the last end tag.
* Whoever edits the file, or saves it with another program, breaks or loses the seal.

Source: PDF 1.7 (comments between the trailer and ``startxref``, which is counted from the start), PNG (chunk ``tEXt``, its checksum),
XML 1.0 and HTML (comments).
"""

from __future__ import annotations

import re
import zlib
from hashlib import blake2b

SIGNED = "<software>annotator<?annotator added?>"
"""What our line among the programs begins with in the bytes of a marked score."""

_KEYWORD = "annotator digest"
_PNG = b"\x89PNG"
_PNG_END = b"\0\0\0\0IEND"
_ENCODINGS = ("utf-8", "utf-16-le", "utf-16-be", "utf-32-le", "utf-32-be")


def sealed(data: bytes) -> bytes:
    """Return a file of ours with its seal; one that has no place for a seal, or has one, as it is."""
    if seal_of(data) is not None:
        return data
    digest = _digest(data)
    if data.startswith(b"%PDF") and b"startxref" in data:
        return _inserted(data, data.rindex(b"startxref"), f"%{_KEYWORD} {digest}\n".encode())
    if data.startswith(_PNG) and _PNG_END in data:
        return _inserted(data, data.rindex(_PNG_END), _chunk(digest))
    for encoding, signed in _SIGNED.items():
        if signed in data:
            return data.replace(signed, signed + f"<?{_KEYWORD} {digest}?>".encode(encoding), 1)
    if re.search(rb"<(?:svg|html)\b", data[:4096], re.IGNORECASE) and b"</" in data:
        return _inserted(data, data.rindex(b"</"), f"<!-- {_KEYWORD} {digest} -->\n".encode())
    return data


def _inserted(data: bytes, place: int, seal: bytes) -> bytes:
    return data[:place] + seal + data[place:]


def seal_of(data: bytes) -> bool | None:
    """Return whether the seal of a file is unbroken; None where it has none."""
    for seal in _SEALS:
        for found in list(seal.finditer(data))[-1:]:
            return sealed(data[: found.start()] + data[found.end() :]) == data
    return None


def _seals() -> list[re.Pattern[bytes]]:
    """Return what seals look like: in a PDF, SVG or HTML page, in a picture, in MusicXML in each encoding."""
    digest = b"[0-9a-f]{32}"
    plain = [rb"%%%b %b\n" % (_KEYWORD.encode(), digest), rb"<!-- %b %b -->\n" % (_KEYWORD.encode(), digest)]
    plain += [rb"\0\0\0.tEXt%b\0%b...." % (_KEYWORD.encode(), digest)]
    for encoding in _ENCODINGS:
        letter = b"(?:" + b"|".join(re.escape(sign.encode(encoding)) for sign in "0123456789abcdef") + b")"
        start, end = (re.escape(text.encode(encoding)) for text in (f"<?{_KEYWORD} ", "?>"))
        plain.append(start + letter + b"{32}" + end)
    return [re.compile(pattern, re.DOTALL) for pattern in plain]


_SIGNED = {encoding: SIGNED.encode(encoding) for encoding in _ENCODINGS}
_SEALS = _seals()
"""Made at once: a run whose rights have been taken away may not be able to load an encoding any more."""


def _digest(data: bytes) -> str:
    return blake2b(data, digest_size=16).hexdigest()


def _chunk(digest: str) -> bytes:
    """Return the text chunk of a picture."""
    body = f"{_KEYWORD}\0{digest}".encode()
    return (len(body)).to_bytes(4, "big") + b"tEXt" + body + zlib.crc32(b"tEXt" + body).to_bytes(4, "big")
