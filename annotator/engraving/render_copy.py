"""The copy of a score that the engraver gets: the music as it is, with ids one can rely on.

Conventions
-----------
* A ``<note>`` is known by its number among all of the document's (rests counted, from 1, in document order, before anything is moved).
  In the copy its id is ``note-`` + number; all other ids of single elements are dropped. Names such as ``note-12`` cannot be confused
  with those the engraver makes up.
* On the page a note gets the source's own id where that is a plain XML name and used once, else ``n`` + number.

Rule
----
Values that are known to kill the engraver are refused before it sees them: a lower number of the time signature that is not 1, 2, 4 …
128, a number of staves that is not 1–8. A note longer than any note is (it takes gigabytes) loses its duration: its shape tells it. A
timewise score is turned into a partwise one, since the engraver draws a blank page of it.

Source: what kills the engraver was measured; the two layouts of a score are in the MusicXML 4.0 specification.
"""

from __future__ import annotations

import copy
import re
from collections import Counter
from dataclasses import dataclass
from typing import Any

from lxml import etree

from annotator.errors import EngraverError
from annotator.reading.document import Document
from annotator.reading.limits import LIMITS

PREFIX = "note-"
BEAT_TYPES = frozenset({"1", "2", "4", "8", "16", "32", "64", "128"})
MOST_STAVES = 8
MOST_QUARTERS = 4 * LIMITS.whole_notes
_PLAIN = re.compile(r"[A-Za-z_][A-Za-z0-9_.-]*")


@dataclass(frozen=True, slots=True)
class RenderCopy:
    """The copy, and what is known of its notes.

    ``text`` is the copy as MusicXML; ``printed`` the numbers of the notes that must be seen on the pages, ``names`` the id on the page of
    each note by number, ``staves`` the number of staves of each part by id, in order.
    """

    text: str
    printed: frozenset[int]
    names: dict[int, str]
    staves: dict[str, int]


def render_copy(document: Document) -> RenderCopy:
    """Make the copy of a document; the document stays as it is."""
    root = copy.deepcopy(document.tree.getroot())
    notes = list(root.iter("note"))
    names = _page_names(notes)
    for element in root.iter(etree.Element):
        if element.tag not in ("part", "score-part", "score-instrument", "midi-instrument", "midi-device", "player"):
            element.attrib.pop("id", None)
    for number, note in enumerate(notes, 1):
        note.set("id", f"{PREFIX}{number}")
    _refuse_deadly(root)
    if root.tag == "score-timewise":
        root = _partwise(root)
    for part in root.iterchildren("part"):
        _drop_endless(part)
    printed = frozenset(number for number, note in enumerate(notes, 1) if _is_printed(note))
    staves = {part.get("id", ""): _staves(part) for part in root.iterchildren("part")}
    return RenderCopy(etree.tostring(root, encoding="unicode"), printed, names, staves)


def _page_names(notes: list[Any]) -> dict[int, str]:
    used = Counter(note.get("id") for note in notes)
    own = {
        number: note.get("id")
        for number, note in enumerate(notes, 1)
        if note.get("id") and used[note.get("id")] == 1 and _PLAIN.fullmatch(note.get("id"))
    }
    taken = set(own.values())
    names = {}
    for number in range(1, len(notes) + 1):
        name = own.get(number) or f"n{number}"
        while number not in own and name in taken:
            name = f"{name}-{number}"
        names[number] = name
        taken.add(name)
    return names


def _is_printed(note: Any) -> bool:
    return note.find("rest") is None and note.get("print-object") != "no"


def _refuse_deadly(root: Any) -> None:
    for element in root.iter("beat-type"):
        if (element.text or "").strip() not in BEAT_TYPES:
            raise EngraverError(f"cannot engrave a time signature over {(element.text or '').strip() or 'nothing'!r}")
    for time in root.iter("time"):
        if time.find("beats") is not None and time.find("beat-type") is None:
            raise EngraverError("cannot engrave a time signature without a lower number")
    for element in root.iter("staves"):
        text = (element.text or "").strip()
        if not (text.isdecimal() and 1 <= int(text) <= MOST_STAVES):
            raise EngraverError(f"cannot engrave a part of {text or 'no'} staves: 1 to {MOST_STAVES} will do")


def _drop_endless(part: Any) -> None:
    """Drop the durations of a part that are beyond what reading takes for a duration."""
    divisions = 1.0
    for element in list(part.iter("divisions", "duration")):
        length = _number(element.text)
        if element.tag == "divisions":
            divisions = length if 0 < length <= LIMITS.divisions else divisions
        elif abs(length) > MOST_QUARTERS * divisions and element.getparent().tag == "note":
            element.getparent().remove(element)


def _number(text: str | None) -> float:
    try:
        return float(text or "")
    except ValueError:
        return 0.0


def _staves(part: Any) -> int:
    told = [int(element.text) for element in part.iter("staves")]
    return max(told, default=1)


def _partwise(root: Any) -> Any:
    made = etree.Element("score-partwise", root.attrib)
    parts: dict[str, Any] = {}
    for child in list(root):
        if child.tag != "measure":
            made.append(child)
            continue
        for piece in child.iterchildren("part"):
            part = parts.setdefault(piece.get("id", ""), etree.Element("part", {"id": piece.get("id", "")}))
            measure = etree.SubElement(part, "measure", child.attrib)
            measure.extend(list(piece))
    made.extend(parts.values())
    return made
