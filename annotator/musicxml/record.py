"""What in a document is ours, how it is put in and how it is taken out again, without a trace.

Conventions
-----------
* Whatever we put in or change is recorded by a processing instruction with the target ``annotator``. Such an instruction is valid
  anywhere in an element and changes no content, so neither ids nor another version of the format are needed for it.

  ========================================  ==============================================================================
  ``<?annotator added?>``                   inside an element that is wholly ours: take the element out
  ``<?annotator made?>``                    inside a container made for one of ours: take it out when nothing else is left in it
  ``<?annotator grey #9A9A9A dot1=…?>``     inside a note: its parts that have this colour got it from us; before the equals
                                            sign the parts that had a colour of their own, after it that colour (a covered
                                            note has two: one for its grey, one for its white)
  ``<?annotator version 3.1?>``             inside the root: the ``version`` it had (none given: it had none)
  ``<?annotator closed?>``                  in the text only (``musicxml.splicing``): inside an element that was an empty tag
  ========================================  ==============================================================================

* Anything else under that target is not ours and is left alone: so is a record of what no document can have held.
* Whatever is put into a gap of white space stands on a line of its own and keeps, behind it (as its tail), what the gap held before. So
  taking it out means handing that tail back to the neighbour in front, in whatever order things are taken out, and a comparison shows added
  lines only. A file without indentation gets none.
* Our line among the programs is appended; the user's own stay. It names no version of the program: the same marks give the same bytes.

Source: MusicXML 4.0 (W3C) for the elements; XML 1.0 section 2.6 for processing instructions.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any
from urllib.parse import quote, unquote

from lxml import etree

from annotator.reading.document import PROGRAM, Document

TARGET = PROGRAM
ADDED, MADE, CLOSED = "added", "made", "closed"
COLOURED = ("stem", "beam", "notehead", "accidental", "dot")
"""The children of a note that take its colour, besides the note itself."""

BLACK = frozenset({"#000000", "#FF000000"})

_VALUE = r"(?:[^%\s]|%(?!EF%BF%B[EF])(?:0[9AD]|[2-9A-F][0-9A-F]))*"  # quoted; no character that XML has not
_OURS = re.compile(rf"added|made|closed|grey #[0-9A-F]{{6}}(?:[0-9A-F]{{2}})?(?: [a-z]+\d*={_VALUE})*|version(?: {_VALUE})?")
_REMOVABLE = frozenset({"direction", "software", "notehead", "accidental"})
_CONTAINERS = frozenset({"identification", "encoding"})
_BEFORE_IDENTIFICATION = ("work", "movement-number", "movement-title")
_BEFORE_ENCODING = ("creator", "rights")


def instruction(text: str) -> Any:
    """Return a processing instruction of ours with that text."""
    return etree.ProcessingInstruction(TARGET, text)


def added(tag: str, text: str | None = None, **attributes: str) -> Any:
    """Return an element that is wholly ours."""
    element = etree.Element(tag, attributes)
    element.text = text
    element.append(instruction(ADDED))
    return element


def records(root: Any) -> Iterator[Any]:
    """Yield the processing instructions of ours in document order."""
    for node in root.iter(etree.ProcessingInstruction):
        if node.target == TARGET and node.text and _OURS.fullmatch(node.text):
            yield node


def take_out(document: Document) -> bool:
    """Take out everything of ours, restore what was changed, and return whether there was anything.

    What others have written into a marked document since then stays, but for what they wrote inside an element of ours.
    """
    found = list(records(document.tree.getroot()))
    for record in reversed(found):  # the inner ones first: a container may be empty after them
        parent = record.getparent()
        if parent is None:  # a second record in what went with the first
            continue
        word, _, rest = record.text.partition(" ")
        if word == ADDED and parent.tag in _REMOVABLE and parent.getparent() is not None:
            _remove(parent)
            continue
        _remove(record)
        empty = len(parent) == 0 and not (parent.text or "").strip()
        if word == MADE and parent.tag in _CONTAINERS and empty and parent.getparent() is not None:
            _remove(parent)
        elif word == "grey":
            _restore_colours(parent, rest)
        elif word == "version":
            _restore(parent, "version", rest or None)
    return bool(found)


def coloured_parts(note: Any) -> Iterator[tuple[str, Any]]:
    """Yield the parts of a note that can be coloured, each with its name in the record: ``note``, ``stem1``, ``beam2``."""
    yield "note", note
    counts: dict[str, int] = {}
    for child in note.iterchildren(*COLOURED):
        counts[child.tag] = count = counts.get(child.tag, 0) + 1
        yield f"{child.tag}{count}", child


def grey_record(grey: str, before: dict[str, str]) -> Any:
    """Return the record of a note that was coloured ``grey``; ``before`` gives the colours that some parts had."""
    return instruction(" ".join([f"grey {grey}", *(f"{name}={quote(was, safe='')}" for name, was in before.items())]))


def _restore_colours(note: Any, rest: str) -> None:
    """Undo the colours of a note, where they are still ours."""
    grey, *entries = rest.split(" ")
    before = dict(entry.split("=", 1) for entry in entries)
    for name, part in coloured_parts(note):
        if part.get("color") == grey:
            _restore(part, "color", before.get(name))


def _restore(element: Any, name: str, quoted: str | None) -> None:
    """Give an attribute the value of a record; None: it had none."""
    if quoted is None:
        element.attrib.pop(name, None)
    else:
        element.set(name, unquote(quoted))


def sign(root: Any) -> None:
    """Append our line among the programs that made the file; what is to hold it is made where it is missing."""
    software = added("software", TARGET)
    identification = root.find("identification")
    encoding = None if identification is None else identification.find("encoding")
    if identification is None:
        _insert_behind(root, _BEFORE_IDENTIFICATION, _container("identification", _container("encoding", software)))
    elif encoding is None:
        _insert_behind(identification, _BEFORE_ENCODING, _container("encoding", software))
    elif len(encoding):
        insert_after(encoding[-1], software)
    else:
        insert_first(encoding, software)


def raise_version(root: Any) -> None:
    """Make the root name the version that has sixteen bracket numbers, if it names an older one."""
    before = root.get("version")
    try:
        old = before is None or float(before) < 4
    except ValueError:
        return
    if old:
        root.set("version", "4.0")
        insert_first(root, instruction("version" if before is None else f"version {quote(before, safe='')}"))


def _container(tag: str, child: Any) -> Any:
    """Return a container of ours around an element."""
    container = etree.Element(tag)
    container.extend((instruction(MADE), child))
    return container


def _insert_behind(parent: Any, tags: tuple[str, ...], node: Any) -> None:
    """Put a node behind the last child that has one of the tags, or else before all children."""
    before = list(parent.iterchildren(*tags))
    if before:
        insert_after(before[-1], node)
    elif len(parent):
        insert_before(parent[0], node)
    else:
        insert_first(parent, node)


def insert_first(parent: Any, node: Any) -> None:
    """Put a node right behind the start tag of an element."""
    gap = parent.text
    parent.insert(0, node)
    parent.text = None
    node.tail = gap


def insert_before(neighbour: Any, node: Any) -> None:
    """Put a node right before a sibling, on a line of its own where the sibling has one."""
    parent, previous = neighbour.getparent(), neighbour.getprevious()
    gap = parent.text if previous is None else previous.tail
    start = line_start(gap)
    _lay_out(node, start, _unit_of(neighbour, start))
    node.tail = None
    neighbour.addprevious(node)
    node.tail = gap
    if gap and gap.strip():  # stray text: it is not ours to double
        _set_gap(parent, previous, None)


def insert_after(neighbour: Any, node: Any) -> None:
    """Put a node right behind a sibling, on a line of its own where the siblings have one."""
    following = neighbour.getnext()
    if following is not None:
        insert_before(following, node)
        return
    parent, gap = neighbour.getparent(), neighbour.tail
    start = line_start(parent.text)
    _lay_out(node, start, _unit_of(neighbour, start))
    neighbour.tail = node.tail = None
    neighbour.addnext(node)
    neighbour.tail = start or None
    node.tail = gap


def _remove(node: Any) -> None:
    """Take a node out and give the white space behind it back to the gap in front."""
    parent, previous, gap = node.getparent(), node.getprevious(), node.tail
    parent.remove(node)
    _set_gap(parent, previous, gap)


def _set_gap(parent: Any, previous: Any, gap: str | None) -> None:
    """Set the text between a child (None: the start tag) and what follows it."""
    if previous is None:
        parent.text = gap or None
    else:
        previous.tail = gap or None


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
    parent = neighbour.getparent()
    end = line_start(parent[-1].tail)
    if end != start and start.startswith(end):
        return start[len(end) :] if end else ""
    first = neighbour[0] if len(neighbour) else None
    inner = line_start(first.tail if first is not None and first.tag is etree.ProcessingInstruction else neighbour.text)
    return inner[len(start) :] if inner.startswith(start) else ""


def _lay_out(element: Any, start: str, unit: str) -> None:
    """Indent what is inside a new element whose line starts with ``start``; a record stays behind the start tag."""
    if not start or len(element) == 0 or element.text:
        return
    inner = start + unit
    if element[0].tag is not etree.ProcessingInstruction:
        element.text = inner
    for child in element:
        _lay_out(child, inner, unit)
        child.tail = inner
    element[-1].tail = start
