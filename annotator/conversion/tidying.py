"""What the converter writes, tidied: the same source gives the same text on any day, and nothing is named after the converter.

Conventions
-----------
* Parts are called P1, P2 …, instruments P1-I1 …; the converter makes such names by chance. The day of conversion is taken out.
* A title or author that the converter makes up where the source has none is taken out.
"""

from __future__ import annotations

from typing import Any

_MADE_UP = frozenset({"Music21 Fragment", "Music21"})


def tidy(root: Any) -> None:
    """Tidy a converted score in place."""
    for element in list(root.iter("encoding-date")):
        element.getparent().remove(element)
    _rename(root)
    for path in ("work/work-title", "movement-title", "identification/creator"):
        for element in root.findall(path):
            if (element.text or "").strip() in _MADE_UP or not (element.text or "").strip():
                element.getparent().remove(element)
    work = root.find("work")
    if work is not None and not len(work):
        root.remove(work)


def _rename(root: Any) -> None:
    """Give parts and instruments their names."""
    instruments: dict[str, str] = {}
    for number, listed in enumerate(root.findall("part-list/score-part"), 1):
        old, new = listed.get("id"), f"P{number}"
        listed.set("id", new)
        for part in root.findall("part"):
            if part.get("id") == old:
                part.set("id", new + "-")  # kept apart from old names that are yet to be looked for
        for place, instrument in enumerate(listed.findall("score-instrument"), 1):
            instruments[instrument.get("id")] = f"{new}-I{place}"
    for part in root.findall("part"):
        part.set("id", part.get("id").rstrip("-"))
    for element in root.iter("score-instrument", "midi-instrument", "midi-device", "instrument"):
        if element.get("id") in instruments:
            element.set("id", instruments[element.get("id")])
