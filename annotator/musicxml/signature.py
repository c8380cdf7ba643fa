"""Our line among the programs that made the file, and the version of the format that our marks need.

Conventions
-----------
* The line is appended; the user's own stay. ``<identification>`` and ``<encoding>`` are made where they are missing.
* The line names no version of the program, so that the same marks give the same bytes.

Source: MusicXML 4.0 (W3C), ``identification`` and ``encoding``.
"""

from __future__ import annotations

from typing import Any

from lxml import etree

from annotator.musicxml.layout import insert_after, insert_before, insert_first
from annotator.musicxml.record import ADDED, MADE, TARGET, instruction, version_record

_BEFORE_IDENTIFICATION = ("work", "movement-number", "movement-title")
_BEFORE_ENCODING = ("creator", "rights")


def sign(root: Any) -> None:
    """Append our ``<software>`` line."""
    software = etree.Element("software")
    software.text = TARGET
    software.append(instruction(ADDED))
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
    """Make the root name the version that has sixteen bracket levels, if it names an older one."""
    before = root.get("version")
    try:
        old = before is None or float(before) < 4
    except ValueError:
        return
    if old:
        root.set("version", "4.0")
        insert_first(root, version_record(before))


def _container(tag: str, child: Any) -> Any:
    """Return a container of ours around an element."""
    container = etree.Element(tag)
    container.append(instruction(MADE))
    container.append(child)
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
