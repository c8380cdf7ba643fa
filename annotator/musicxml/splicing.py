"""Marks spliced into the source's own text: what is not ours stays as it was, character for character.

Conventions
-----------
* A tree tells nothing of quotes, blanks in tags, ``<b></b>`` against ``<b/>``, references, line ends, document type. So the tree is never
  written out: the source's text is, with our elements put in, and two attributes (``color``, ``version``) set.
* The source's nodes (elements, comments, instructions) come in the text in the same order as in the tree, so that they are known by their
  place. Ours are known by their records (``writing.record``).
* White space goes as in ``writing.layout``: what stands in front of something of ours came with it, what stands behind it was there.
* An empty tag that gets a child of ours is opened, and ``<?annotator closed?>`` in it says that it was closed.

Source: XML 1.0 for what a tag, a comment, an instruction and a section of characters look like.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from lxml import etree

from annotator.musicxml.record import ADDED, CLOSED, MADE, coloured_parts, instruction, records

_TOKEN = re.compile(
    r"<!--.*?-->|<\?.*?\?>|<!\[CDATA\[.*?\]\]>|<!DOCTYPE[^\[>\"']*(?:(?:\"[^\"]*\"|'[^']*')[^\[>\"']*)*(?:\[.*?\]\s*)?>"
    r"|<[^>\"']*(?:(?:\"[^\"]*\"|'[^']*')[^>\"']*)*>",
    re.DOTALL,
)
_ATTRIBUTE = re.compile(r"""\s+([^\s=/>]+)\s*=\s*("[^"]*"|'[^']*')""")
_SET = ("color", "version")
"""The attributes that marks change."""


@dataclass(slots=True)
class Span:
    """Where a node stands in a text: its start, where its tag ends, its end, and where what stands before it ends."""

    start: int
    inner: int
    end: int
    before: int


@dataclass(frozen=True, slots=True)
class Edit:
    """The text from ``start`` to ``stop`` is replaced."""

    start: int
    stop: int
    text: str


def splice(text: str, nodes: list[Any], root: Any, newline: str) -> str:
    """Return the source's text with what is ours in ``root`` in it, and nothing else that is ours.

    ``nodes`` are all nodes of the text's own tree in document order, what is ours taken out of it since; none where nothing of ours is in
    the text. What is not ours is the same in both.
    """
    wanted = _ours(root)
    originals = list(_originals(root, wanted))
    spans = _spans(text)
    left = set(nodes[0].iter()) if nodes else set()
    gone = {place for place, node in enumerate(nodes) if node not in left}
    opened = {spans[place].before for place in gone if nodes[place].tag is etree.PI and nodes[place].text == CLOSED}
    kept = [span for place, span in enumerate(spans) if place not in gone] if gone else spans
    if len(kept) != len(originals):
        raise ValueError(f"{len(originals)} nodes in the tree, {len(kept)} in the text")
    span_of = dict(zip(originals, kept, strict=True))
    edits = [Edit(spans[place].before, spans[place].end, "") for place in gone]
    edits += _insertions(text, wanted, span_of, newline, opened)
    edits += _attributes(text, root, bool(nodes), span_of)
    edits += [Edit(span.inner - 1, span.end, "/>") for node, span in span_of.items() if opened and span.inner in opened and _is_empty(node)]
    return _edited(text, edits)


def _is_empty(node: Any) -> bool:
    return len(node) == 0 and not node.text


def _ours(root: Any) -> list[Any]:
    """Return what is ours in a tree, in document order, without what is inside something of ours."""
    found: dict[Any, None] = {}
    for record in records(root):
        parent = record.getparent()
        node = parent if record.text in (ADDED, MADE) else record
        if not any(above in found for above in node.iterancestors()):
            found[node] = None
    return list(found)


def _originals(root: Any, ours: list[Any]) -> Iterator[Any]:
    """Yield the nodes of a tree that are not ours, in document order."""
    left_out = {inner for node in ours for inner in node.iter()}
    for node in root.iter():
        if node not in left_out:
            yield node


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


def _insertions(text: str, wanted: list[Any], span_of: dict[Any, Span], newline: str, opened: set[int]) -> Iterator[Edit]:
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
        added = "".join(put_in)
        if anchor is not None:
            yield Edit(span_of[anchor].end, span_of[anchor].end, added)
            continue
        span = span_of[parent]
        if span.inner == span.end and text[span.end - 2] == "/":
            name = re.split(r"[\s/]", text[span.start + 1 : span.end], maxsplit=1)[0]
            yield Edit(span.end - 2, span.end, f">{record}{added}</{name}>")
        else:
            yield Edit(span.inner, span.inner, (record if span.inner in opened and len(parent) == len(put_in) else "") + added)


def _attributes(text: str, root: Any, marked: bool, span_of: dict[Any, Span]) -> Iterator[Edit]:
    """Yield the changes of attributes: in what has a record, and where the source is ``marked`` in whatever can be coloured."""
    notes = root.iter("note") if marked else dict.fromkeys(each.getparent() for each in records(root) if each.text.startswith("grey"))
    for element in (root, *(part for note in notes for _, part in coloured_parts(note))):
        span = span_of.get(element)
        if span is None:
            continue
        tag = text[span.start : span.inner]
        changed = tag
        for name in _SET:
            if element is root or name == "color":
                changed = _with_attribute(changed, name, element.get(name))
        if changed != tag:
            yield Edit(span.start, span.inner, changed)


def _with_attribute(tag: str, name: str, value: str | None) -> str:
    r"""Return a start tag in which an attribute has a value (None: it is not there); what is so already stays.

    >>> _with_attribute("<note a='1' >", "color", "#9A9A9A"), _with_attribute('<note a="1" color="#9A9A9A" />', "color", None)
    ('<note a=\'1\' color="#9A9A9A" >', '<note a="1" />')
    """
    found = next((each for each in _ATTRIBUTE.finditer(tag) if each[1] == name), None) if name in tag else None
    if found is None:
        if value is None:
            return tag
        end = re.search(r"\s*/?>$", tag)
        assert end is not None
        return f"{tag[: end.start()]} {name}={quoteattr(value)}{tag[end.start() :]}"
    if value is None:
        return tag[: found.start()] + tag[found.end() :]
    now = etree.fromstring(f"<a {found.group().strip()}/>").get(name)
    if now == value:
        return tag
    quote = found[2][0]
    quoted = quoteattr(value) if quote in value else f"{quote}{escape(value)}{quote}"
    return f"{tag[: found.start(2)]}{quoted}{tag[found.end() :]}"


def _edited(text: str, edits: list[Edit]) -> str:
    """Return a text with the edits made; of those at one place, what is put in comes first."""
    pieces: list[str] = []
    at = 0
    for edit in sorted(edits, key=lambda edit: (edit.start, edit.stop)):
        pieces += (text[at : edit.start], edit.text) if edit.start >= at else (edit.text,)
        at = max(at, edit.stop)
    return "".join((*pieces, text[at:]))
