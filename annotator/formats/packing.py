"""Sources that come packed: gzip around any score, and a ZIP archive around one score in another format.

Conventions
-----------
* A ZIP archive with a MusicXML container is an ``.mxl`` and no matter of this module.
* Sizes and ratios are bounded while unpacking, as for an ``.mxl``: nothing in a file's head is believed.

Source: RFC 1952 (gzip).
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable
from typing import TYPE_CHECKING

from annotator.errors import ScoreError
from annotator.formats.formats import format_of

if TYPE_CHECKING:
    from annotator.reading.document import Entry
    from annotator.reading.limits import Limits

GZIP = b"\x1f\x8b"


def unzipped(data: bytes, limits: Limits) -> bytes:
    """Return what a gzip file holds; other bytes as they are."""
    if not data.startswith(GZIP):
        return data
    most = min(limits.entry, max(limits.ratio_from, len(data) * limits.ratio))
    stream = zlib.decompressobj(wbits=31)
    try:
        content = stream.decompress(data, most + 1)
    except zlib.error as error:
        raise ScoreError(f"damaged gzip file ({error}): save the score again") from error
    if len(content) > most:
        raise ScoreError(f"the gzip file unpacks to more than the limit of {most} bytes")
    if not stream.eof:
        raise ScoreError("the gzip file breaks off: save the score again")
    return content


def only_source(entries: Iterable[Entry]) -> bytes | None:
    """Return the one entry of an archive that is a score in another format; None where there is none, or more than one."""
    found = [entry.data for entry in entries if format_of(entry.data) or b"<mei" in entry.data[:4096]]
    return found[0] if len(found) == 1 else None
