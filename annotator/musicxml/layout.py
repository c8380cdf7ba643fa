"""Where white space goes, so that what is put in stands on lines of its own and a comparison shows added lines only.

Conventions
-----------
* Whatever is put into a gap keeps, behind it (as its tail), the white space that the gap held before. So taking it out means handing
  that tail back to the neighbour in front, in whatever order things are taken out.
* A file without indentation gets none.
"""

from __future__ import annotations

from typing import Any

from lxml import etree


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
    lay_out(node, start, unit_of(neighbour, start))
    node.tail = None
    neighbour.addprevious(node)
    node.tail = gap
    if gap and gap.strip():  # stray text: it is not ours to double
        set_gap(parent, previous, None)


def insert_after(neighbour: Any, node: Any) -> None:
    """Put a node right behind a sibling, on a line of its own where the siblings have one."""
    following = neighbour.getnext()
    if following is not None:
        insert_before(following, node)
        return
    parent, gap = neighbour.getparent(), neighbour.tail
    start = line_start(parent.text)
    lay_out(node, start, unit_of(neighbour, start))
    neighbour.tail = node.tail = None
    neighbour.addnext(node)
    neighbour.tail = start or None
    node.tail = gap


def remove(node: Any) -> None:
    """Take a node out and give the white space behind it back to the gap in front."""
    parent, previous, gap = node.getparent(), node.getprevious(), node.tail
    parent.remove(node)
    set_gap(parent, previous, gap)


def set_gap(parent: Any, previous: Any, gap: str | None) -> None:
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


def unit_of(neighbour: Any, start: str) -> str:
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


def lay_out(element: Any, start: str, unit: str) -> None:
    """Indent what is inside a new element whose line starts with ``start``; a record stays behind the start tag."""
    if not start or len(element) == 0 or element.text:
        return
    inner = start + unit
    if element[0].tag is not etree.ProcessingInstruction:
        element.text = inner
    for child in element:
        lay_out(child, inner, unit)
        child.tail = inner
    element[-1].tail = start
