"""The engraver's pages made into ours: notes checked and coloured, carriers taken out, brackets drawn, head and foot set.

Conventions
-----------
Everything happens on the parsed SVG of each page; the notes are known by their numbers until the page is written, and then get their own
ids.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from lxml import etree

from annotator.errors import EngraverError
from annotator.marks.marking import Markings
from annotator.marks.style import Style
from annotator.music.score import Score
from annotator.pages import fonts
from annotator.pages.boxes import boxes_of
from annotator.pages.brackets import Setting, System, bracket_in, carrier_indexes, read_system, stretch_of, systems_of
from annotator.pages.drawing import Bracket, draw, pen_of
from annotator.pages.greying import shade
from annotator.pages.heads import take_heads_off
from annotator.pages.paper import MARGIN, Paper, draw_foot, draw_head, head_lines, rights
from annotator.pages.placing import Field, Piece, Reach, place
from annotator.pages.render_copy import RenderCopy
from annotator.pages.shades import Shades, note_number
from annotator.pages.svg import SVG, classes
from annotator.pages.widening import Stretch
from annotator.reading.document import Document
from annotator.words import legend_words

INTO_MARGIN = 500.0
"""How far brackets may reach into the upper margin of a page that has no head."""

_TOLD = ("data-figure", "data-grey")


@dataclass(frozen=True, slots=True)
class Account:
    """What came of the marks on the pages.

    How many brackets were drawn and how many found no free place, the labels by the length that was taken, how many brackets are shorter
    than a text on them. How many systems each page has.
    """

    brackets: int
    crowded: int
    tiers: Counter[str]
    narrow: int = 0
    systems: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Engraving:
    """The finished pages and the account of their marks."""

    pages: tuple[str, ...]
    account: Account


@dataclass(frozen=True, slots=True)
class Job:
    """All that one engraving needs; ``signs`` are courtesy signs, ``last_room`` if there is no trying again with more room."""

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
    signs: Mapping[int, int] = field(default_factory=dict)


def first_staves(job: Job) -> dict[str, int]:
    """Return the number of the first staff of each part, counted through all parts from 1."""
    first: dict[str, int] = {}
    count = 1
    for part, staves in job.copy.staves.items():
        first[part] = count
        count += staves
    return first


def staff_of_notes(job: Job) -> dict[int, int]:
    """Return the staff of each note by its number, counted through all parts from 1."""
    first = first_staves(job)
    return {note.number: first.get(part.id, 1) + note.staff - 1 for part in job.score.parts for note in part.notes}


def setting_of(job: Job, systems: Sequence[System]) -> Setting:
    """Return what brackets on these systems are made with."""
    system_of = {number: system.index for system in systems for number in system.heads}
    return Setting(job.style, pen_of(job.style), first_staves(job), system_of, job.paper.inner_width, job.last_room)


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
class Laid:
    """The pages with their brackets, which have no heights yet, and the stretches too short for the words on them, or nearly so."""

    job: Job
    pages: list[Any]
    systems: list[int]
    brackets: list[list[tuple[Bracket, Piece]]]
    tight: tuple[Stretch, ...]

    @property
    def narrow(self) -> int:
        """How many brackets are shorter than a text on them."""
        return sum(each.narrow for each in self.tight)


@dataclass(frozen=True, slots=True)
class Arranged:
    """The engraver's pages with a place for every bracket, and the account of that; nothing is drawn yet but the page heads."""

    job: Job
    pages: list[Any]
    brackets: list[list[tuple[Bracket, Piece]]]
    account: Account


def lay(job: Job, pages: list[Any]) -> Laid:
    """Check the engraver's pages and make the brackets."""
    _check_notes(pages, job.copy)
    systems = _systems(pages, job)
    setting = setting_of(job, [system for page in systems for system in page])
    marks_in = _marks_by_system(job, setting)
    brackets = [_brackets(page, marks_in, job, setting) for page in systems]
    stretches = (stretch_of(bracket, setting) for page in brackets for bracket, _ in page)
    return Laid(job, pages, [len(page) for page in systems], brackets, tuple(each for each in stretches if each is not None))


def arrange(laid: Laid) -> Arranged:
    """Set the page heads, find a place for every bracket."""
    job = laid.job
    lines = head_lines(job.document, job.score, job.paper)
    tiers: Counter[str] = Counter()
    crowded = 0
    for page, brackets in zip(laid.pages, laid.brackets, strict=True):
        margin = _margin(page)
        draw_head(margin, lines, job.paper)
        crowded += _place(margin, [piece for _, piece in brackets], job)
        tiers.update(bracket.wording.tier for bracket, _ in brackets)
    account = Account(tiers.total(), crowded, tiers, laid.narrow, tuple(laid.systems))
    return Arranged(job, laid.pages, laid.brackets, account)


def finish(made: Arranged, covered: frozenset[int] = frozenset()) -> Engraving:
    """Draw the brackets, colour the notes, take the heads off those that are ``covered``, set the feet, write the pages."""
    job = made.job
    shades = Shades(
        job.markings.grey if job.style.greying else frozenset(),
        job.markings.anchors,
        job.style.grey,
        job.style.grey_fingerings,
        staff_of_notes(job),
        reasons=job.reasons,
    )
    pen, notice = pen_of(job.style), rights(job.document)
    texts = []
    for number, (page, brackets) in enumerate(zip(made.pages, made.brackets, strict=True), 1):
        margin = _margin(page)
        groups: dict[tuple[str, int], Any] = {}
        for bracket, piece in brackets:
            figure = bracket.mark.id, piece.group[0]
            groups[figure] = draw(margin, bracket, piece.y, job.style, pen, groups.get(figure))
        shade(page, shades)
        if covered:
            take_heads_off(page, covered, shades.staff_of)
        draw_foot(margin, number, len(made.pages), job.score.title, _legend(job, brackets), notice, job.paper)
        texts.append(_text(page, job))
    return Engraving(tuple(texts), made.account)


def _legend(job: Job, brackets: Sequence[tuple[Bracket, Piece]]) -> str:
    """Return what a page's foot says of its marks; where a run names no scale, also what is meant."""
    legend = job.paper.extra.legend or job.legend
    shown = ((bracket.mark.unnamed, word.text.strip("()")) for bracket, _ in brackets for word in bracket.wording.words if word.label)
    return legend_words(legend, any(text in unnamed for unnamed, text in shown), job.language)


def _systems(pages: list[Any], job: Job) -> list[list[System]]:
    """Read all systems, page by page, and take the carriers and the engraver's invisible marks out."""
    staff_of = staff_of_notes(job)
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


def _brackets(systems: list[System], marks_in: dict[int, list[int]], job: Job, setting: Setting) -> list[tuple[Bracket, Piece]]:
    """Return the brackets of one page."""
    made = (bracket_in(each, index, job.markings.marks[index], setting) for each in systems for index in marks_in.get(each.index, ()))
    return [each for each in made if each is not None]


def highest(margin: Any, paper: Paper) -> float:
    """Return how high on its page a bracket may stand: never above the page head, else somewhat into the upper margin.

    Where the head has lines to write on, it stands below all of it.
    """
    head = next((list(boxes_of(child)) for child in margin if "pgHead" in classes(child)), [])
    if head and paper.extra.head:
        return max(box.bottom for box in head)
    return min((box.top for box in head), default=10.0 * (MARGIN - paper.top) - INTO_MARGIN)


def _place(margin: Any, pieces: list[Piece], job: Job) -> int:
    """Find a place for each bracket of one page; return how many found none that is free."""
    obstacles = Field(highest(margin, job.paper), job.paper.inner_height + 300.0)
    for child in margin:
        obstacles.add(boxes_of(child))
    unit = job.style.unit
    return place(pieces, obstacles, Reach(4.0 * unit, 1.4 * unit, 240.0 * unit, 28.0 * unit, 1100.0 * unit))


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
