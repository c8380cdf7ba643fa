"""What in a document is ours, and how it is taken out again, without a trace.

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
  ``<?annotator closed?>``                  inside an element that was an empty tag (``musicxml.splicing``)
  ========================================  ==============================================================================

* Anything else under that target is not ours and is left alone: so is a record of what no document can have held.
* Our line among the programs is appended; the user's own stay. It names no version of the program: the same marks give the same bytes.

Source: MusicXML 4.0 (W3C) for the elements; XML 1.0 section 2.6 for processing instructions.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from typing import Any
from urllib.parse import quote, unquote

from lxml import etree

from annotator.musicxml.splicing import CLOSED, Splice, instruction, reloaded
from annotator.reading.document import PROGRAM, Document

ADDED, MADE = instruction("added"), instruction("made")
COLOURED = ("stem", "beam", "notehead", "accidental", "dot")
"""The children of a note that take its colour, besides the note itself."""

_VALUE = r"(?:[^%\s]|%(?!EF%BF%B[EF])(?:0[9AD]|[2-9A-F][0-9A-F]))*"  # quoted; no character that XML has not
_OURS = re.compile(rf"added|made|closed|grey #[0-9A-F]{{6}}(?:[0-9A-F]{{2}})?(?: [a-z]+\d*={_VALUE})*|version(?: {_VALUE})?")
_REMOVABLE = frozenset({"direction", "software", "notehead", "accidental"})
_CONTAINERS = frozenset({"identification", "encoding"})
_SOFTWARE = f"<software>{PROGRAM}{ADDED}</software>"
_ENCODING = f"<encoding>{MADE}\n\t{_SOFTWARE}\n</encoding>"
_IDENTIFICATION = f"<identification>{MADE}\n\t" + _ENCODING.replace("\n", "\n\t") + "\n</identification>"


def records(root: Any) -> Iterator[Any]:
    """Yield the processing instructions of ours in document order."""
    for node in root.iter(etree.ProcessingInstruction):
        if node.target == PROGRAM and node.text and _OURS.fullmatch(node.text):
            yield node


def take_out(document: Document) -> Document:
    """Return a document without anything of ours, all that was changed restored; where nothing is ours, the document itself.

    What others have written into a marked document since then stays, but for what they wrote inside an element of ours.
    """
    data = without_marks(document)
    return document if data == document.data else reloaded(document, data)


def without_marks(document: Document) -> bytes:
    """Return the bytes of a document's XML without anything of ours; where nothing is ours, as they are."""
    found = list(records(document.tree.getroot()))
    if not found:
        return document.data
    splice = Splice(document)
    gone: set[Any] = set()
    for record in reversed(found):  # the inner ones first: a container may be empty after them
        parent = record.getparent()
        inside = parent.getparent() is not None
        word, _, rest = record.text.partition(" ")
        if word == "added" and parent.tag in _REMOVABLE and inside:
            gone.add(parent)
            continue
        gone.add(record)
        empty = all(child in gone and not (child.tail or "").strip() for child in parent) and not (parent.text or "").strip()
        if word == "made" and parent.tag in _CONTAINERS and empty and inside:
            gone.add(parent)
        elif word == CLOSED and empty:
            splice.close(parent)
        elif word == "grey":
            _restore_colours(splice, parent, rest, gone)
        elif word == "version":
            splice.set_attribute(parent, "version", unquote(rest) if rest else None)
    for node in gone:
        splice.cut(node)
    return splice.made()


def coloured_parts(note: Any, ours: Collection[Any] = ()) -> Iterator[tuple[str, Any]]:
    """Yield the parts of a note that can be coloured, those of ``ours`` left out, each with its name in the record: ``note``, ``beam2``."""
    yield "note", note
    counts: dict[str, int] = {}
    for child in (each for each in note.iterchildren(*COLOURED) if each not in ours):
        counts[child.tag] = count = counts.get(child.tag, 0) + 1
        yield f"{child.tag}{count}", child


def grey_record(grey: str, before: dict[str, str]) -> str:
    """Return the record of a note that was coloured ``grey``; ``before`` gives the colours that some parts had."""
    return instruction(" ".join([f"grey {grey}", *(f"{name}={quote(was, safe='')}" for name, was in before.items())]))


def _restore_colours(splice: Splice, note: Any, rest: str, gone: set[Any]) -> None:
    """Undo the colours of a note, where they are still ours."""
    grey, *entries = rest.split(" ")
    before = dict(entry.split("=", 1) for entry in entries)
    for name, part in coloured_parts(note, gone):
        if splice.attribute(part, "color") == grey:
            splice.set_attribute(part, "color", unquote(before[name]) if name in before else None)


def sign(splice: Splice, root: Any) -> None:
    """Append our line among the programs that made the file; what is to hold it is made where it is missing."""
    identification, encoding = root.find("identification"), root.find("identification/encoding")
    if identification is None:
        splice.put_in(root, _IDENTIFICATION, ("defaults", "credit", "part-list", "part", "measure"))
    elif encoding is None:
        splice.put_in(identification, _ENCODING, ("source", "relation", "miscellaneous"))
    else:
        splice.put_in(encoding, _SOFTWARE)


def raise_version(splice: Splice, root: Any) -> None:
    """Make the root name the version that has sixteen bracket numbers, if it names an older one."""
    before = splice.attribute(root, "version")
    try:
        old = before is None or float(before) < 4
    except ValueError:
        return
    if old:
        splice.set_attribute(root, "version", "4.0")
        splice.first(root, instruction("version" if before is None else f"version {quote(before, safe='')}"))
