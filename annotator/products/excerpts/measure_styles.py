"""Bars written short at the cut: several bars' rest under one sign, repeat signs in place of notes, slashes.

Rule
----
* A rest of several bars counts only the bars that are in the excerpt.
* A repeat sign for whole bars whose model is before the excerpt is written out: the notes stand in the document. So are slashes and repeat
  signs that begin before the cut. What ends behind it needs no end.

Source: MusicXML 4.0 (W3C), element ``measure-style``.
"""

from __future__ import annotations

from typing import Any

from annotator.products.excerpts.section import Section
from annotator.reading.notes import whole

SIGNS = ("measure-repeat", "beat-repeat", "slash")


def mend_measure_styles(section: Section) -> None:
    """Let no sign stand for what is not there."""
    count = len(section.measures)
    begun: set[tuple[str, str]] = set()
    for place, measure in enumerate(section.measures):
        for attributes in measure.findall("attributes"):
            for style in attributes.findall("measure-style"):
                if not _stays(style, place, count, begun):
                    attributes.remove(style)
            if not len(attributes):
                measure.remove(attributes)


def _stays(style: Any, place: int, count: int, begun: set[tuple[str, str]]) -> bool:
    """Return whether a sign stays, a rest of several bars made as short as need be."""
    rest = style.find("multiple-rest")
    if rest is not None:
        bars = min(whole(rest.text) or 1, count - place)
        rest.text = str(bars)
        return bars > 1
    sign = next(style.iterchildren(*SIGNS), None)
    if sign is None:
        return True
    key = (sign.tag, style.get("number", ""))
    if sign.get("type") == "start":
        if sign.tag == "measure-repeat" and place < (whole(sign.text) or 1):
            return False
        begun.add(key)
        return True
    stays = key in begun
    begun.discard(key)
    return stays
