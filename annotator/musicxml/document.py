"""A document back into bytes: the source's own, with marks spliced in; proved before anybody gets them.

Conventions
-----------
* What is not ours stays character for character (``writing.splicing``): declaration, document type, quotes, blanks, line ends. A document
  that has no source (an excerpt) is written out as UTF-8.
* A character of ours that the encoding does not have becomes a character reference.
* What was made is read once more, and its marks taken out: if that is not the source again, nothing is given out.
* An archive gets its ``mimetype`` first and stored, then every other entry as it was and in its order, all with one fixed date: the
  same document gives the same bytes on any day.

Source: MusicXML 4.0 (W3C), "Compressed MusicXML files"; XML 1.0.
"""

from __future__ import annotations

import io
import zipfile
from dataclasses import replace
from typing import Any

from lxml import etree

from annotator.errors import ScoreError
from annotator.musicxml.record import TARGET, take_out
from annotator.musicxml.seal import sealed
from annotator.musicxml.splicing import splice
from annotator.reading.document import Document
from annotator.reading.limits import LIMITS
from annotator.reading.loading import load

MIMETYPE = "mimetype"
MEDIA_TYPE = b"application/vnd.recordare.musicxml"
_DATE = (1980, 1, 1, 0, 0, 0)  # the first date that a ZIP archive can name
_PERMISSIONS = 0o644 << 16
_UNIX = 3
_ROOMY = replace(LIMITS, file=4 * LIMITS.file, elements=4 * LIMITS.elements)
"""What our own output may be: marks make a file larger."""


def serialise(document: Document) -> bytes:
    """Return the bytes of the document's file: the XML, or the whole archive."""
    if not document.data:
        data = bytes(etree.tostring(document.tree, encoding="UTF-8", xml_declaration=True))
    else:
        data = _spliced(document)
        _prove(document, data)
    return data if document.archive is None else _archive(document, data)


def _spliced(document: Document) -> bytes:
    """Return the source's bytes with what is ours in the tree."""
    text = document.text
    nodes: list[Any] = []
    if f"<?{TARGET}" in text:
        source = load(document.data, limits=_ROOMY)
        nodes = list(source.tree.getroot().iter())
        take_out(source)
    written = splice(text, nodes, document.tree.getroot(), document.newline)
    return document.data if written == text else sealed(document.encoded(written))


def _prove(document: Document, data: bytes) -> None:
    """Raise a ``ValueError`` if the bytes are not the document's source once the marks have been taken out of both."""
    if data == document.data:
        return
    try:
        plain, source = _plain(data), _plain(document.data) if TARGET in document.text else document.data
        same = plain == source or _canonical(plain) == _canonical(source)
    except ScoreError as error:
        raise ValueError(f"what was written cannot be read again: {error}") from error
    if not same:
        raise ValueError("what was written is not the source with marks in it")


def _plain(data: bytes) -> bytes:
    """Return the bytes of a score without our marks."""
    document = load(data, limits=_ROOMY)
    root = document.tree.getroot()
    nodes = list(root.iter())
    return document.encoded(splice(document.text, nodes, root, document.newline)) if take_out(document) else data


def _canonical(data: bytes) -> bytes:
    return bytes(etree.tostring(load(data, limits=_ROOMY).tree, method="c14n", with_comments=True))


def _archive(document: Document, data: bytes) -> bytes:
    """Return the bytes of the archive with ``data`` as its score."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr(_info(MIMETYPE, zipfile.ZIP_STORED), MEDIA_TYPE)
        for entry in document.archive or ():
            if entry.name != MIMETYPE:
                content = data if entry.name == document.entry else entry.data
                archive.writestr(_info(entry.name, zipfile.ZIP_DEFLATED), content)
    return buffer.getvalue()


def _info(name: str, compression: int) -> zipfile.ZipInfo:
    """Return the head of an entry: nothing in it depends on the day, the system or the user."""
    info = zipfile.ZipInfo(name, _DATE)
    info.compress_type = compression
    info.create_system = _UNIX
    info.external_attr = _PERMISSIONS
    return info
