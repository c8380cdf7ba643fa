"""Covered notes on a page: heads, accidentals and their ledger lines taken off, courtesy signs put in.

Conventions: notes are known by number. What is taken off was there when the page was laid out, so that a covered page and its marked page
are alike in all else. A covered note has the class ``covered`` beside ``grey``. A note without a stem keeps its head, for nothing would be
left of it.

Source: where the engraver draws what was measured; element and attribute names are those of MEI (accid).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

from lxml import etree

from annotator.marks.covering import Covering, covering
from annotator.marks.marking import Markings
from annotator.music.score import Note, Score
from annotator.pages.carriers import MEI, XML_ID
from annotator.pages.greying import ledger_lines
from annotator.pages.shades import add_class, note_number
from annotator.pages.svg import SVG, classes

SIGNS = {-2: "ff", -1: "f", 0: "n", 1: "s", 2: "x"}


def covering_on(pages: Sequence[Any], markings: Markings, score: Score) -> Covering:
    """Return what is covered where the notes stand on these pages."""
    page_of = {
        note_number(group): number for number, page in enumerate(pages) for group in page.iter(SVG + "g") if "note" in classes(group)
    }

    def on_one_page(notes: Iterable[Note]) -> bool:
        """Return whether these notes stand on one page."""
        return len({page_of.get(note.number) for note in notes}) == 1

    return covering(markings.figures, markings.grey, score, on_one_page)


def add_signs(mei: Any, signs: Mapping[int, int]) -> None:
    """Put courtesy signs into the engraver's document; ``signs`` has the alteration of each note by its number."""
    if not signs:
        return
    for note in mei.iter(MEI + "note"):
        alter = signs.get(note_number(note.get(XML_ID, "")))
        if alter is not None and alter in SIGNS:
            sign = note.find(MEI + "accid")
            sign = etree.SubElement(note, MEI + "accid") if sign is None else sign
            sign.set("accid", SIGNS[alter])


def take_heads_off(page: Any, covered: Collection[int], staff_of: Mapping[int, int]) -> None:
    """Take off a page what is covered."""
    groups = [group for group in page.iter(SVG + "g") if "note" in classes(group) and note_number(group) in covered and _has_stem(group)]
    bare = {note_number(group) for group in groups}
    for measure in page.iter(SVG + "g"):
        if "measure" in classes(measure):
            for path, heads in ledger_lines(measure, staff_of):
                if heads and all(head.number in bare for head in heads):
                    path.getparent().remove(path)
    for group in groups:
        add_class(group, "covered")
        for part in list(group):
            if {"notehead", "accid"} & set(classes(part)):
                group.remove(part)


def _has_stem(note: Any) -> bool:
    """Return whether a note, or the chord that it is of, has a stem."""
    chord = note.getparent()
    homes = (note, chord) if "chord" in classes(chord) else (note,)
    return any("stem" in classes(child) and len(child) for home in homes for child in home)
