"""From a file or bytes to a ``Document``: the one gate through which a score comes in, and what it turns away.

Conventions
-----------
* lxml is the only gate. No network, no external DTD (a DOCTYPE is fine and is never fetched), no entity but the five of XML itself.
* A source in another format (ABC, kern, MEI, MIDI) is converted first, and what comes of it passes the same gate. Files that are often
  taken for a score and are none (a PDF, a picture, another program's own format) are told by their first bytes.
* The score of an ``.mxl`` is the first root file of ``META-INF/container.xml`` without a media type or with a MusicXML one. Where the
  container is absent, broken, or names what is not there, the archive is refused: no guessing.
* ``name`` stands before every message, so that a message says which file it is about.
* What cannot be written back as it came (an encoding that is not known here) is turned away.

Source: lxml's advice for untrusted input (its FAQ and ``XMLParser``); MusicXML 4.0 has two roots and no namespace. First bytes: PDF 1.7,
PNG, JPEG, GIF, TIFF and RIFF; those of notation programs from memory.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from lxml import etree

from annotator.errors import ScoreError
from annotator.formats import format_of, is_mei
from annotator.reading.container import is_archive, shown_path, source_bytes, unpack, unzipped
from annotator.reading.document import LIMITS, Document, Limits

CONTAINER = "META-INF/container.xml"
MEDIA_TYPES = ("", *(f"application/{kind}" for kind in ("vnd.recordare.musicxml+xml", "vnd.recordare.musicxml", "xml")), "text/xml")
ROOTS = ("score-partwise", "score-timewise")
MARKS = (
    (b"\xef\xbb\xbf", "UTF-8"),
    (b"\xff\xfe\0\0", "UTF-32LE"),
    (b"\0\0\xfe\xff", "UTF-32BE"),
    (b"\xff\xfe", "UTF-16LE"),
    (b"\xfe\xff", "UTF-16BE"),
)
UNMARKED = ((b"<\0\0\0", "UTF-32LE"), (b"\0\0\0<", "UTF-32BE"), (b"<\0", "UTF-16LE"), (b"\0<", "UTF-16BE"))
"""What begins without a mark: libxml2 does not take these for UTF-16 by itself."""

SOMETHING = re.compile(rb"[^\0 \t\r\n\xff\xfe\xef\xbb\xbf]")
_BEGINNINGS = {
    "a PDF": rb"%PDF",
    "a picture": rb"\x89PNG|\xff\xd8\xff|GIF8|II\*\0|MM\0\*|BM.{4}\0\0\0\0|RIFF.{4}WEBP",
    "a recording": rb"RIFF.{4}WAVE|ID3|OggS|fLaC|\xff[\xfb\xf3\xf2]",
    "a Sibelius file": rb"\x0fSIBELIUS",
    "a Finale file": rb"ENIGMA BINARY FILE",
    "an Encore file": rb"SCO[WE0-9]",
    "a Guitar Pro file": rb"\x18FICHIER GUITAR PRO|.FICHIER GUITAR PRO",
    "a NoteWorthy file": rb"\[NoteWorthy ArtWare\]|!NoteWorthyComposer",
    "a LilyPond file": rb"\s*(?:%.*\n\s*)*\\version",
    "a MuseScore file": rb"\s*(?:<\?xml[^>]*>\s*)?<museScore",
    "a web page": rb"\s*(?:<!--.*?-->\s*)?<(?:!doctype\s+)?html",
    "a text document": rb"\{\\rtf|\xd0\xcf\x11\xe0",
}
_ENTRIES = {".mscx": "a MuseScore file", "word/document.xml": "a text document", ".gpif": "a Guitar Pro file"}


def load(source: Path | str | bytes, name: str | None = None, limits: Limits = LIMITS) -> Document:
    """Return the document in a file (a path) or in bytes. ``name`` is what messages call it.

    Raises ``MissingError`` where there is no file to read and ``ScoreError`` where it is no safe, well-formed MusicXML.
    """
    called = name or ("the score" if isinstance(source, bytes) else shown_path(source))
    data = source if isinstance(source, bytes) else source_bytes(source, limits)
    try:
        if len(data) > limits.file:
            raise ScoreError(f"more than the limit of {limits.file} bytes")
        return _document(unzipped(data, limits), called, limits)
    except ScoreError as error:
        raise error.at(called) from error.__cause__


def _document(data: bytes, called: str, limits: Limits) -> Document:
    """Return the document in bytes that are no gzip file (any more)."""
    if is_archive(data):
        entries = unpack(data, limits)
        inner = _only_source(entries)
        if inner is None:
            name = _score_name(entries)
            return replace(_parsed(entries[name], called, limits, f" in {name!r}"), archive=entries, entry=name)
        data = inner
    kind = format_of(data)
    try:
        return _parsed(data, called, limits) if kind is None else _converted(kind, data, called)
    except ScoreError:
        for strange, beginning in _BEGINNINGS.items():
            if re.match(beginning, data[:1024], re.IGNORECASE | re.DOTALL):
                raise _refusal(strange) from None
        raise


def _only_source(entries: Mapping[str, bytes]) -> bytes | None:
    """Return the one score in another format in an archive that is no ``.mxl``; None where there is none, or more than one."""
    for name in entries:
        for end, strange in _ENTRIES.items():
            if name.lower().endswith(end):
                raise _refusal(strange)
    found = [data for data in entries.values() if CONTAINER not in entries and (format_of(data) or b"<mei" in data[:4096])]
    return found[0] if len(found) == 1 else None


def _score_name(entries: Mapping[str, bytes]) -> str:
    """Return the name of the entry of an ``.mxl`` that its container calls the score."""
    if CONTAINER not in entries:
        raise ScoreError(f"the archive has no {CONTAINER}: it is not a compressed MusicXML score")
    for element in _well_formed(entries[CONTAINER], f" in {CONTAINER}").iter("{*}rootfile"):
        if element.get("media-type", "").strip().lower() in MEDIA_TYPES:
            name: str = element.get("full-path", "")
            if name not in entries:
                raise ScoreError(f"{CONTAINER} names {name!r}, which is not in the archive")
            return name
    raise ScoreError(f"{CONTAINER} names no MusicXML score")


def _refusal(strange: str) -> ScoreError:
    return ScoreError(f"this is {strange}: MusicXML is needed; export it from your notation program")


def _converted(kind: str, given: Any, called: str) -> Document:
    """Return the document that a source in another format is converted to: bytes, or the root of an MEI document."""
    from annotator.formats.converting import convert

    converted, told = convert(kind, given, _root)
    return replace(_described(_root(converted).getroottree(), converted, called), notices=(told,))


def _parsed(data: bytes, name: str, limits: Limits, where: str = "") -> Document:
    """Return the document in the bytes of one XML file; MEI is converted."""
    if data.count(b"<") - data.count(b"</") - data.count(b"<\0/") > limits.elements:
        raise ScoreError(f"more than the limit of {limits.elements} elements{where}: no score is so large")
    root = _root(data, where)
    if is_mei(root):
        return _converted("mei", root, name)
    return _described(root.getroottree(), data, name)


def _root(data: bytes, where: str = "") -> Any:
    """Return the root of the bytes of one XML file, safely read. Any but MusicXML's and MEI's is refused, and any entity, used or not."""
    root = _well_formed(data, where)
    dtd = root.getroottree().docinfo.internalDTD
    if dtd is not None and any(True for _ in dtd.iterentities()):
        raise ScoreError(f"the document type{where} declares entities, which are refused; export the score again")
    for entity in root.iter(etree.Entity):
        raise ScoreError(f"entity {entity.text}{where}, line {entity.sourceline}: refused; export the score again")
    if root.tag in ROOTS or is_mei(root):
        return root
    if root.tag == "opus":
        raise ScoreError(f"an opus{where} (a list of scores): give one of its scores")
    name = etree.QName(root)
    if name.namespace:
        raise ScoreError(
            f"the root{where} is {name.localname!r} in the namespace {name.namespace!r}; MusicXML has none: export the score again"
        )
    raise ScoreError(f"the root{where} is {name.localname!r}: not MusicXML, which has {ROOTS[0]} or {ROOTS[1]}")


def _well_formed(data: bytes, where: str) -> Any:
    """Return the root of the bytes of any XML file."""
    if not SOMETHING.search(data):
        raise ScoreError(f"nothing{where or ' in it'}: the file is empty")
    coding, marked = _coding(data)
    parser = etree.XMLParser(
        encoding=None if marked else coding or None,
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        dtd_validation=False,
        huge_tree=False,
        strip_cdata=False,
    )
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        line, column = error.position
        reason = re.sub(r",? ?line \d+, column \d+.*", "", error.msg or "no XML").strip()
        raise ScoreError(
            f"not well-formed XML{where}, line {line}, column {column}: {reason}; export the score again as MusicXML"
        ) from error
    except (ValueError, LookupError) as error:
        raise ScoreError(f"not readable as XML{where}: {error}") from error
    for entry in parser.error_log:  # in an attribute nothing else is left of an entity that a remote document type may declare
        if "UNDECLARED_ENTITY" in (entry.type_name or ""):
            raise ScoreError(f"{entry.message}{where}, line {entry.line}: entities are refused; export the score again")
    return root


def _described(tree: Any, data: bytes, name: str) -> Document:
    """Return the document with what is needed to write it back as it came."""
    encoding, bom = _coding(data)
    document = Document(tree, name, data, encoding or tree.docinfo.encoding or "UTF-8", bom, timewise=tree.getroot().tag == ROOTS[1])
    try:
        same = document.encoded(document.text) == data
    except (LookupError, UnicodeError):
        same = False
    if not same:
        raise ScoreError(f"its encoding {document.encoding} cannot be written here without loss: save the score as UTF-8")
    return document


def _coding(data: bytes) -> tuple[str, bool]:
    """Return the encoding that the first bytes tell, empty where they do not, and whether they are a byte order mark."""
    marked = next((coding for mark, coding in MARKS if data.startswith(mark)), "")
    return marked or next((coding for start, coding in UNMARKED if data.startswith(start)), ""), bool(marked)
