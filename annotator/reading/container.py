"""The ``.mxl`` container: a ZIP archive whose ``META-INF/container.xml`` names the score.

Conventions
-----------
* Go by content, not by suffix: an archive starts with ``PK``.
* Nothing is unpacked to disk. Sizes are checked in the archive's own table first, and again while unpacking, because the table can lie.
* The score is the first root file without a media type or with a MusicXML one. Where the container is absent, broken, or names what is
  not there, the archive is refused: no guessing.

Source: MusicXML 4.0, "Compressed .mxl files" (container, media types, the optional ``mimetype`` entry).
"""

from __future__ import annotations

import io
import zipfile
import zlib

from lxml import etree

from annotator.errors import ScoreError
from annotator.reading.document import Entry
from annotator.reading.limits import Limits

MAGIC = (b"PK\x03\x04", b"PK\x05\x06")
CONTAINER = "META-INF/container.xml"
MEDIA_TYPES = frozenset(
    {
        "",
        "application/vnd.recordare.musicxml+xml",
        "application/vnd.recordare.musicxml",
        "text/xml",
        "application/xml",
    }
)
CHUNK = 1 << 20


def is_archive(data: bytes) -> bool:
    """Return whether the bytes begin as a ZIP archive does."""
    return data.startswith(MAGIC)


def unpack(data: bytes, limits: Limits) -> tuple[Entry, ...]:
    """Return the entries of an archive in order."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            infos = archive.infolist()
            _check_table(infos, limits)
            entries = tuple(Entry(info.filename, _unpacked(archive, info, limits)) for info in infos)
    except (
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        NotImplementedError,
        RuntimeError,
        ValueError,
        OSError,
    ) as error:
        raise ScoreError(f"damaged archive ({error}): save the score again as .mxl or .musicxml") from error
    return entries


def _check_table(infos: list[zipfile.ZipInfo], limits: Limits) -> None:
    """Refuse an archive by its table alone: too many or too large entries, unsafe or double names, encryption."""
    if len(infos) > limits.entries:
        raise ScoreError(f"the archive has {len(infos)} entries, more than the limit of {limits.entries}")
    if sum(info.file_size for info in infos) > limits.archive:
        raise ScoreError(f"the archive unpacks to more than the limit of {limits.archive} bytes")
    seen: set[str] = set()
    for info in infos:
        name = info.filename
        if name in seen:
            raise ScoreError(f"the archive has two entries named {name!r}")
        seen.add(name)
        # zipfile stops a name at a NUL and, where the system does so, turns separators: look at the name as it was stored
        stored = info.orig_filename
        if stored.startswith("/") or "\\" in stored or ".." in stored.split("/") or ":" in stored[:2] or "\0" in stored:
            raise ScoreError(f"the archive has an entry with an unsafe name, {stored!r}")
        if info.flag_bits & 0x1:
            raise ScoreError(f"the archive is encrypted ({name!r}): save the score without a password")
        if info.file_size > limits.entry:
            raise ScoreError(f"entry {name!r} unpacks to {info.file_size} bytes, more than the limit of {limits.entry}")
        if info.file_size > limits.ratio_from and info.file_size > limits.ratio * max(1, info.compress_size):
            raise ScoreError(f"entry {name!r} is packed more than {limits.ratio}:1, as no score is")


def _unpacked(archive: zipfile.ZipFile, info: zipfile.ZipInfo, limits: Limits) -> bytes:
    """Return the bytes of one entry, giving up as soon as there are more than its table entry said or the limit allows."""
    if info.is_dir():
        return b""
    pieces: list[bytes] = []
    size = 0
    with archive.open(info) as stream:
        while piece := stream.read(CHUNK):
            size += len(piece)
            if size > min(limits.entry, info.file_size):
                raise ScoreError(f"entry {info.filename!r} is larger than the archive says")
            pieces.append(piece)
    return b"".join(pieces)


def score_name(entries: tuple[Entry, ...]) -> str:
    """Return the name of the entry of an ``.mxl`` that its container calls the score."""
    by_name = {entry.name: entry for entry in entries}
    if CONTAINER not in by_name:
        raise ScoreError(f"the archive has no {CONTAINER}: it is not a compressed MusicXML score")
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False)
    try:
        root = etree.fromstring(by_name[CONTAINER].data, parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        raise ScoreError(f"{CONTAINER} is not well-formed: {error}") from error
    for element in root.iter("{*}rootfile"):
        if element.get("media-type", "").strip().lower() in MEDIA_TYPES:
            name: str = element.get("full-path", "")
            if name not in by_name:
                raise ScoreError(f"{CONTAINER} names {name!r}, which is not in the archive")
            return name
    raise ScoreError(f"{CONTAINER} names no MusicXML score")
