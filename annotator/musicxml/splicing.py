"""A document back into bytes: the source's own text, with marks spliced in; proved before anybody gets it.

Conventions
-----------
* A tree tells nothing of quotes, blanks in tags, ``<b></b>`` against ``<b/>``, references, line ends, document type. So the tree is never
  written out: the source's text is, with our elements put in, and two attributes (``color``, ``version``) set. What is not ours stays
  character for character. A document that has no source (an excerpt) is written out as UTF-8.
* The source's nodes (elements, comments, instructions) come in the text in the same order as in the tree, so that they are known by their
  place. Ours are known by their records (``musicxml.record``). What stands in front of something of ours came with it.
* An empty tag that gets a child of ours is opened, and ``<?annotator closed?>`` in it says that it was closed.
* A character of ours that the encoding does not have becomes a character reference.
* What was made is read once more, and its marks taken out: if that is not the source again, nothing is given out.
* An archive gets its ``mimetype`` first and stored, then every other entry as it was and in its order, all with one fixed date: the
  same document gives the same bytes on any day.

Source: MusicXML 4.0 (W3C), "Compressed MusicXML files"; XML 1.0 for what tags, comments, instructions, sections of characters look like.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from typing import Any

from lxml import etree

from annotator.errors import ScoreError
from annotator.musicxml.record import ADDED, CLOSED, MADE, TARGET, coloured_parts, instruction, records, take_out
from annotator.musicxml.seal import sealed
from annotator.reading.document import LIMITS, Document
from annotator.reading.loading import load

MIMETYPE = "mimetype"
MEDIA_TYPE = b"application/vnd.recordare.musicxml"
_DATE = (1980, 1, 1, 0, 0, 0)  # the first date that a ZIP archive can name
_ROOMY = LIMITS._replace(file=4 * LIMITS.file, elements=4 * LIMITS.elements)
"""What our own output may be: marks make a file larger."""

_TOKEN = re.compile(
    r"<!--.*?-->|<\?.*?\?>|<!\[CDATA\[.*?\]\]>|<!DOCTYPE[^\[>\"']*(?:(?:\"[^\"]*\"|'[^']*')[^\[>\"']*)*(?:\[.*?\]\s*)?>"
    r"|<[^>\"']*(?:(?:\"[^\"]*\"|'[^']*')[^>\"']*)*>",
    re.DOTALL,
)
_ATTRIBUTE = re.compile(r"""\s+([^\s=/>]+)\s*=\s*("[^"]*"|'[^']*')""")
_Edit = tuple[int, int, str]
"""The text from a place to another is replaced."""


@dataclass(slots=True)
class Span:
    """Where a node stands in a text: its start, where its tag ends, its end, and where what stands before it ends."""

    start: int
    inner: int
    end: int
    before: int


def serialise(document: Document) -> bytes:
    """Return the bytes of the document's file: the XML, or the whole archive."""
    if not document.data:
        data = bytes(etree.tostring(document.tree, encoding="UTF-8", xml_declaration=True))
    elif (data := _with_marks(document)) != document.data:
        data = sealed(data)
        _prove(document, data)
    return data if document.archive is None else _archive(document, data)


def _may_be_marked(text: str) -> bool:
    return f"<?{TARGET}" in text


def _with_marks(document: Document) -> bytes:
    """Return a document's bytes with what is ours in its tree in them, and nothing else that is ours."""
    text, nodes = document.text, []
    if _may_be_marked(text):
        source = load(document.data, limits=_ROOMY)
        nodes = list(source.tree.getroot().iter())
        take_out(source)
    written = splice(text, nodes, document.tree.getroot(), document.newline)
    return document.data if written == text else document.encoded(written)


def _without_marks(data: bytes) -> bytes:
    """Return a score's bytes without anything of ours."""
    source = load(data, limits=_ROOMY)
    root = source.tree.getroot()
    nodes = list(root.iter())
    return source.encoded(splice(source.text, nodes, root, source.newline)) if take_out(source) else data


def _prove(document: Document, data: bytes) -> None:
    """Raise a ``ValueError`` if bytes are not their document's source once the marks have been taken out of both."""
    try:
        written, source = _without_marks(data), document.data
        wanted = _without_marks(source) if _may_be_marked(document.text) else source
        same = written == wanted or _canonical(written) == _canonical(wanted)
    except ScoreError as error:
        raise ValueError(f"what was written cannot be read again: {error}") from error
    if not same:
        raise ValueError("what was written is not the source with marks in it")


def _canonical(data: bytes) -> bytes:
    return bytes(etree.tostring(load(data, limits=_ROOMY).tree, method="c14n", with_comments=True))


def _archive(document: Document, data: bytes) -> bytes:
    """Return the bytes of the archive with ``data`` as its score."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr(_info(MIMETYPE, zipfile.ZIP_STORED), MEDIA_TYPE)
        for name, entry in (document.archive or {}).items():
            if name != MIMETYPE:
                archive.writestr(_info(name, zipfile.ZIP_DEFLATED), data if name == document.entry else entry)
    return buffer.getvalue()


def _info(name: str, compression: int) -> zipfile.ZipInfo:
    """Return the head of an entry: nothing in it depends on the day, the system or the user."""
    info = zipfile.ZipInfo(name, _DATE)
    info.compress_type = compression
    info.create_system = 3  # Unix
    info.external_attr = 0o644 << 16
    return info


def splice(text: str, nodes: list[Any], root: Any, newline: str) -> str:
    """Return the source's text with what is ours in ``root`` in it, and nothing else that is ours.

    ``nodes`` are all nodes of the text's own tree in document order, what is ours taken out of it since; none where nothing of ours is in
    the text. What is not ours is the same in both.
    """
    wanted = _ours(root)
    left_out = {inner for node in wanted for inner in node.iter()}
    originals = [node for node in root.iter() if node not in left_out]
    spans = _spans(text)
    left = set(nodes[0].iter()) if nodes else set()
    gone = {place for place, node in enumerate(nodes) if node not in left}
    opened = {spans[place].before for place in gone if nodes[place].tag is etree.PI and nodes[place].text == CLOSED}
    kept = [span for place, span in enumerate(spans) if place not in gone]
    if len(kept) != len(originals):
        raise ValueError(f"{len(originals)} nodes in the tree, {len(kept)} in the text")
    span_of = dict(zip(originals, kept, strict=True))
    edits = [(spans[place].before, spans[place].end, "") for place in gone]
    edits += _insertions(text, wanted, span_of, newline, opened)
    edits += _attributes(text, root, span_of)
    empty = (span for node, span in span_of.items() if span.inner in opened and len(node) == 0 and not node.text)
    edits += [(span.inner - 1, span.end, "/>") for span in empty]
    return _edited(text, edits)


def _ours(root: Any) -> list[Any]:
    """Return what is ours in a tree, in document order, without what is inside something of ours."""
    found: dict[Any, None] = {}
    for record in records(root):
        node = record.getparent() if record.text in (ADDED, MADE) else record
        if not any(above in found for above in node.iterancestors()):
            found[node] = None
    return list(found)


def _spans(text: str) -> list[Span]:
    """Return where each node of the root stands, in document order."""
    spans: list[Span] = []
    open_ones: list[Span] = []
    before = -1
    for token in _TOKEN.finditer(text):
        start, end = token.span()
        mark = text[start + 1]
        if mark == "/":
            open_ones.pop().end = end
        elif mark in "!?":
            if not open_ones or text.startswith("<![CDATA[", start):
                continue
            spans.append(Span(start, end, end, before))
        else:
            if spans and not open_ones:
                break
            spans.append(Span(start, end, end, before))
            if text[end - 2] != "/":
                open_ones.append(spans[-1])
        before = end
    return spans


def _insertions(text: str, wanted: list[Any], span_of: dict[Any, Span], newline: str, opened: set[int]) -> Iterator[_Edit]:
    """Yield what is put in; ``opened`` are the ends of tags that were opened for something of ours before."""
    record = etree.tostring(instruction(CLOSED), encoding="unicode")
    pieces: dict[Any, list[str]] = {}
    anchors: dict[Any, Any] = {}
    for node in wanted:
        previous = node.getprevious()
        anchor = anchors[node] = anchors.get(previous, previous)
        gap = (node.getparent().text if previous is None else previous.tail) or ""
        written = gap + etree.tostring(node, encoding="unicode", with_tail=False)
        pieces.setdefault((node.getparent(), anchor), []).append(written.replace("\n", newline))
    for (parent, anchor), put_in in pieces.items():
        insertion = "".join(put_in)
        if anchor is not None:
            yield span_of[anchor].end, span_of[anchor].end, insertion
            continue
        span = span_of[parent]
        if span.inner == span.end and text[span.end - 2] == "/":
            name = re.split(r"[\s/]", text[span.start + 1 : span.end], maxsplit=1)[0]
            yield span.end - 2, span.end, f">{record}{insertion}</{name}>"
        else:
            yield span.inner, span.inner, (record if span.inner in opened and len(parent) == len(put_in) else "") + insertion


def _attributes(text: str, root: Any, span_of: dict[Any, Span]) -> Iterator[_Edit]:
    """Yield the changes of attributes, in whatever can be coloured and in the root."""
    for element in (root, *(part for note in root.iter("note") for _, part in coloured_parts(note))):
        if element in span_of:
            span = span_of[element]
            tag = text[span.start : span.inner]
            changed = _with_attribute(tag, "color", element.get("color"))
            if element is root:
                changed = _with_attribute(changed, "version", root.get("version"))
            if changed != tag:
                yield span.start, span.inner, changed


def _with_attribute(tag: str, name: str, value: str | None) -> str:
    r"""Return a start tag in which an attribute has a value (None: it is not there); what is so already stays.

    >>> _with_attribute("<note a='1' >", "color", "#9A9A9A"), _with_attribute('<note a="1" color="#9A9A9A" />', "color", None)
    ('<note a=\'1\' color="#9A9A9A" >', '<note a="1" />')
    """
    found = next((each for each in _ATTRIBUTE.finditer(tag) if each[1] == name), None) if name in tag else None
    if found is None:
        end = len(tag.removesuffix(">").removesuffix("/").rstrip())
        return tag if value is None else f'{tag[:end]} {name}="{escape(value)}"{tag[end:]}'
    if value is None:
        return tag[: found.start()] + tag[found.end() :]
    now = etree.fromstring(f"<a {found.group().strip()}/>").get(name)
    if now == value:
        return tag
    quote = found[2][0]
    return f"{tag[: found.start(2)]}{quote}{escape(value, quote=quote in value)}{quote}{tag[found.end() :]}"


def _edited(text: str, edits: list[_Edit]) -> str:
    """Return a text with the edits made; of those at one place, what is put in comes first."""
    pieces: list[str] = []
    at = 0
    for start, stop, put_in in sorted(edits, key=lambda edit: edit[:2]):
        pieces += (text[at:start], put_in) if start >= at else (put_in,)
        at = max(at, stop)
    return "".join((*pieces, text[at:]))
