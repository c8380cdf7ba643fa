"""The first bar of an excerpt, opened with what is in force there."""

from __future__ import annotations

from typing import Any

from annotator.products.excerpts.in_force import BY_STAFF, SINGLE, at_start
from annotator.products.excerpts.section import Section


def open_with(section: Section, attributes: Any, marks: list[Any]) -> None:
    """Put attributes and marks before everything in the first bar, in place of what it says of the kind at its very start."""
    bar = section.measures[0]
    for moment in at_start(section.first, "attributes"):
        twin = section.twin(moment.element)
        if twin is None:
            continue
        for child in [each for each in twin if each.tag in (*SINGLE, *BY_STAFF)]:
            twin.remove(child)
        if not len(twin):
            bar.remove(twin)
    for child in bar.findall("print"):
        for name in ("new-system", "new-page", "page-number"):
            child.attrib.pop(name, None)
    for place, element in enumerate([attributes, *marks]):
        bar.insert(place, element)
