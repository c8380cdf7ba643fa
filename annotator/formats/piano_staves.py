"""What the converter writes, made a piano's score: tidied, and two parts that are one piano's hands in one part with two staves.

Conventions
-----------
* The same source gives the same text on any day, and nothing is named after the converter: parts are called P1, P2 …, instruments P1-I1 …;
  the day of conversion, and a title or author that it makes up where the source has none, are taken out. Bars are counted from 1, or from 0
  where the first is a pickup, if the converter's count begins otherwise.
* ``groups`` names, for each staff from the top, the places of the parts that stand on it; the first part takes in all others. Bar by bar:
  the first part's content, then each other part's behind a backup, with its staff and voices of their own.
* What holds for the whole instrument is kept once: meter, key, barlines, tempo. Clefs are kept for each staff.

Source: MusicXML 4.0, ``note``, ``attributes``, ``backup`` (order of children; ``staves``, ``clef`` with its number).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from lxml import etree

_MADE_UP = frozenset({"", "Music21 Fragment", "Music21"})
_BEHIND_STAFF = frozenset({"beam", "notations", "lyric", "play", "listen", "sound", "listening"})
_BEHIND_VOICE = _BEHIND_STAFF | {"type", "dot", "accidental", "time-modification", "stem", "notehead", "notehead-text", "staff"}
_BEHIND_STAVES = frozenset({"part-symbol", "instruments", "clef", "staff-details", "transpose"})
_BEHIND_CLEF = frozenset({"staff-details", "transpose"})
_ONCE = frozenset({"barline", "print", "sound"})


def tidy(root: Any) -> None:
    """Tidy a converted score in place."""
    for element in list(root.iter("encoding-date")):
        element.getparent().remove(element)
    instruments: dict[str, str] = {}
    for number, (listed, part) in enumerate(zip(root.findall("part-list/score-part"), root.findall("part"), strict=False), 1):
        listed.set("id", f"P{number}")
        part.set("id", f"P{number}")
        for place, instrument in enumerate(listed.findall("score-instrument"), 1):
            instruments[instrument.get("id")] = f"P{number}-I{place}"
        _count_bars(part.findall("measure"))
    for element in root.iter("score-instrument", "midi-instrument", "midi-device", "instrument"):
        if element.get("id") in instruments:
            element.set("id", instruments[element.get("id")])
    for path in ("work/work-title", "movement-title", "identification/creator"):
        for element in root.findall(path):
            if (element.text or "").strip() in _MADE_UP:
                element.getparent().remove(element)
    work = root.find("work")
    if work is not None and not len(work):
        root.remove(work)


def _count_bars(bars: Sequence[Any]) -> None:
    """Let the first bar of a part be 0 if it is a pickup, else 1."""
    numbers = [bar.get("number", "") for bar in bars]
    if not bars or numbers[0] not in ("0", "1") or any(not number.isdecimal() for number in numbers):
        return
    first = "0" if _is_pickup(bars[0]) else "1"
    for bar in bars if numbers[0] != first else ():
        bar.set("number", str(int(bar.get("number")) + int(first) - int(numbers[0])))
    if first == "0":
        bars[0].set("implicit", "yes")


def _is_pickup(bar: Any) -> bool:
    """Return whether a bar is shorter than its meter."""
    paths = ("divisions", "time/beats", "time/beat-type")
    divisions, beats, beat_type = (bar.findtext(f"attributes/{path}") or "" for path in paths)
    if not (divisions.isdecimal() and beats.isdecimal() and beat_type.isdecimal() and int(beat_type)):
        return False
    return 0 < max(_places(bar)) < int(divisions) * int(beats) * 4 // int(beat_type)


def _places(bar: Any) -> list[int]:
    """Return the places in time that the content of a bar comes to, in divisions, the last one last."""
    places = [0]
    for element in bar:
        lasting = int(element.findtext("duration") or 0)
        if element.tag == "backup":
            places.append(places[-1] - lasting)
        elif element.tag == "forward" or (element.tag == "note" and element.find("chord") is None):
            places.append(places[-1] + lasting)
    return places


def join_staves(root: Any, groups: Sequence[Sequence[int]]) -> None:
    """Make the parts of the groups one part, in place."""
    parts = root.findall("part")
    first = parts[groups[0][0]]
    members = [(staff, parts[place]) for staff, group in enumerate(groups, 1) for place in group]
    voices: dict[tuple[str, str], str] = {}
    columns = [part.findall("measure") for _, part in members]
    for index, bar in enumerate(columns[0]):
        clefs: list[Any] = []
        for (staff, part), bars in zip(members, columns, strict=True):
            if index >= len(bars):
                continue
            content = list(bars[index])
            if part is not first:
                content = [element for element in content if _belongs(element)]
                _append(bar, content)
            for element in content:
                _place(element, staff, part.get("id"), voices)
            clefs += _opening_clefs(bar, content, part is first)
        _set_attributes(bar, clefs, len(groups) if index == 0 else 0)
    for _, part in members[1:]:
        root.remove(part)
    _tidy_list(root.find("part-list"), first.get("id"), [part.get("id") for _, part in members[1:]])


def _belongs(element: Any) -> bool:
    """Return whether an element of a further part goes into the joined one."""
    if element.tag in _ONCE or not isinstance(element.tag, str):
        return False
    return not (element.tag == "direction" and (element.find(".//metronome") is not None or element.find("sound[@tempo]") is not None))


def _append(bar: Any, content: Sequence[Any]) -> None:
    """Put content behind what a bar holds, from the bar's beginning on; a closing barline stays last."""
    closing = next((element for element in reversed(bar) if element.tag == "barline" and element.get("location") != "left"), None)
    at, length = len(bar) if closing is None else bar.index(closing), _places(bar)[-1]
    if length > 0:
        backup = etree.Element("backup")
        etree.SubElement(backup, "duration").text = str(length)
        content = [backup, *content]
    bar[at:at] = content


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


def _insert(element: Any, child: Any, behind: frozenset[str]) -> Any:
    """Insert a child (or a new one of that name) before the first that must stand behind it, and return it."""
    made = etree.Element(child) if isinstance(child, str) else child
    element.insert(next((place for place, other in enumerate(element) if other.tag in behind), len(element)), made)
    return made


def _opening_clefs(bar: Any, content: Sequence[Any], is_first: bool) -> list[Any]:
    """Take the clefs that open a bar out of their attributes; drop the rest of a further part's attributes."""
    clefs: list[Any] = []
    opened = False
    for element in content:
        opened = opened or element.tag in ("note", "forward")
        if element.tag != "attributes":
            continue
        for child in list(element):
            opening = child.tag == "clef" and not opened
            clefs += [child] if opening else []
            if opening or (child.tag != "clef" and not is_first):
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
        bar.insert(next((place for place, element in enumerate(bar) if element.tag not in ("print", "barline")), len(bar)), opening)
    if staves:
        _insert(opening, "staves", _BEHIND_STAVES).text = str(staves)
    for clef in sorted(clefs, key=lambda clef: int(clef.get("number"))):
        _insert(opening, clef, _BEHIND_CLEF)


def _tidy_list(listed: Any, kept: str, gone: Sequence[str]) -> None:
    """Take the parts that are gone, and all brackets around parts, out of the part list."""
    for entry in list(listed):
        if entry.tag == "part-group" or entry.get("id") in gone:
            listed.remove(entry)
    name = listed.find(f"score-part[@id='{kept}']/part-name")
    if name is not None and not (name.text or "").strip():
        name.text = "Piano"
