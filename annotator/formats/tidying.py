"""What the converter writes, tidied: the same source gives the same text on any day, and nothing is named after the converter.

Conventions
-----------
* Parts are called P1, P2 …, instruments P1-I1 …; the converter makes such names by chance. The day of conversion is taken out.
* Bars are counted from 1, or from 0 where the first is a pickup, if the converter's count begins otherwise.
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
    _count_bars(root)
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


def _count_bars(root: Any) -> None:
    """Let the first bar be 0 if it is a pickup, else 1."""
    for part in root.findall("part"):
        bars = part.findall("measure")
        numbers = [bar.get("number", "") for bar in bars]
        if not bars or numbers[0] not in ("0", "1") or any(not number.isdecimal() for number in numbers):
            continue
        first = "0" if _is_pickup(bars[0]) else "1"
        if numbers[0] != first:
            for bar in bars:
                bar.set("number", str(int(bar.get("number")) + int(first) - int(numbers[0])))
        if first == "0":
            bars[0].set("implicit", "yes")


def _is_pickup(bar: Any) -> bool:
    """Return whether a bar is shorter than its meter."""
    divisions, beats, beat_type = (
        bar.findtext(f"attributes/{path}") or "" for path in ("divisions", "time/beats", "time/beat-type")
    )
    if not (divisions.isdecimal() and beats.isdecimal() and beat_type.isdecimal() and int(beat_type)):
        return False
    return 0 < end_of(bar) < int(divisions) * int(beats) * 4 // int(beat_type)


def end_of(bar: Any) -> int:
    """Return where the content of a bar ends at most, in divisions."""
    place = furthest = 0
    for element in bar:
        lasting = int(element.findtext("duration") or 0)
        if element.tag == "backup":
            place -= lasting
        elif element.tag == "forward" or (element.tag == "note" and element.find("chord") is None):
            place += lasting
        furthest = max(furthest, place)
    return furthest
