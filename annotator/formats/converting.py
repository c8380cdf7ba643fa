"""A source in another format made into the text of a MusicXML score, and what there is to tell about it.

Rule
----
The converter is asked from outside, under limits of time and memory, and not believed: its text goes through the same gate as any file, and
the notes struck in it are held against those counted here in the source. If any is lost or added, the source is refused: a copy that leaves
out notes is worse than none.

Conventions
-----------
* Counted are the notes struck: heads without those tied on. Grace notes count. None where the source can be read in more than one way, so
  that no one number is right (variants in MEI).

Source: the Humdrum guide (spine paths; ``_`` and ``]`` in ties); MEI 4, attribute class ``att.tie``. Limits are ours: a thousand notes take
about a second on an old machine, and a source has ten bytes or more a note.
"""

from __future__ import annotations

import re
import sys
from collections import defaultdict
from collections.abc import Callable, Sequence
from typing import Any

from lxml import etree

from annotator.errors import ScoreError
from annotator.formats import NAMES, VOICES_A_STAFF, Source, text_of
from annotator.formats.abc_tunes import first_tune
from annotator.processes import child

BASE_SECONDS, MOST_SECONDS = 20.0, 300.0
BYTES_A_SECOND = 2_500
MEGABYTES = 1_500
LARGEST = 4 << 20
"""Bytes of a source in another format; a long sonata has a tenth of it."""

CONVERTER = (sys.executable, "-m", "annotator.formats.converter")
"""The command that runs the converter."""

ANSWER = {"text": str, "by": str, "told": list}

_NO_LETTER = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
"""What no XML document may hold, and the title of a source may: it is left out."""

_KERN_NOTE = re.compile(r"[A-Ga-g]")
_VARIANTS = ("app", "choice", "ossia", "subst", "orig", "rdg")

Gate = Callable[[bytes], Any]
"""The one gate: from bytes to the root of a MusicXML document, or a ``ScoreError``."""


def convert(kind: str, given: Any, gate: Gate) -> tuple[bytes, str]:
    """Return the MusicXML of a source of this format, and the line that says what it was converted from, by what, and what to mind.

    ``given`` are its bytes, or the root of an MEI document; ``gate`` is the reader's own, handed in so that reading knows of converting and
    not the other way round. Raises ``ScoreError``.
    """
    source = _SOURCES[kind](given)
    answer = ask(kind, source)
    root = gate(_NO_LETTER.sub("", answer["text"]).encode())
    if root.tag != "score-partwise" or root.find("part-list") is None:
        raise ScoreError("the converter's answer is no score: save it as MusicXML")
    _tidy(root)
    _compare(answer.get("struck") if kind == "midi" else source.struck, root)
    text = etree.tostring(root, encoding="UTF-8", xml_declaration=True, doctype=root.getroottree().docinfo.doctype)
    told = (f"converted from {NAMES[kind]} to MusicXML by {answer['by']}", *source.told, *(str(line) for line in answer["told"]))
    return text, "; ".join(" ".join(line.split()) for line in told)


def ask(kind: str, source: Source, command: Sequence[str] = CONVERTER) -> dict[str, Any]:
    """Have a source of this format converted in a process of its own, and return the answer. Raises ``ScoreError``."""
    size = len(source.data)
    if size > LARGEST:
        raise ScoreError(f"more than the limit of {LARGEST} bytes for a score to be converted")
    try:
        answer = child.ask(command, source.job(kind), min(MOST_SECONDS, BASE_SECONDS + size / BYTES_A_SECOND), MEGABYTES)
    except child.ChildRefused as error:
        raise ScoreError(str(error)) from error
    except child.ChildFailed as error:
        raise ScoreError(f"the converter {error}: save the score as MusicXML") from error
    if not all(isinstance(answer.get(name), kind) for name, kind in ANSWER.items()):
        raise ScoreError("the converter gave an answer that cannot be read: save the score as MusicXML")
    return answer


def _kern(data: bytes) -> Source:
    text = text_of(data).replace("\r\n", "\n").replace("\r", "\n")
    last = next((line for line in reversed(text.splitlines()) if line.strip() and not line.startswith("!")), "")
    if not last.startswith("*-"):
        raise ScoreError("this kern file breaks off: its spines do not end (*-); get it again")
    return Source(text.encode(), struck_in_kern(text))


_SOURCES: dict[str, Callable[[Any], Source]] = {
    "midi": lambda data: Source(data, told=("MIDI names no notes, rests or hands: these are a guess",)),
    "kern": _kern,
    "abc": lambda data: first_tune(text_of(data)),
    "mei": lambda root: Source(etree.tostring(root, encoding="UTF-8"), struck_in_mei(root), _braced(root)),
}


def struck_in_kern(text: str) -> int:
    r"""Return the notes struck in all ``**kern`` spines.

    >>> struck_in_kern("**kern\t**dynam\n4c 4e\tf\n[4g\t.\n4g]\t.\n*-\t*-\n")
    3
    """
    spines: list[bool] = []
    count = 0
    for line in text.splitlines():
        cells = line.split("\t")
        if line.startswith("**"):
            spines = [cell == "**kern" for cell in cells]
        elif line.startswith("*"):
            spines = _paths(spines, cells)
        elif line and line[0] not in "!=":
            for cell, is_kern in zip(cells, spines, strict=False):
                if is_kern:
                    count += sum(bool(_KERN_NOTE.search(one)) and not set("_]r") & set(one) for one in cell.split())
    return count


def _paths(spines: list[bool], cells: Sequence[str]) -> list[bool]:
    """Return which spines hold kern below a line of interpretations: spines split, join, change places and end."""
    below: list[bool] = []
    joining = False
    for place, (cell, is_kern) in enumerate(zip(cells, spines, strict=False)):
        if cell == "*v" and joining and below:
            continue
        joining = cell == "*v"
        if cell == "*^":
            below += [is_kern, is_kern]
        elif cell == "*x" and place and cells[place - 1] == "*x" and below:
            below.insert(len(below) - 1, is_kern)
        elif cell != "*-":
            below.append(is_kern)
    return below


def struck_in_mei(root: Any) -> int | None:
    """Return the notes struck in an MEI document; None where it holds variants."""
    if any(True for _ in root.iter(*(f"{{*}}{name}" for name in _VARIANTS))):
        return None
    tied = {tie.get("endid", "").lstrip("#") for tie in root.iter("{*}tie")} - {""}
    count = 0
    for note in root.iter("{*}note"):
        chord = next(note.iterancestors("{*}chord"), None)
        said = note.get("tie", "") + ("" if chord is None else chord.get("tie", ""))
        count += not (set("mt") & set(said) or note.get("{http://www.w3.org/XML/1998/namespace}id") in tied)
    return count


def _braced(root: Any) -> list[list[int]]:
    """Return the staves inside the first brace of an MEI document, by their places."""
    numbers = [staff.get("n") for staff in root.iter("{*}staffDef") if next(staff.iterancestors("{*}staffGrp"), None) is not None]
    places = {number: place for place, number in enumerate(dict.fromkeys(numbers))}
    for group in root.iter("{*}staffGrp"):
        symbol = group.find("{*}grpSym")
        if "brace" in (group.get("symbol"), None if symbol is None else symbol.get("symbol")):
            inside = list(dict.fromkeys(staff.get("n") for staff in group.iter("{*}staffDef")))
            if 2 <= len(inside) <= 4:
                return [[places[number]] for number in inside]
    return []


def _tidy(root: Any) -> None:
    """Take the day out of a converted score, and number the voices of each staff by their order in the bar, of a second staff from 5 on."""
    for day in list(root.iter("encoding-date")):
        day.getparent().remove(day)
    for bar in root.iter("measure"):
        voices: dict[str, list[str]] = defaultdict(list)
        for element in bar.iterchildren("note", "forward"):
            staff, voice = element.findtext("staff") or "1", element.find("voice")
            if voice is not None:
                if voice.text not in voices[staff]:
                    voices[staff].append(voice.text)
                voice.text = str(VOICES_A_STAFF * (int(staff) - 1) + voices[staff].index(voice.text) + 1)


def _compare(struck: int | None, root: Any) -> None:
    """Hold the notes struck in the score against those of the source."""
    found = sum(
        note.find("rest") is None and not any(tie.get("type") == "stop" for tie in note.findall("tie")) for note in root.iter("note")
    )
    if not found:
        raise ScoreError("no notes in it")
    if struck is not None and found != struck:
        raise ScoreError(f"the converter made {found} notes of the {struck} in it: save the score as MusicXML")
