"""The copy of a score that the engraver gets: the music as it is, with ids one can rely on.

Conventions
-----------
* A ``<note>`` is known by its number among all of the document's (rests counted, from 1, in document order, before anything is moved).
  In the copy its id is ``note-`` + number; all other ids of single elements are dropped. Names such as ``note-12`` cannot be confused
  with those the engraver makes up.
* On the page a note gets the source's own id where that is a plain XML name and used once, else ``n`` + number.
* Parts are called ``part-1`` … and the part list is ours: their names and groups, and a brace around two parts that are one piano.
* What the reader repairs is repaired: a chord note without a note before it is no chord note. Measure styles (repeat signs in place of
  notes, slashes) are left out, for the notes are there.

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
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from lxml import etree

from annotator.errors import EngraverError
from annotator.reading.document import LIMITS, Document
from annotator.reading.notes import decimal
from annotator.reading.parts import as_partwise, part_headers, piano_pairs

PREFIX = "note-"
BEAT_TYPES = frozenset({"1", "2", "4", "8", "16", "32", "64", "128"})
MOST_STAVES = 8
MOST_QUARTERS = 4 * LIMITS.whole_notes
_MACHINE_TEXT = re.compile(
    r"\s*(?:(?:creator|title|composer|lyricist|arranger|encoder|editor|rights|copyright|source|software|date|language)\s*:.*|[⚠❗❓❌✖�\ufe0f]+)\s*",
    re.IGNORECASE | re.DOTALL,
)
_PLAIN = re.compile(r"[A-Za-z_][A-Za-z0-9_.-]*")


def note_number(name: str | None) -> int:
    """Return the number of the note that an id of the copy (``note-12``), or a reference to it (``#note-12``), stands for; 0 if none."""
    number = (name or "").removeprefix("#").removeprefix(PREFIX)
    return int(number) if number.isdecimal() and (name or "").lstrip("#").startswith(PREFIX) else 0


@dataclass(frozen=True, slots=True)
class RenderCopy:
    """The copy, and what is known of its notes.

    ``text`` is the copy as MusicXML; ``printed`` the numbers of the notes that must be seen on the pages, ``names`` the id on the page of
    each note by number, ``staves`` the number of staves of each part by id, in order.
    ``left_out`` says what of the source is not on the pages.
    """

    text: str
    printed: frozenset[int]
    names: dict[int, str]
    staves: dict[str, int]
    left_out: tuple[str, ...] = ()


def render_copy(document: Document) -> RenderCopy:
    """Make the copy of a document; the document stays as it is."""
    root = copy.deepcopy(document.tree.getroot())
    pairs = piano_pairs(root, part_headers(root))
    notes = list(root.iter("note"))
    names = _page_names(notes)
    for element in root.iter(etree.Element):
        if element.tag not in ("part", "score-part"):
            element.attrib.pop("id", None)
        colour = element.get("color", "")
        if len(colour) == len("#AARRGGBB"):  # how much is seen through it is not for these pages, where SVG would read it from the end
            element.set("color", f"#{colour[3:]}")
    for number, note in enumerate(notes, 1):
        note.set("id", f"{PREFIX}{number}")
    _refuse_deadly(root)
    if root.tag == "score-timewise":
        root = as_partwise(root)
    for part in root.iterchildren("part"):
        _drop_endless(part)
        _mend(part)
    printed = frozenset(
        number for number, note in enumerate(notes, 1) if note.find("rest") is None and note.get("print-object") != "no"
    )
    parts = root.iterchildren("part")
    staves = {part.get("id", ""): max((int(element.text) for element in part.iter("staves")), default=1) for part in parts}
    _own_parts(root, pairs)
    left_out = _without_machine_words(root)
    return RenderCopy(etree.tostring(root, encoding="unicode"), printed, names, staves, left_out)


def _mend(part: Any) -> None:
    """Do in a part what the reader does, and leave out the styles that hide its notes."""
    for measure in part.iterchildren("measure"):
        for chord in list(measure.xpath("note[1]/chord")):
            chord.getparent().remove(chord)
    for needless in list(part.iter("measure-style", "instrument")):
        parent: Any = needless.getparent()
        parent.remove(needless)


def _without_machine_words(root: Any) -> tuple[str, ...]:
    """Take out what no player is meant to read, and lines that would never end; return a line for each kind, counted."""
    labels = [lyric for lyric in root.iter("lyric") if _MACHINE_TEXT.fullmatch("".join(lyric.itertext("text")))]
    signs = [words for words in root.iter("words") if _MACHINE_TEXT.fullmatch(words.text or "")]
    lines = _disordered(root)
    for each in labels:
        each.getparent().remove(each)
    for each in (*signs, *lines):
        kind = each.getparent()
        kind.remove(each)
        if not len(kind):
            kind.getparent().remove(kind)
    for direction in [each for each in root.iter("direction") if each.find("direction-type") is None]:
        direction.getparent().remove(direction)
    return tuple(
        f"{what}: {len(found)}"
        for what, found in (("words for machines (metadata, warning signs)", labels + signs), ("lines that stop before they start", lines))
        if found
    )


def _disordered(root: Any) -> list[Any]:
    """Return the ends of brackets and dashes whose stops stand before their starts: such a line would be drawn on to the next stop."""
    ends: dict[tuple[Any, str, str], list[Any]] = {}
    for part in root.iterchildren("part"):
        for end in part.iter("bracket", "dashes"):
            if end.get("type") in ("start", "stop"):
                ends.setdefault((part, end.tag, end.get("number", "1")), []).append(end)
    return [end for found in ends.values() if found[0].get("type") == "stop" for end in found]


def _own_parts(root: Any, pairs: Mapping[str, str]) -> None:
    """Give the parts ids and a list of our own; ``pairs`` are the parts that are one piano, the lower by the upper."""
    ids = {part.get("id", ""): f"part-{place}" for place, part in enumerate(root.iterchildren("part"), 1)}
    for part in root.iterchildren("part"):
        part.set("id", ids[part.get("id", "")])
    old = root.find("part-list")
    listed = {each.get("id", ""): each for each in reversed(root.findall("part-list/score-part"))}
    groups = () if old is None else _groups(old, pairs)
    made = etree.Element("part-list")
    alone = len(ids) == 2 and bool(pairs)
    for name, new in ids.items():
        made.extend(group for group, before in groups if before == name and group.get("type") == "start")
        if name in pairs:
            _brace(made, "start")
        part = etree.SubElement(made, "score-part", {"id": new})
        for tag in ("part-name", "part-name-display", "part-abbreviation", "part-abbreviation-display"):
            told = listed[name].find(tag) if name in listed and not alone else None
            if told is not None:
                part.append(told)
            elif tag == "part-name":
                etree.SubElement(part, tag)
        if name in pairs.values():
            _brace(made, "stop")
        made.extend(group for group, after in groups if after == name and group.get("type") == "stop")
    if old is not None:
        root.remove(old)
    next(root.iterchildren("part")).addprevious(made)


def _brace(listed: Any, kind: str) -> None:
    """Begin or end a brace around two parts in a part list."""
    group = etree.SubElement(listed, "part-group", {"type": kind, "number": "piano"})
    if kind == "start":
        etree.SubElement(group, "group-symbol").text = "brace"
        etree.SubElement(group, "group-barline").text = "yes"


def _groups(listed: Any, pairs: Mapping[str, str]) -> list[tuple[Any, str]]:
    """Return the part groups of a list but those around one piano: a start with the part behind it, a stop with that before it."""
    found: list[tuple[Any, str]] = []
    starts: dict[str, tuple[Any, list[str]]] = {}
    for child in listed:
        number = child.get("number", "1")
        if child.tag == "score-part":
            for _, members in starts.values():
                members.append(child.get("id", ""))
        elif child.tag == "part-group" and child.get("type") == "start":
            starts[number] = (child, [])
        elif child.tag == "part-group" and number in starts:
            start, members = starts.pop(number)
            if members and (len(members) != 2 or pairs.get(members[0]) != members[1]):
                found += [(start, members[0]), (child, members[-1])]
    return sorted(found, key=lambda each: int(listed.index(each[0])))


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
    """Drop the durations of a part that are no number, or beyond what reading takes for a duration."""
    divisions = Fraction(1)
    for element in list(part.iter("divisions", "duration")):
        length = decimal(element.text)
        if element.tag == "divisions":
            divisions = length if length is not None and 0 < length <= LIMITS.divisions else divisions
        elif (length is None or abs(length) > MOST_QUARTERS * divisions) and element.getparent().tag == "note":
            element.getparent().remove(element)
