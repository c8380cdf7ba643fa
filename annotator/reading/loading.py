"""From a file or bytes to a ``Document``: the one gate through which a score comes in, and what it turns away.

Conventions
-----------
* lxml is the only gate. No network, no external DTD (a DOCTYPE is fine and is never fetched), no entity but the five of XML itself.
* ``name`` stands before every message, so that a message says which file it is about.
* ``tail`` is word for word what follows the root's end tag, comments included.

Source: lxml's advice for untrusted input (its FAQ and ``XMLParser``); MusicXML 4.0 has two roots and no namespace.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from lxml import etree

from annotator.errors import MissingError, ScoreError
from annotator.reading.container import is_archive, unpack
from annotator.reading.document import Document
from annotator.reading.limits import LIMITS, Limits

ROOTS = ("score-partwise", "score-timewise")
MARKS = ((b"\xef\xbb\xbf", "UTF-8"), (b"\xff\xfe", "UTF-16LE"), (b"\xfe\xff", "UTF-16BE"))
UNMARKED = ((b"<\0", "UTF-16LE"), (b"\0<", "UTF-16BE"))  # libxml2 does not take these for UTF-16 by itself
DECLARATION = re.compile(r"<\?xml\s[^>]*?\?>")
LINE_END = re.compile(r"\r\n|\n|\r")


def load(source: Path | str | bytes, name: str | None = None, limits: Limits = LIMITS) -> Document:
    """Return the document in a file (a path) or in bytes. ``name`` is what messages call it.

    Raises ``MissingError`` where there is no file to read and ``ScoreError`` where it is no safe, well-formed MusicXML.
    """
    called = name or ("the score" if isinstance(source, bytes) else str(source).encode("utf-8", "replace").decode())
    try:
        data = source if isinstance(source, bytes) else _bytes_of(Path(source), limits)
        if len(data) > limits.file:
            raise ScoreError(f"more than the limit of {limits.file} bytes")
        if not is_archive(data):
            return _parsed(data, called)
        entries, entry = unpack(data, limits)
        document = _parsed(next(item.data for item in entries if item.name == entry), called, f" in {entry!r}")
        document.archive, document.entry = entries, entry
        return document
    except (ScoreError, MissingError) as error:
        raise error.at(called) from error.__cause__


def _bytes_of(path: Path, limits: Limits) -> bytes:
    """Return a file's bytes, at most one more than allowed."""
    try:
        if path.is_dir():
            raise MissingError("is a folder, not a score")
        with path.open("rb") as stream:
            return stream.read(limits.file + 1)
    except FileNotFoundError as error:
        raise MissingError("no such file") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise MissingError(f"cannot be read: {reason}") from error


def _parsed(data: bytes, name: str, where: str = "") -> Document:
    """Return the document in the bytes of one XML file."""
    if not data.strip(b"\0 \t\r\n\xff\xfe\xef\xbb\xbf"):
        raise ScoreError(f"nothing{where or ' in it'}: the file is empty")
    parser = etree.XMLParser(
        encoding=next((coding for start, coding in UNMARKED if data.startswith(start)), None),
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
    _check_root(root, where)
    return _described(root.getroottree(), data, name)


def _check_root(root: Any, where: str) -> None:
    """Refuse a root that is not MusicXML's, and any entity, used or merely declared."""
    dtd = root.getroottree().docinfo.internalDTD
    if dtd is not None and any(True for _ in dtd.iterentities()):
        raise ScoreError(f"the document type{where} declares entities, which are refused; export the score again")
    for entity in root.iter(etree.Entity):
        raise ScoreError(f"entity {entity.text}{where}, line {entity.sourceline}: refused; export the score again")
    if root.tag in ROOTS:
        return
    if root.tag == "opus":
        raise ScoreError(f"an opus{where} (a list of scores): give one of its scores")
    name = etree.QName(root)
    if name.namespace:
        raise ScoreError(
            f"the root{where} is {name.localname!r} in the namespace {name.namespace!r}; MusicXML has none: export the score again"
        )
    raise ScoreError(f"the root{where} is {name.localname!r}: not MusicXML, which has {ROOTS[0]} or {ROOTS[1]}")


def _described(tree: Any, data: bytes, name: str) -> Document:
    """Return the document with what is needed to write it back as it came."""
    bom, encoding = next(((True, coding) for mark, coding in MARKS if data.startswith(mark)), (False, ""))
    encoding = encoding or next((coding for start, coding in UNMARKED if data.startswith(start)), "")
    encoding = encoding or tree.docinfo.encoding or "UTF-8"
    try:
        text = data.decode(encoding, "replace").lstrip("\ufeff")
    except LookupError:
        text = data.decode("latin-1")
    declaration = DECLARATION.match(text)
    line_end = LINE_END.search(text)
    root = tree.getroot()
    closing = text.rfind(f"</{root.tag}")
    end = text.find(">", closing) + 1 if closing >= 0 else text.rfind("/>") + 2
    return Document(
        tree=tree,
        name=name,
        declaration=declaration.group() if declaration else "",
        encoding=encoding,
        bom=bom,
        newline=line_end.group() if line_end else "\n",
        tail=text[end:],
        timewise=root.tag == ROOTS[1],
    )
