"""A document back into bytes, as it came: what lxml does not keep is put back by hand.

Conventions
-----------
* The XML declaration is kept word for word, as are encoding, byte order mark, kind of line end, and all that follows the root.
* A character that the encoding does not have becomes a character reference.
* An archive gets its ``mimetype`` first and stored, then every other entry as it was and in its order, all with one fixed date: the
  same document gives the same bytes on any day.
* Not kept (lxml does not tell): quotes and blanks inside tags, ``<b></b>`` against ``<b/>``, mixed line ends. Canonical XML is equal.

Source: MusicXML 4.0 (W3C), "Compressed MusicXML files"; XML 1.0.
"""

from __future__ import annotations

import io
import zipfile
from typing import Any

from lxml import etree

from annotator.reading.document import Document

MIMETYPE = "mimetype"
MEDIA_TYPE = b"application/vnd.recordare.musicxml"
_DATE = (1980, 1, 1, 0, 0, 0)  # the first date that a ZIP archive can name
_PERMISSIONS = 0o644 << 16
_UNIX = 3


def serialise(document: Document) -> bytes:
    """Return the bytes of the document's file: the XML, or the whole archive."""
    data = _xml(document)
    return data if document.archive is None else _archive(document, data)


def _xml(document: Document) -> bytes:
    """Return the bytes of the XML."""
    text = _text(document.tree)
    if document.newline != "\n":
        text = text.replace("\n", document.newline)
    head = document.declaration + document.newline if document.declaration else ""
    mark = "\ufeff" if document.bom else ""
    return (mark + head + text + document.tail).encode(document.encoding, "xmlcharrefreplace")


def _text(tree: Any) -> str:
    """Return document type, comments and instructions before the root a line each, and the root; nothing behind it."""
    root = tree.getroot()
    text: str = etree.tostring(tree, encoding="unicode")
    behind = sum(len(_one(node)) for node in root.itersiblings())
    text = text[: len(text) - behind]
    place = 0
    for node in reversed(list(root.itersiblings(preceding=True))):
        place = text.index(_one(node), place) + len(_one(node))
        text = f"{text[:place]}\n{text[place:]}"
    return text


def _one(node: Any) -> str:
    """Return the text of one comment or instruction beside the root."""
    return str(etree.tostring(node, encoding="unicode", with_tail=False))


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
