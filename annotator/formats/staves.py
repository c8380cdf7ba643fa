"""Two parts that are one piano's hands, made into one part with two staves, as a piano is written.

Conventions
-----------
* ``groups`` names, for each staff from the top, the places of the parts that stand on it; the first part takes in all others.
* Bar by bar: the first part's content, then each other part's behind a backup, with its staff and voices of their own.
* What holds for the whole instrument is kept once: meter, key, barlines, tempo. Clefs are kept for each staff.

Source: MusicXML 4.0, ``note``, ``attributes``, ``backup`` (order of children; ``staves``, ``clef`` with its number).
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import deepcopy
from typing import Any

from lxml import etree

_BEHIND_VOICE = frozenset(
    {"type", "dot", "accidental", "time-modification", "stem", "notehead", "notehead-text", "staff", "beam", "notations", "lyric"}
)
_BEHIND_STAFF = frozenset({"beam", "notations", "lyric", "play", "listen", "sound", "listening"})
_BEFORE_STAVES = frozenset({"footnote", "level", "divisions", "key", "time"})
_ONCE = frozenset({"barline", "print", "sound"})


def join_staves(root: Any, groups: Sequence[Sequence[int]]) -> None:
    """Make the parts of the groups one part, in place."""
    parts = root.findall("part")
    first = parts[groups[0][0]]
    members = [(staff, parts[place]) for staff, group in enumerate(groups, 1) for place in group]
    voices: dict[tuple[str, str], str] = {}
    for index, bar in enumerate(first.findall("measure")):
        clefs: list[Any] = []
        for staff, part in members:
            bars = part.findall("measure")
            if index >= len(bars):
                continue
            content = list(bar) if part is first else [deepcopy(element) for element in bars[index]]
            length = _advance(bar) if part is not first else 0
            if part is not first:
                content = [element for element in content if _belongs(element)]
                _append(bar, content, length)
            for element in content:
                _place(element, staff, part.get("id"), voices)
            clefs += _opening_clefs(bar, content, part is first)
        _set_attributes(bar, clefs, len(groups) if index == 0 else 0)
    for _, part in members[1:]:
        root.remove(part)
    _tidy_list(root, first.get("id"), [part.get("id") for _, part in members[1:]])


def _advance(bar: Any) -> int:
    """Return where in a bar its content ends, in divisions."""
    place = 0
    for element in bar:
        lasting = int(element.findtext("duration") or 0)
        if element.tag == "backup":
            place -= lasting
        elif element.tag == "forward" or (element.tag == "note" and element.find("chord") is None):
            place += lasting
    return place


def _belongs(element: Any) -> bool:
    """Return whether an element of a further part goes into the joined one."""
    if element.tag in _ONCE or not isinstance(element.tag, str):
        return False
    return not (element.tag == "direction" and (element.find(".//metronome") is not None or element.find("sound[@tempo]") is not None))


def _append(bar: Any, content: Sequence[Any], length: int) -> None:
    """Put content behind what a bar holds, from the bar's beginning on; a closing barline stays last."""
    closing = next((element for element in reversed(bar) if element.tag == "barline" and element.get("location") != "left"), None)
    at = len(bar) if closing is None else bar.index(closing)
    if length > 0:
        backup = etree.Element("backup")
        etree.SubElement(backup, "duration").text = str(length)
        bar.insert(at, backup)
        at += 1
    for element in content:
        bar.insert(at, element)
        at += 1


def _place(element: Any, staff: int, part: str, voices: dict[tuple[str, str], str]) -> None:
    """Give an element its staff, and a note its voice among those of the whole instrument."""
    if element.tag in ("note", "forward"):
        voice = element.find("voice")
        key = (part, "1" if voice is None else voice.text or "1")
        if voice is None and element.tag == "note":
            voice = _insert(element, "voice", _BEHIND_VOICE)
        if voice is not None:
            voice.text = voices.setdefault(key, str(len(voices) + 1))
    if element.tag in ("note", "direction", "harmony"):
        there = element.find("staff")
        (_insert(element, "staff", _BEHIND_STAFF) if there is None else there).text = str(staff)
    elif element.tag == "attributes":
        for clef in element.findall("clef"):
            clef.set("number", str(staff))
    for instrument in element.findall("instrument"):
        element.remove(instrument)


def _insert(element: Any, tag: str, behind: frozenset[str]) -> Any:
    """Insert a child before the first that must stand behind it."""
    child = etree.Element(tag)
    at = next((place for place, other in enumerate(element) if other.tag in behind), len(element))
    element.insert(at, child)
    return child


def _opening_clefs(bar: Any, content: Sequence[Any], is_first: bool) -> list[Any]:
    """Take the clefs that open a bar out of their attributes; drop the rest of a further part's attributes."""
    clefs: list[Any] = []
    opened = False
    for element in content:
        if element.tag != "attributes":
            opened = opened or element.tag in ("note", "forward")
            continue
        own = element.findall("clef")
        if not opened:
            for clef in own:
                element.remove(clef)
                clefs.append(clef)
        if not is_first:
            for child in list(element):
                if child.tag != "clef":
                    element.remove(child)
        if not len(element):
            bar.remove(element)
    return clefs


def _set_attributes(bar: Any, clefs: Sequence[Any], staves: int) -> None:
    """Write the number of staves and the opening clefs into the attributes at the beginning of a bar."""
    if not staves and not clefs:
        return
    opening = next((element for element in bar if element.tag in ("attributes", "note", "forward")), None)
    if opening is None or opening.tag != "attributes":
        opening = etree.Element("attributes")
        first = next((place for place, element in enumerate(bar) if element.tag not in ("print", "barline")), len(bar))
        bar.insert(first, opening)
    if staves:
        child = etree.Element("staves")
        child.text = str(staves)
        opening.insert(next((place for place, one in enumerate(opening) if one.tag not in _BEFORE_STAVES), len(opening)), child)
    at = next((place for place, one in enumerate(opening) if one.tag in ("staff-details", "transpose")), len(opening))
    for step, clef in enumerate(sorted(clefs, key=lambda clef: int(clef.get("number")))):
        opening.insert(at + step, clef)


def _tidy_list(root: Any, kept: str, gone: Sequence[str]) -> None:
    """Take the parts that are gone, and all brackets around parts, out of the part list."""
    listed = root.find("part-list")
    for entry in list(listed):
        if entry.tag == "part-group" or entry.get("id") in gone:
            listed.remove(entry)
    name = listed.find(f"score-part[@id='{kept}']/part-name")
    if name is not None and not (name.text or "").strip():
        name.text = "Piano"
