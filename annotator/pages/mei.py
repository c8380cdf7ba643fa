"""The engraver's own document of a score (MEI): had from the engraver, and what goes into it before pages are drawn.

Conventions
-----------
* A carrier makes the engraver keep room where our bracket will stand: above the staff a bracket, below it a direction with a line. It is
  taken off the page afterwards (``CLASS`` tells it), and where it stood tells where our bracket best stands.
* A *stretch* goes from one note of a staff to another, or to the end of the first one's bar. Widths are in the page's drawing units.
* Bars are counted from 0, staves through all parts from 1; notes are known by number.

Rule
----
A carrier stands in the bar of its first note. The engraver ignores one whose end is not after its start, and those across parts: a
figure of one moment gets a short direction instead; the rest find their place without.

No text may be wider than its bracket. Where even the shortest wording is, the engraver is given two unseen chord symbols, at the first and
at the last note: it keeps chord symbols apart, so the first one, as wide as the words, pushes the notes between them apart.
The bar then counts as so much wider when the systems are chosen.

Source: measured (Verovio 6); element and attribute names are those of MEI (bracketSpan, dir, harm, fing, accid, pgHead).
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from lxml import etree

from annotator.marks.marking import Mark
from annotator.marks.style import Style
from annotator.music.names import name_of
from annotator.music.score import Note
from annotator.pages.engraver import ask
from annotator.pages.paper import HeadLine, Paper
from annotator.pages.render_copy import PREFIX, RenderCopy, note_number, render_copy
from annotator.reading.document import Document
from annotator.words.phrases import note_name

MEI = "{http://www.music-encoding.org/ns/mei}"
CLASS = "room-keeper"
XML_ID = "{http://www.w3.org/XML/1998/namespace}id"

SIGNS = {-2: "ff", -1: "f", 0: "n", 1: "s", 2: "x"}
"""What MEI calls an accidental, by the semitones it alters."""

LETTER, POINTS = "n", 6.0
LETTER_WIDTH = 0.5 * POINTS * 35.28
"""What the unseen symbols are made of: half an em wide in any Times, one point is 35.28 hundredths of a millimetre."""


def page_options(style: Style, paper: Paper) -> dict[str, Any]:
    """Return what the engraver is told of style and paper, for the import as for the pages."""
    return {
        "pageWidth": paper.width,
        "pageHeight": paper.height,
        "unit": style.unit,
        "spacingLinear": style.spacing_linear,
        "spacingNonLinear": style.spacing_nonlinear,
        "footer": "none",
    }


class Import:
    """An unmarked document that the engraver takes in once for all its pages. Raises an ``EngraverError`` if it must not see it."""

    def __init__(self, document: Document, style: Style, paper: Paper, copy: RenderCopy | None = None) -> None:
        """Make the copy that the engraver is given, unless it is there already."""
        self.copy: RenderCopy = copy or render_copy(document)
        self._document, self._look = document, page_options(style, paper)

    def in_look(self, style: Style, paper: Paper) -> Import:
        """Return the import of the same in a look: this one, if it is in that look, else a new one."""
        return self if self._look == page_options(style, paper) else Import(self._document, style, paper, self.copy)

    @cached_property
    def answer(self) -> dict[str, Any]:
        """What the engraver answers: its own document (``mei``) and the score as one long system (``strip``)."""
        options = self._look | {"breaks": "none", "xmlIdSeed": 1, "adjustPageWidth": True, "header": "none"}
        return ask("import", self.copy.text, options, len(self.copy.printed))


def _homes(mei: Any) -> dict[int, Any]:
    """Return the measure of each note of an MEI tree."""
    return {note_number(note.get(XML_ID)): measure for measure in mei.iter(MEI + "measure") for note in measure.iter(MEI + "note")}


def carrier_id(index: int) -> str:
    """Return the id of the carrier of the mark at that index."""
    return f"room-{index}"


def add_carriers(mei: Any, marks: Sequence[Mark], first_staff: Mapping[str, int]) -> None:
    """Put a carrier for each mark into an MEI tree. ``first_staff`` is the number of the first staff of each part."""
    home = _homes(mei)
    for index, mark in enumerate(marks):
        if mark.first.number in home and mark.last.number in home:
            home[mark.first.number].append(_carrier(index, mark, first_staff.get(mark.part, 1) + mark.staff - 1))


def _carrier(index: int, mark: Mark, staff: int) -> Any:
    common = {XML_ID: carrier_id(index), "type": CLASS, "staff": str(staff), "startid": f"#{PREFIX}{mark.first.number}"}
    one_moment = mark.last.tick <= mark.first.tick
    if not one_moment:
        common["endid"] = f"#{PREFIX}{mark.last.number}"
    if mark.side == "above" and not one_moment:
        ends = {"func": "analytical", "lform": "solid", "lstartsym": "angledown", "lendsym": "angledown"}
        return etree.Element(MEI + "bracketSpan", common | ends)
    direction = etree.Element(MEI + "dir", common | {"place": mark.side})
    if not one_moment:
        direction.set("extender", "true")
    etree.SubElement(direction, MEI + "rend", {"fontsize": "7pt"}).text = "Ag"
    return direction


def add_note_names(mei: Any, marks: Sequence[Mark], anchors: frozenset[int], first_staff: Mapping[str, int], language: str) -> None:
    """Let the engraver write its name beside each anchor, as it writes fingerings, on the side of the bracket.

    Those of a chord all belong to one of its notes: the engraver stacks them, from the staff outwards, only where they stand at one place.
    """
    home = _homes(mei)
    stacks: dict[tuple[int, int, str], list[Note]] = {}
    done: set[int] = set()
    for mark in marks:
        for note in mark.notes:
            if note.number in anchors - done and note.number in home and note.continues is None:
                done.add(note.number)
                staff = first_staff.get(mark.part, 1) + note.staff - 1
                stacks.setdefault((staff, note.tick, mark.side), []).append(note)
    for (staff, _, side), notes in stacks.items():
        first = notes[0].number
        attributes = {"startid": f"#{PREFIX}{first}", "place": side, "staff": str(staff), "type": "note-name"}
        for note in sorted(notes, key=lambda each: each.pitch.diatonic, reverse=side == "below"):
            etree.SubElement(home[first], MEI + "fing", attributes).text = note_name(name_of(note.pitch), language)


def add_signs(mei: Any, signs: Mapping[int, int]) -> None:
    """Put courtesy signs into an MEI tree; ``signs`` has the alteration of each note by its number."""
    for note in mei.iter(MEI + "note"):
        alter = signs.get(note_number(note.get(XML_ID)))
        if alter is not None and alter in SIGNS:
            sign = note.find(MEI + "accid")
            sign = etree.SubElement(note, MEI + "accid") if sign is None else sign
            sign.set("accid", SIGNS[alter])


def set_head(mei: Any, lines: Sequence[HeadLine]) -> None:
    """Replace the page head by these lines, in the middle; no page foot."""
    for old in list(mei.iter(MEI + "pgHead", MEI + "pgFoot")):
        old.getparent().remove(old)
    definition = next(mei.iter(MEI + "scoreDef"), None)
    if definition is None or not lines:
        return
    head = etree.Element(MEI + "pgHead", {"func": "first"})
    for line in lines:
        drawn = etree.SubElement(head, MEI + "rend", {"halign": "center", "valign": "top", "fontsize": f"{line.points:g}pt"})
        if line.italic:
            drawn.set("fontstyle", "italic")
        drawn.text = line.text
    definition.insert(0, head)


def drop_labels(mei: Any) -> None:
    """Take the names of the instruments off an MEI tree."""
    for name in list(mei.iter(MEI + "label", MEI + "labelAbbr")):
        name.getparent().remove(name)


def set_breaks(mei: Any, first_bars: Sequence[int], pages: Collection[int] = ()) -> tuple[str, ...]:
    """Take all breaks out of an MEI tree and put one before each bar of these indexes: a page break before those of ``pages``.

    Returns the ids of the bars that begin a system, the first among them.
    """
    for old in list(mei.iter(MEI + "sb", MEI + "pb")):
        old.getparent().remove(old)
    starts = {index: bar for index, bar in enumerate(mei.iter(MEI + "measure")) if index in {0, *first_bars}}
    for index, bar in starts.items():
        parent: Any = bar.getparent()
        opens = parent.tag == MEI + "ending" and next(parent.iterchildren(MEI + "measure")) is bar  # then the break goes before the ending
        if index:
            (parent if opens else bar).addprevious(etree.Element(MEI + ("pb" if index in pages else "sb")))
    return tuple(bar.get(XML_ID, "") for bar in starts.values())


@dataclass(frozen=True, slots=True)
class Stretch:
    """From the note numbered ``first`` to ``last`` (0: to the end of its bar): how wide it must be, and how much of that its bar lacks.

    ``staff`` counts through all parts from 1, ``side`` is the side of the staff the bracket is on.
    """

    first: int
    last: int
    staff: int
    side: str
    width: float
    missing: float


Stretches = Mapping[tuple[int, int], Stretch]


def with_more(known: Stretches, found: Iterable[Stretch]) -> dict[tuple[int, int], Stretch]:
    """Return the stretches known with those found too narrow; one that was known and is not wide enough asks for more."""
    together = dict(known)
    for each in found:
        before = together.get((each.first, each.last))
        if before is None:
            together[each.first, each.last] = each
        else:
            width, missing = max(each.width, before.width) + each.missing, before.missing + each.missing
            together[each.first, each.last] = replace(each, width=width, missing=missing)
    return together


def widen(mei: Any, stretches: Stretches) -> None:
    """Put what keeps the ends of each stretch apart into an MEI tree; it is taken off the page with the carriers."""
    home = _homes(mei) if stretches else {}
    for stretch in stretches.values():
        for number, letters in ((stretch.first, math.ceil(stretch.width / LETTER_WIDTH)), (stretch.last, 1)):
            if number in home:
                where = {"startid": f"#{PREFIX}{number}", "staff": str(stretch.staff), "place": stretch.side, "type": CLASS}
                symbol = etree.SubElement(home[number], MEI + "harm", where)
                etree.SubElement(symbol, MEI + "rend", {"fontsize": f"{POINTS:g}pt", "halign": "left"}).text = LETTER * letters
