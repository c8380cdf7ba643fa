"""The engraver's pages made into ours: notes checked and coloured, carriers taken out, brackets drawn, head and foot set.

Conventions
-----------
Everything happens on the parsed SVG of each page; the notes are known by their numbers until the page is written, and then get their own
ids.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Any

from lxml import etree

from annotator.errors import EngraverError
from annotator.marks.covering import Covering, covering
from annotator.marks.marking import Markings
from annotator.marks.style import Style
from annotator.music.score import Note, Score
from annotator.pages import fonts
from annotator.pages.boxes import Box, boxes_of
from annotator.pages.brackets import Bracket, draw, pen_of
from annotator.pages.greying import Shades, groups_of, shade, take_heads_off
from annotator.pages.mei import Stretch
from annotator.pages.paper import MARGIN, Paper, draw_foot, draw_head, head_lines, rights
from annotator.pages.placing import Field, Piece, place
from annotator.pages.render_copy import RenderCopy, note_number
from annotator.pages.svg import SVG, classes, margin_of
from annotator.pages.systems import Setting, System, brackets_in, read_systems, stretch_of
from annotator.reading.document import Document
from annotator.words.phrases import legend_words

INTO_MARGIN = 500.0
"""How far brackets may reach into the upper margin of a page that has no head."""

_TOLD = ("data-figure", "data-grey")


@dataclass(frozen=True, slots=True)
class Engraving:
    """The finished pages; how many brackets found no free place, and how many are shorter than a text on them; the systems of each page."""

    pages: tuple[str, ...]
    crowded: int
    narrow: int
    systems: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """All that one engraving needs."""

    document: Document
    score: Score
    markings: Markings
    style: Style
    paper: Paper
    copy: RenderCopy
    breaks: str
    legend: str
    language: str
    reasons: Mapping[int, str] | None = None
    full_pages: bool = True

    def first_staves(self) -> dict[str, int]:
        """Return the number of the first staff of each part, counted through all parts from 1."""
        return dict(zip(self.copy.staves, accumulate(self.copy.staves.values(), initial=1), strict=False))

    def staff_of_notes(self) -> dict[int, int]:
        """Return the staff of each note by its number, counted through all parts from 1."""
        first = self.first_staves()
        return {note.number: first.get(part.id, 1) + note.staff - 1 for part in self.score.parts for note in part.notes}

    def setting(self, systems: Sequence[System], gives_way: bool = False) -> Setting:
        """Return what brackets on these systems are made with; ``gives_way`` if there is no trying again with more room."""
        system_of = {number: system.index for system in systems for number in system.heads}
        return Setting(self.style, pen_of(self.style), self.first_staves(), system_of, self.paper.inner_width, gives_way)


@dataclass(frozen=True, slots=True)
class Laid:
    """The pages with their brackets, which have no heights yet, and the stretches too ``narrow`` for the words on them.

    ``systems`` is how many each page has, ``heads`` are its noteheads by the numbers of their notes.
    """

    job: Job
    pages: list[Any]
    systems: tuple[int, ...]
    heads: list[dict[int, Box]]
    brackets: list[list[tuple[Bracket, Piece]]]
    narrow: tuple[Stretch, ...]


def lay(job: Job, pages: list[Any], last_room: bool = False) -> Laid:
    """Check the engraver's pages and make the brackets; ``last_room``: there is no trying again with more room."""
    _check_notes(pages, job.copy)
    on_pages = read_systems([margin_of(page) for page in pages], len(job.markings.marks))
    systems = [system for page in on_pages for system in page]
    setting = job.setting(systems, last_room)
    in_systems = iter(brackets_in(systems, job.markings.marks, setting))
    brackets = [[each for _ in page for each in next(in_systems)] for page in on_pages]
    stretches = (stretch_of(bracket, setting) for page in brackets for bracket, _ in page)
    heads = [{number: head for system in page for number, head in system.heads.items()} for page in on_pages]
    return Laid(job, pages, tuple(map(len, on_pages)), heads, brackets, tuple(each for each in stretches if each is not None))


def arrange(laid: Laid) -> int:
    """Set the page heads and find a place for every bracket; return how many found none that is free. Only the heads are drawn yet."""
    job = laid.job
    lines = head_lines(job.document, job.score, job.paper)
    crowded = 0
    for page, brackets in zip(laid.pages, laid.brackets, strict=True):
        margin = margin_of(page)
        draw_head(margin, lines, job.paper)
        obstacles = Field(highest(margin, job.paper), job.paper.inner_height + 300.0)
        for child in margin:
            obstacles.add(boxes_of(child))
        crowded += place([piece for _, piece in brackets], obstacles, job.style.unit)
    return crowded


def finish(laid: Laid, crowded: int, covered: frozenset[int] = frozenset()) -> Engraving:
    """Draw the brackets, colour the notes, take the heads off those that are ``covered``, set the feet, write the pages."""
    job, style, marks = laid.job, laid.job.style, laid.job.markings
    grey = marks.grey if style.greying else frozenset()
    staff_of, pen, notice = job.staff_of_notes(), pen_of(style), rights(job.document)
    texts = []
    for number, (page, heads, brackets) in enumerate(zip(laid.pages, laid.heads, laid.brackets, strict=True), 1):
        margin = margin_of(page)
        groups: dict[tuple[str, int], Any] = {}
        for bracket, piece in brackets:
            figure = bracket.mark.id, piece.group[0]
            groups[figure] = draw(margin, bracket, piece.y, style, pen, groups.get(figure))
        shades = Shades(grey, marks.anchors, style.grey, style.grey_fingerings, heads, staff_of, reasons=job.reasons)
        shade(page, shades)
        if covered:
            take_heads_off(page, covered, shades)
        draw_foot(margin, number, len(laid.pages), job.score.title, _legend(job, brackets), notice, job.paper)
        texts.append(_text(page, job))
    return Engraving(tuple(texts), crowded, len(laid.narrow), laid.systems)


def covering_on(laid: Laid) -> Covering:
    """Return what is covered where the notes stand on these pages."""
    page_of = {number: page for page, heads in enumerate(laid.heads) for number in heads}

    def on_one_page(notes: Iterable[Note]) -> bool:
        """Return whether these notes stand on one page."""
        return len({page_of.get(note.number) for note in notes}) == 1

    return covering(laid.job.markings.figures, laid.job.markings.grey, laid.job.score, on_one_page)


def _check_notes(pages: list[Any], copy: RenderCopy) -> None:
    seen = Counter(note_number(group.get("id")) for page in pages for group in groups_of(page, "note"))
    missing = sum(not seen[number] for number in copy.printed)
    twice = sum(count > 1 for number, count in seen.items() if number)
    if missing or twice:
        what = f"left out {missing}" if missing else f"drew {twice} twice"
        raise EngraverError(f"the engraver {what} of the score's {len(copy.printed)} notes")


def highest(margin: Any, paper: Paper) -> float:
    """Return how high on its page a bracket may stand: never above the page head, else somewhat into the upper margin.

    Where the head has lines to write on, it stands below all of it.
    """
    head = next((boxes_of(child) for child in margin if "pgHead" in classes(child)), [])
    if head and paper.extra.head:
        return max(box.bottom for box in head)
    return min((box.top for box in head), default=10.0 * (MARGIN - paper.top) - INTO_MARGIN)


def _legend(job: Job, brackets: Sequence[tuple[Bracket, Piece]]) -> str:
    """Return what a page's foot says of its marks; where a run names no scale, also what is meant."""
    legend = job.paper.extra.legend or job.legend
    shown = ((bracket.mark.unnamed, word.text.strip("()")) for bracket, _ in brackets for word in bracket.words if word.label)
    return legend_words(legend, any(text in unnamed for unnamed, text in shown), job.language)


def _text(page: Any, job: Job) -> str:
    """Give the notes their own ids, the page its size and typeface, and write it out."""
    for element in margin_of(page).iter(SVG + "g", SVG + "tspan"):
        number = note_number(element.get("id"))
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
