"""Ties across the cut, and the accidentals that notes need which are struck now.

Rule
----
A tie loses its end where the note at its other end is not in the excerpt. What hangs in the source stays as it is, but for the first bar's
ties that come from nowhere (a second ending) and the last bar's that lead nowhere. A note that is no longer tied on shows its accidental,
and a later note of the same line or space shows its own where it differs.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from lxml import etree

from annotator.music.score import Note
from annotator.products.excerpts.section import Section

SIGNS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
BEHIND_ACCIDENTAL = (
    ("time-modification", "stem", "notehead", "notehead-text", "staff", "beam", "notations", "lyric", "play", "listen")
)


def mend_ties(section: Section) -> None:
    """Take away the ends of ties whose other end is cut off."""
    here = {number for number, note in section.pitched.items() if section.twin(note.element) is not None}
    leads_to = {origin: number for number, origin in section.continues.items()}
    first, last = section.taken.bars[0], section.taken.bars[-1]
    for number in sorted(here):
        note = section.pitched[number]
        origin, target = section.continues.get(number), leads_to.get(number)
        if note.tie_stop and origin not in here and (origin is not None or note.bar == first):
            _untie(section.twin(note.element), "stop")
            _show_sign(section, note)
        if note.tie_start and target not in here and (target is not None or note.bar == last):
            _untie(section.twin(note.element), "start")


def _untie(note: Any, end: str) -> None:
    """Take one end of a tie from a note."""
    other = "start" if end == "stop" else "stop"
    for parent, tag in ((note, "tie"), *((notations, "tied") for notations in note.findall("notations"))):
        for tie in parent.findall(tag):
            if tie.get("type") == end:
                parent.remove(tie)
            elif tie.get("type") == "continue":
                tie.set("type", other)
    drop_empty_notations(note)


def _show_sign(section: Section, note: Note) -> None:
    """Print the accidental of a note that was tied on, where the key does not give it."""
    bar = section.taken.part.bars[note.bar]
    pitch = note.pitch
    twin = section.twin(note.element)
    if pitch.alter == bar.alter(note.staff, pitch.step, pitch.octave, note.tick, note.key) or twin.find("accidental") is not None:
        return
    _set_sign(twin, note)
    later = [
        other
        for other in section.pitched.values()
        if (other.bar, other.staff, other.pitch.diatonic) == (note.bar, note.staff, pitch.diatonic) and other.tick > note.tick
    ]
    _answer(section, pitch.alter, sorted(later, key=lambda other: (other.tick, other.number)))


def _answer(section: Section, alter: object, later: Iterable[Note]) -> None:
    """Let the next note of the same line or space say that it is another, if nothing says so."""
    for other in later:
        twin = section.twin(other.element)
        if twin is not None and twin.find("accidental") is None and other.pitch.alter != alter:
            _set_sign(twin, other)
        return


def _set_sign(twin: Any, note: Note) -> None:
    if note.pitch.alter in SIGNS:
        sign = etree.Element("accidental")
        sign.text = SIGNS[int(note.pitch.alter)]
        insert_before_first(twin, sign, BEHIND_ACCIDENTAL)


def insert_before_first(parent: Any, child: Any, behind: Iterable[str]) -> None:
    """Put a child before the first of those that must stand behind it, else at the end."""
    following = next(iter(parent.iterchildren(*behind)), None)
    if following is None:
        parent.append(child)
    else:
        following.addprevious(child)


def drop_empty_notations(note: Any) -> None:
    """Take out what holds no notation any more."""
    for notations in note.findall("notations"):
        for ornaments in notations.findall("ornaments"):
            if not len(ornaments):
                notations.remove(ornaments)
        if not len(notations):
            note.remove(notations)
