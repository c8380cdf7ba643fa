"""What in a document is ours, and how it is taken out again.

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
  ``<?annotator closed?>``                  in the text only (``writing.splicing``): inside an element that was an empty tag
  ========================================  ==============================================================================

* Anything else under that target is not ours and is left alone.
* No white space is lost or won (``writing.layout``).

Source: MusicXML 4.0 (W3C) for the elements; XML 1.0 section 2.6 for processing instructions.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any
from urllib.parse import quote, unquote

from lxml import etree

from annotator.musicxml.layout import remove
from annotator.reading.document import PROGRAM, Document

TARGET = PROGRAM
ADDED = "added"
MADE = "made"
CLOSED = "closed"
COLOURED = ("stem", "beam", "notehead", "accidental", "dot")
"""The children of a note that take its colour, besides the note itself."""

BLACK = frozenset({"#000000", "#FF000000"})

_OURS = re.compile(r"(added|made|closed|grey #[0-9A-F]{6}(?:[0-9A-F]{2})?(?: [a-z]+\d*=\S*)*|version(?: \S+)?)")
_REMOVABLE = frozenset({"direction", "software", "notehead", "accidental"})
_CONTAINERS = frozenset({"identification", "encoding"})


def instruction(text: str) -> Any:
    """Return a processing instruction of ours with that text."""
    return etree.ProcessingInstruction(TARGET, text)


def is_marked(document: Document) -> bool:
    """Return whether anything of ours is in the document."""
    return next(records(document.tree.getroot()), None) is not None


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
            remove(parent)
            continue
        remove(record)
        empty = len(parent) == 0 and not (parent.text or "").strip()
        if word == MADE and parent.tag in _CONTAINERS and empty and parent.getparent() is not None:
            remove(parent)
        elif word == "grey":
            _restore_colours(parent, rest)
        elif word == "version":
            _restore_version(parent, rest)
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


def version_record(before: str | None) -> Any:
    """Return the record of the root's version as it was (None: it had none)."""
    return instruction("version" if before is None else f"version {quote(before, safe='')}")


def records(root: Any) -> Iterator[Any]:
    """Yield the processing instructions of ours in document order."""
    for node in root.iter(etree.ProcessingInstruction):
        if node.target == TARGET and node.text and _OURS.fullmatch(node.text):
            yield node


def _restore_colours(note: Any, rest: str) -> None:
    """Undo the colours of a note, where they are still ours."""
    grey, *entries = rest.split(" ")
    before = dict(entry.split("=", 1) for entry in entries)
    for name, part in coloured_parts(note):
        if part.get("color") != grey:
            continue
        if name in before:
            _set(part, "color", before[name])
        else:
            del part.attrib["color"]


def _restore_version(root: Any, rest: str) -> None:
    """Give the root the version it had."""
    if rest:
        _set(root, "version", rest)
    elif "version" in root.attrib:
        del root.attrib["version"]


def _set(element: Any, name: str, quoted: str) -> None:
    """Set an attribute as a record says, or take it away where that holds a character that no document can."""
    try:
        element.set(name, unquote(quoted, errors="strict"))
    except ValueError:
        element.attrib.pop(name, None)
