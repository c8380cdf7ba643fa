"""Around the bars of an excerpt: heading, names and part list of the score it is cut from."""

from __future__ import annotations

import copy
from collections.abc import Collection
from typing import Any

from lxml import etree


def frame(root: Any, parts: Collection[str]) -> Any:
    """Return a new partwise root with everything of a score that stands before its music; of the part list only these parts."""
    made = etree.Element("score-partwise", dict(root.attrib))
    for child in root:
        if child.tag not in ("part", "measure") and isinstance(child.tag, str):
            made.append(copy.deepcopy(child))
    part_list = made.find("part-list")
    if part_list is None:
        part_list = etree.SubElement(made, "part-list")
    _prune(part_list, parts)
    for part in parts:
        if all(child.get("id") != part for child in part_list):
            etree.SubElement(etree.SubElement(part_list, "score-part", {"id": part}), "part-name")
    return made


def _prune(part_list: Any, parts: Collection[str]) -> None:
    """Take the other parts out, and the groups that then hold fewer than two parts."""
    groups: dict[str, tuple[Any, list[str]]] = {}
    for child in list(part_list):
        if child.tag == "score-part":
            if child.get("id") not in parts:
                part_list.remove(child)
                continue
            for _, members in groups.values():
                members.append(child.get("id"))
        elif child.tag == "part-group" and child.get("type") == "start":
            groups[child.get("number", "1")] = (child, [])
        elif child.tag == "part-group":
            start, members = groups.pop(child.get("number", "1"), (None, []))
            if len(members) < 2:
                for end in (start, child):
                    if end is not None:
                        part_list.remove(end)
    for start, _ in groups.values():
        part_list.remove(start)
