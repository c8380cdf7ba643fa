"""The engraver's pages made into ours: notes checked and coloured, carriers taken out, brackets drawn, head and foot set.

Conventions
-----------
Everything happens on the parsed SVG of each page; the notes are known by their numbers until the page is written, and then get their own
ids.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lxml import etree

from annotator.engraving import fonts
from annotator.engraving.boxes import classes
from annotator.engraving.brackets import Setting, System, bracket_in, carrier_indexes, read_system, stretch_of, systems_of
from annotator.engraving.drawing import Bracket, draw, pen_of
from annotator.engraving.geometry import boxes_of
from annotator.engraving.greying import SVG, Shades, note_number, shade
from annotator.engraving.paper import MARGIN, Paper, draw_foot, draw_head, head_lines, rights
from annotator.engraving.placing import Field, Piece, Reach, place
from annotator.engraving.render_copy import RenderCopy
from annotator.engraving.widening import Stretch
from annotator.errors import EngraverError
from annotator.marking import Markings
from annotator.reading.document import Document
from annotator.score import Score
from annotator.style import Style

_TOLD = ("data-figure", "data-grey")


@dataclass(frozen=True, slots=True)
class Account:
    """What came of the marks on the pages.

    How many brackets were drawn and how many found no free place, the labels by the length that was taken, and the stretches of bars
    that are too short for the words on them, or nearly so. How many systems each page has.
    """

    brackets: int
    crowded: int
    tiers: Counter[str]
    tight: tuple[Stretch, ...] = ()
    systems: tuple[int, ...] = ()

    @property
    def narrow(self) -> int:
        """How many brackets are shorter than a text on them."""
        return sum(each.narrow for each in self.tight)


@dataclass(frozen=True, slots=True)
class Engraving:
    """The finished pages and the account of their marks."""

    pages: tuple[str, ...]
    account: Account


@dataclass(frozen=True, slots=True)
class Job:
    """All that one engraving needs; ``last_room`` if there is no trying again with more room."""

    document: Document
    score: Score
    markings: Markings
    style: Style
    paper: Paper
    copy: RenderCopy
    breaks: str
    legend: str
    language: str
    note_names: bool
    reasons: Mapping[int, str] | None = None
    full_pages: bool = True
    last_room: bool = False


def first_staves(job: Job) -> dict[str, int]:
    """Return the number of the first staff of each part, counted through all parts from 1."""
    first: dict[str, int] = {}
    count = 1
    for part, staves in job.copy.staves.items():
        first[part] = count
        count += staves
    return first


def _check_notes(pages: list[Any], copy: RenderCopy) -> None:
    seen = Counter(
        note_number(group) for page in pages for group in page.iter(SVG + "g") if "note" in classes(group)
    )
    missing = sum(not seen[number] for number in copy.printed)
    twice = sum(count > 1 for number, count in seen.items() if number)
    if missing or twice:
        what = f"left out {missing}" if missing else f"drew {twice} twice"
        raise EngraverError(f"the engraver {what} of the score's {len(copy.printed)} notes")


@dataclass(frozen=True, slots=True)
class Arranged:
    """The engraver's pages with a place for every bracket, and the account of that; nothing is drawn yet but the page heads."""

    job: Job
    pages: list[Any]
    brackets: list[list[tuple[Bracket, Piece]]]
    staff_of: Mapping[int, int]
    account: Account


def arrange(job: Job, pages: list[Any]) -> Arranged:
    """Check the engraver's pages, set the heads, find a place for every bracket."""
    _check_notes(pages, job.copy)
    first_staff = first_staves(job)
    staff_of = {
        note.number: first_staff.get(part.id, 1) + note.staff - 1 for part in job.score.parts for note in part.notes
    }
    systems = _systems(pages, staff_of, job)
    system_of = {number: system.index for page in systems for system in page for number in system.heads}
    setting = Setting(job.style, pen_of(job.style), first_staff, system_of, job.paper.inner_width, job.last_room)
    lines = head_lines(job.document, job.score, job.paper)
    marks_in = _marks_by_system(job, setting)
    tiers: Counter[str] = Counter()
    crowded = 0
    tight: list[Stretch] = []
    brackets: list[list[tuple[Bracket, Piece]]] = []
    for page, here in zip(pages, systems, strict=True):
        margin = _margin(page)
        draw_head(margin, lines, job.paper)
        placed, blocked = _placed(margin, here, marks_in, job, setting)
        tiers.update(bracket.wording.tier for bracket, _ in placed)
        tight += [each for bracket, _ in placed if (each := stretch_of(bracket, setting)) is not None]
        crowded += blocked
        brackets.append(placed)
    account = Account(tiers.total(), crowded, tiers, tuple(tight), tuple(map(len, systems)))
    return Arranged(job, pages, brackets, staff_of, account)


def finish(made: Arranged) -> Engraving:
    """Draw the brackets, colour the notes, set the feet, write the pages."""
    job = made.job
    shades = Shades(
        job.markings.grey if job.style.greying else frozenset(),
        job.markings.anchors,
        job.style.grey,
        job.style.grey_fingerings,
        made.staff_of,
        reasons=job.reasons,
    )
    pen, notice = pen_of(job.style), rights(job.document)
    texts = []
    for number, (page, brackets) in enumerate(zip(made.pages, made.brackets, strict=True), 1):
        margin = _margin(page)
        for bracket, piece in brackets:
            draw(margin, bracket, piece.y, job.style, pen)
        shade(page, shades)
        draw_foot(margin, number, len(made.pages), job.score.title, job.legend, notice, job.paper)
        texts.append(_text(page, job))
    return Engraving(tuple(texts), made.account)


def _systems(pages: list[Any], staff_of: dict[int, int], job: Job) -> list[list[System]]:
    """Read all systems, page by page, and take the carriers and the engraver's invisible marks out."""
    indexes = carrier_indexes(job.markings.marks)
    count = 0
    found: list[list[System]] = []
    for page in pages:
        for hidden in [each for each in page.iter(SVG + "g") if "placeholder" in classes(each)]:
            hidden.getparent().remove(hidden)
        here = []
        for group in (each for each in _margin(page) if "system" in classes(each)):
            here.append(read_system(group, count, staff_of, indexes))
            count += 1
        found.append(here)
    return found


def _margin(page: Any) -> Any:
    margin = next((each for each in page.iter(SVG + "g") if "page-margin" in classes(each)), None)
    if margin is None:
        raise EngraverError("the engraver's page has no music on it")
    return margin


def _marks_by_system(job: Job, setting: Setting) -> dict[int, list[int]]:
    """Return the indexes of the marks that stand in each system."""
    found: dict[int, list[int]] = {}
    for index, mark in enumerate(job.markings.marks):
        for system in systems_of(mark, setting):
            found.setdefault(system, []).append(index)
    return found


def _placed(
    margin: Any, systems: list[System], marks_in: dict[int, list[int]], job: Job, setting: Setting
) -> tuple[list[tuple[Bracket, Piece]], int]:
    """Find a place for each bracket of one page; return them, and how many found none that is free."""
    obstacles = Field(10.0 * (MARGIN - job.paper.top) - 150.0, job.paper.inner_height + 300.0)
    for child in margin:
        obstacles.add(boxes_of(child))
    brackets: list[tuple[Bracket, Piece]] = []
    for system in systems:
        for index in marks_in.get(system.index, ()):
            made = bracket_in(system, index, job.markings.marks[index], setting)
            if made is not None:
                brackets.append(made)
    unit = job.style.unit
    pieces = [piece for _, piece in brackets]
    crowded = place(pieces, obstacles, Reach(4.0 * unit, 1.4 * unit, 240.0 * unit, 28.0 * unit, 1100.0 * unit))
    return brackets, crowded


def _text(page: Any, job: Job) -> str:
    """Give the notes their own ids, the page its size and typeface, and write it out."""
    for element in _margin(page).iter(SVG + "g", SVG + "tspan"):
        number = note_number(element)
        if number:
            element.set("id", job.copy.names[number])
        else:
            element.attrib.pop("id", None)
        for name in [each for each in element.attrib if each.startswith("data-") and each not in _TOLD]:
            del element.attrib[name]
    for told in page.iter(SVG + "desc"):
        told.text = f"Marked by annotator. {told.text or ''}".strip()
    page.set("width", f"{job.paper.width / 10:g}mm")
    page.set("height", f"{job.paper.height / 10:g}mm")
    for inner in page.iter(SVG + "svg"):
        if "definition-scale" in classes(inner):
            inner.set("font-family", f"{fonts.FAMILY}, Times, serif")
            inner.set("color", job.style.ink)
            inner.set("fill", job.style.ink)
    etree.indent(page, " ")
    text: str = etree.tostring(page, encoding="unicode")
    return text + "\n"
