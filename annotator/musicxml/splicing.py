"""A document's text with something put in or taken out, all else left as it came.

Conventions
-----------
* A tree tells nothing of quotes, blanks in tags, ``<b></b>`` against ``<b/>``, references, line ends, document type. So no tree is ever
  changed or written out: its nodes say where, and the source's text is edited there. What is not edited stays character for character.
* The nodes (elements, comments, instructions) come in the text in the same order as in the tree, so that they are known by their place.
* Whatever is put into a gap of white space stands on a line of its own, behind a copy of that gap: what stands in front of it came with
  it, and goes with it, and a comparison shows added lines only. A file without indentation gets none.
* An empty tag that gets a child is opened, and an instruction in it says that it was closed.
* A character that the encoding does not have becomes a character reference.

What is put in is a text with a line for each tag, as many tabs before it as it is deep.

Source: XML 1.0 for what tags, comments, instructions, sections of characters look like.
"""

from __future__ import annotations

import re
from collections import defaultdict, deque
from dataclasses import dataclass, replace
from typing import Any

from annotator.reading.document import LIMITS, PROGRAM, Document
from annotator.reading.loading import load

CLOSED = "closed"
_ROOMY = LIMITS._replace(file=4 * LIMITS.file, elements=4 * LIMITS.elements)
"""What our own output may be: marks make a file larger."""

_TOKEN = re.compile(
    r"<!--.*?-->|<\?.*?\?>|<!\[CDATA\[.*?\]\]>|<!DOCTYPE[^\[>\"']*(?:(?:\"[^\"]*\"|'[^']*')[^\[>\"']*)*(?:\[.*?\]\s*)?>"
    r"|<[^>\"']*(?:(?:\"[^\"]*\"|'[^']*')[^>\"']*)*>",
    re.DOTALL,
)
_ATTRIBUTE = re.compile(r"""\s+([^\s=/>]+)\s*=\s*("[^"]*"|'[^']*')""")


@dataclass(slots=True)
class Span:
    """Where a node stands in a text: its start, where its tag ends, its end, and where what stands before it ends."""

    start: int
    inner: int
    end: int
    before: int


class Splice:
    """The text of a document, and what is to be put in and taken out; the document stays as it is."""

    def __init__(self, document: Document) -> None:
        self._document, self._text, self._newline = document, document.text, document.newline
        self._spans = dict(zip(document.tree.getroot().iter(), _spans(self._text), strict=True))
        self._put_in: dict[tuple[int, int], deque[str]] = defaultdict(deque)
        self._tags: dict[Any, str] = {}
        self._cuts: list[tuple[int, int, str]] = []

    def first(self, parent: Any, ours: str) -> None:
        """Put something right behind the start tag of an element, on the same line."""
        end = self._spans[parent].inner
        empty = end == self._spans[parent].end and self._text[end - 2] == "/"
        self._put_in[end - 2 if empty else end, end].appendleft(self._laid_out(ours, None, parent))

    def before(self, neighbour: Any, ours: str) -> None:
        """Put something right before a sibling, on a line of its own where the sibling has one, behind what was put there before."""
        place, previous = self._spans[neighbour].before, neighbour.getprevious()
        gap = neighbour.getparent().text if previous is None else previous.tail
        self._put_in[place, place].append(self._laid_out(ours, gap, neighbour))

    def behind(self, neighbour: Any, ours: str) -> None:
        """Put something right behind a sibling, on a line of its own where the siblings have one, before what was put there before."""
        place, following = self._spans[neighbour].end, neighbour.getnext()
        gap = line_start(neighbour.getparent().text) if following is None else neighbour.tail
        self._put_in[place, place].appendleft(self._laid_out(ours, gap, neighbour if following is None else following))

    def put_in(self, parent: Any, ours: str, later: tuple[str, ...] = ()) -> None:
        """Put an element into another, in front of those of its children that come ``later``, else behind all."""
        following = next(parent.iterchildren(*later), None) if later else None
        if following is not None:
            self.before(following, ours)
        elif len(parent):
            self.behind(parent[-1], ours)
        else:
            self.first(parent, ours)

    def attribute(self, element: Any, name: str) -> str | None:
        """Return what stands between the quotes of an attribute, as it will be; None where there is none."""
        found = _attribute(self._tag(element), name)
        return found and found[2][1:-1]

    def set_attribute(self, element: Any, name: str, value: str | None) -> None:
        """Let something else stand between the quotes of an attribute; None: take it out."""
        self._tags[element] = _with_attribute(self._tag(element), name, value)

    def cut(self, node: Any) -> None:
        """Take a node out, with the white space in front of it."""
        span = self._spans[node]
        start = span.start if self._text[span.before : span.start].strip() else span.before
        self._cuts.append((start, span.end, ""))

    def close(self, element: Any) -> None:
        """Make an element an empty tag."""
        self._cuts.append((self._spans[element].inner - 1, self._spans[element].end, "/>"))

    def made(self) -> bytes:
        """Return the bytes of the text with all that done."""
        tags = [(self._spans[element].start, self._spans[element].inner, tag) for element, tag in self._tags.items()]
        put_in = [(*place, self._opened(*place, "".join(pieces))) for place, pieces in self._put_in.items()]
        result: list[str] = []
        at = 0
        for start, stop, instead in sorted([*self._cuts, *tags, *put_in]):
            if start >= at:  # else it is in something that is cut out
                result += (self._text[at:start], instead)
                at = stop
        return self._document.encoded("".join([*result, self._text[at:]]))

    def _opened(self, start: int, stop: int, put_in: str) -> str:
        """Return what takes the place of some text: where that is the end of an empty tag, the tag is opened."""
        if start == stop:
            return put_in
        name = re.split(r"[\s/]", self._text[self._text.rindex("<", 0, start) + 1 : stop], maxsplit=1)[0]
        return f">{instruction(CLOSED)}{put_in}</{name}>"

    def _tag(self, element: Any) -> str:
        span = self._spans[element]
        return self._tags.get(element) or self._text[span.start : span.inner]

    def _laid_out(self, ours: str, gap: str | None, neighbour: Any) -> str:
        """Return what is put in with the white space in front of it and in it; stray text is not ours to double."""
        start = line_start(gap)
        unit = _unit_of(neighbour, start) if start else ""
        laid_out = ours.replace("\n", start).replace("\t", unit)
        return ((gap if gap and not gap.strip() else "") + laid_out).replace("\n", self._newline)


def instruction(text: str) -> str:
    """Return a processing instruction of ours."""
    return f"<?{PROGRAM} {text}?>"


def reloaded(document: Document, data: bytes) -> Document:
    """Return a document with other bytes in place of its own. Raises a ``ScoreError`` where they cannot be read."""
    made = load(data, document.name, _ROOMY)
    return replace(made, archive=document.archive, entry=document.entry, notices=document.notices)


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


def _attribute(tag: str, name: str) -> re.Match[str] | None:
    return next((each for each in _ATTRIBUTE.finditer(tag) if each[1] == name), None) if name in tag else None


def _with_attribute(tag: str, name: str, value: str | None) -> str:
    r"""Return a start tag in which something stands between the quotes of an attribute (None: it is not there).

    >>> _with_attribute("<note a='1' >", "color", "#9A9A9A"), _with_attribute('<note a="1" color="#9A9A9A" />', "color", None)
    ('<note a=\'1\' color="#9A9A9A" >', '<note a="1" />')
    """
    found = _attribute(tag, name)
    if found is None:
        end = len(tag.removesuffix(">").removesuffix("/").rstrip())
        return tag if value is None else f'{tag[:end]} {name}="{value}"{tag[end:]}'
    if value is None:
        return tag[: found.start()] + tag[found.end() :]
    quote = found[2][0]
    held = value.replace("<", "&lt;").replace(quote, f"&#{ord(quote)};")  # no honest record has these
    return f"{tag[: found.start(2)]}{quote}{held}{quote}{tag[found.end() :]}"


def line_start(gap: str | None) -> str:
    r"""Return the last line break of some white space with the indentation behind it; empty if it holds no line break.

    >>> line_start("\n\n    "), line_start(None), line_start("  ")
    ('\n    ', '', '')
    """
    if not gap or "\n" not in gap or gap.strip():
        return ""
    return gap[gap.rindex("\n") :]


def _unit_of(neighbour: Any, start: str) -> str:
    """Return by how much one level of elements is indented against the next; ``start`` is the line start of the neighbour.

    Some programs put a bar's end tag as deep as its notes; then what is inside the neighbour tells.
    """
    end = line_start(neighbour.getparent()[-1].tail)
    if end != start and start.startswith(end):
        return start[len(end) :] if end else ""
    inner = line_start(neighbour.text)
    return inner[len(start) :] if inner.startswith(start) else ""
