"""A source in another format made into the text of a MusicXML score, and what there is to tell about it.

Rule
----
The converter is not believed: its text goes through the same gate as any file, and the notes struck in it are held against those counted
in the source. If any is lost or added, the source is refused: a copy that leaves out notes is worse than none.

Conventions
-----------
* Two parts of keyboards, or of no instrument, become one part with two staves, so that both hands are looked at; the source's own
  braces say it better where there are any.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from lxml import etree

from annotator.errors import ScoreError
from annotator.formats.abc_tunes import Tune, first_tune
from annotator.formats.asking import ask
from annotator.formats.counting import breaks_off, struck_in_abc, struck_in_kern, struck_in_mei
from annotator.formats.formats import NAMES, text_of
from annotator.formats.staves import join_staves
from annotator.formats.tidying import tidy

if TYPE_CHECKING:
    from annotator.reading.parts import PartHeader

_NO_LETTER = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
"""What no XML document may hold, and the title of a source may: it is left out."""

Gate = Callable[[bytes], Any]
"""The one gate: from bytes to the root of a MusicXML document, or a ``ScoreError``."""

Headers = Callable[[Any], "Mapping[str, PartHeader]"]
"""What the part list of a document says of its parts, in their order."""


@dataclass(frozen=True, slots=True)
class Converted:
    """A converted score: the bytes of its MusicXML, and the line that says what it was converted from, by what, and what to mind."""

    data: bytes
    notice: str


@dataclass(frozen=True, slots=True)
class _Source:
    """What is known of a source without the converter: what it is given, the notes struck, one piano's staves, clefs, lines to tell."""

    data: bytes
    struck: int | None = None
    staves: Sequence[Sequence[int]] = ()
    clefs: Sequence[tuple[str, int] | None] = ()
    names: Sequence[str] = ()
    told: tuple[str, ...] = ()


def convert(kind: str, data: bytes, gate: Gate, headers: Headers, mei: Any = None) -> Converted:
    """Return the MusicXML of a source of this format; ``mei`` is the root of an MEI document. Raises ``ScoreError``.

    ``gate`` and ``headers`` are the reader's own, handed in so that reading knows of converting and not the other way round.
    """
    source = {"midi": _midi, "kern": _kern, "abc": _abc}[kind](data) if kind != "mei" else _mei(mei)
    answer = ask(kind, source.data)
    root = gate(_NO_LETTER.sub("", answer["text"]).encode())
    if root.tag != "score-partwise" or root.find("part-list") is None:
        raise ScoreError("the converter's answer is no score: save it as MusicXML")
    tidy(root)
    _set_clefs_and_names(root, source)
    groups = _groups(root, headers, kind, source.staves or answer["hands"])
    if groups:
        join_staves(root, groups)
    _compare(answer.get("struck") if kind == "midi" else source.struck, root)
    text = etree.tostring(root, encoding="UTF-8", xml_declaration=True, doctype=root.getroottree().docinfo.doctype)
    told = (f"converted from {NAMES[kind]} to MusicXML by {answer['by']}", *source.told, *(str(line) for line in answer["told"]))
    return Converted(text, "; ".join(" ".join(line.split()) for line in told))


def _midi(data: bytes) -> _Source:
    return _Source(data, told=("MIDI names no notes, rests or hands: these are a guess",))


def _kern(data: bytes) -> _Source:
    text = text_of(data).replace("\r\n", "\n").replace("\r", "\n")
    if breaks_off(text):
        raise ScoreError("this kern file breaks off: its spines do not end (*-); get it again")
    return _Source(text.encode(), struck_in_kern(text))


def _abc(data: bytes) -> _Source:
    tune: Tune = first_tune(text_of(data))
    told = () if tune.tunes == 1 else (f"{tune.tunes} tunes in it, only the first is taken: put the others into files of their own",)
    return _Source(tune.text.encode(), struck_in_abc(tune.music), tune.staves, tune.clefs, tune.names, told)


def _mei(root: Any) -> _Source:
    return _Source(etree.tostring(root, encoding="UTF-8"), struck_in_mei(root), _braced(root))


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


def _set_clefs_and_names(root: Any, source: _Source) -> None:
    """Write into the score what the source says of a part and the converter leaves out: its name and its first clef."""
    for part, listed, clef, name in zip(
        root.findall("part"), root.findall("part-list/score-part"), source.clefs, source.names, strict=False
    ):
        if clef is not None and (first := part.find("measure/attributes/clef")) is not None:
            for child in list(first):
                first.remove(child)
            etree.SubElement(first, "sign").text = clef[0]
            etree.SubElement(first, "line").text = str(clef[1])
        shown = listed.find("part-name")
        if name and shown is not None:
            shown.text = name


def _groups(root: Any, headers: Headers, kind: str, staves: Sequence[Sequence[int]]) -> list[list[int]]:
    """Return the parts that are one piano's staves: as the source says, else two of keyboards, or two of which nothing is said."""
    count = len(root.findall("part"))
    said = [list(staff) for staff in staves if staff]
    members = [place for staff in said for place in staff]
    if len(said) > 1 and len(set(members)) == len(members) and all(isinstance(place, int) and place < count for place in members):
        return said
    if kind == "midi":
        return []
    parts = list(headers(root).values())
    keyboards = [place for place, part in enumerate(parts) if part.keyboard]
    nothing_said = count == 2 and all(not part.name.strip() or part.hand for part in parts)
    if nothing_said:
        return [[0], [1]]
    return [[keyboards[0]], [keyboards[1]]] if len(keyboards) == 2 and keyboards[1] == keyboards[0] + 1 else []


def _compare(struck: int | None, root: Any) -> None:
    """Hold the notes struck in the score against those of the source."""
    found = sum(
        note.find("rest") is None and not any(tie.get("type") == "stop" for tie in note.findall("tie")) for note in root.iter("note")
    )
    if not found:
        raise ScoreError("no notes in it")
    if struck is not None and found != struck:
        raise ScoreError(f"the converter made {found} notes of the {struck} in it: save the score as MusicXML")
