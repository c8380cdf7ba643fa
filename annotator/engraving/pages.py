"""Marked pages: the score engraved, its figures bracketed and labelled, its grey notes grey. One SVG text for each page.

Rule
----
1. A copy of the score with ids of our own goes to the engraver, which gives its own document and one endless system.
2. Into that document go our page head, a carrier for every figure and our system breaks; the engraver draws it page by page.
3. On the pages the carriers are taken out, the notes coloured, the brackets drawn where there is room.
Every printed note of the score must be on the pages, once. Where a bracket finds no place, the whole is drawn again with more room between
staves and systems; a figure is never dropped.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import Any

from lxml import etree

from annotator.engraving import fonts
from annotator.engraving.brackets import Setting, System, bracket_in, carrier_indexes, read_system, systems_of
from annotator.engraving.breaks import even_breaks, natural_widths, set_breaks
from annotator.engraving.carriers import add_carriers, add_note_names, set_head
from annotator.engraving.drawing import Bracket, draw, pen_of
from annotator.engraving.engraver import ask
from annotator.engraving.geometry import boxes_of, classes
from annotator.engraving.greying import SVG, Shades, note_number, shade
from annotator.engraving.paper import (
    FOOT,
    LEGEND,
    LEGEND_BLANK,
    LEGEND_DARK,
    MARGIN,
    Paper,
    draw_foot,
    draw_head,
    head_lines,
    keep_room,
    paper_of,
    rights,
)
from annotator.engraving.placing import Field, Piece, Reach, place
from annotator.engraving.render_copy import RenderCopy, render_copy
from annotator.errors import EngraverError
from annotator.marking import Markings
from annotator.reading.document import Document
from annotator.score import Score
from annotator.style import Style

ROOM = (
    {"spacingSystem": 6, "spacingStaff": 8, "spacingBraceGroup": 10, "bottomMarginHeader": 3.0, "pageMarginTop": MARGIN},
    {"spacingSystem": 8, "spacingStaff": 9, "spacingBraceGroup": 11, "bottomMarginHeader": 5.0, "pageMarginTop": MARGIN + 30},
    {"spacingSystem": 12, "spacingStaff": 12, "spacingBraceGroup": 14, "bottomMarginHeader": 8.0, "pageMarginTop": MARGIN + 60},
)
"""Room between systems, staves, the staves of a brace, and below the page head, in the engraver's units, and the upper margin in tenths of
a millimetre: as usual, and what is tried when that is too little."""

MARGINS = ({"defaultTopMargin": 0.8, "defaultBottomMargin": 0.8}, {"defaultTopMargin": 1.2, "defaultBottomMargin": 1.2})
"""Room above and below what stands outside the staves, carriers included."""

LINKS = ["tie@startid", "tie@endid", "fing@startid", "arpeg@plist", "beamSpan@plist"]
_PARSER = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True, remove_blank_text=True)


@dataclass(frozen=True, slots=True)
class Account:
    """What came of the marks on the pages: brackets drawn, those without a free place, and labels by the length that was taken."""

    brackets: int
    crowded: int
    tiers: Counter[str]


@dataclass(frozen=True, slots=True)
class Engraving:
    """The finished pages and the account of their marks."""

    pages: tuple[str, ...]
    account: Account


@dataclass(frozen=True, slots=True)
class _Job:
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
    note_names: bool


def engrave(
    document: Document,
    score: Score,
    markings: Markings,
    style: Style,
    paper: str,
    breaks: str = "even",
    legend: str | None = None,
    language: str = "en",
    note_names: bool = False,
) -> tuple[str, ...]:
    """Engrave an unmarked document with these marks and return one SVG text for each page.

    ``paper`` is a name of ``PAPERS``, ``breaks`` is ``even`` (our own) or ``source``. ``legend`` is the line of the page foot that says
    what the marks mean (None: in English). ``note_names`` writes the name beside each anchor, in that ``language``. Raises
    ``EngraverError`` if the engraver fails.
    """
    return engrave_with_account(document, score, markings, style, paper, breaks, legend, language, note_names).pages


def engrave_with_account(
    document: Document,
    score: Score,
    markings: Markings,
    style: Style,
    paper: str,
    breaks: str = "even",
    legend: str | None = None,
    language: str = "en",
    note_names: bool = False,
) -> Engraving:
    """Do what ``engrave`` does, and say what came of the marks."""
    if legend is None:
        legend = LEGEND_BLANK if style.labels == "blank" else LEGEND if style.greying else LEGEND_DARK
    job = _Job(document, score, markings, style, paper_of(paper), render_copy(document), breaks, legend, language, note_names)
    mei = _prepared(job)
    best: Engraving | None = None
    for room in (ROOM[0] | MARGINS[0], ROOM[1] | MARGINS[1], ROOM[2] | MARGINS[1]):
        made = _drawn(job, mei, room)
        if best is None or made.account.crowded < best.account.crowded:
            best = made
        if not best.account.crowded:
            break
    assert best is not None
    return best


def _options(job: _Job) -> dict[str, Any]:
    return {
        "pageWidth": job.paper.width,
        "pageHeight": job.paper.height,
        "unit": job.style.unit,
        "spacingLinear": job.style.spacing_linear,
        "spacingNonLinear": job.style.spacing_nonlinear,
        "footer": "none",
    }


def _first_staves(job: _Job) -> dict[str, int]:
    first: dict[str, int] = {}
    count = 1
    for part, staves in job.copy.staves.items():
        first[part] = count
        count += staves
    return first


def _prepared(job: _Job) -> str:
    """Let the engraver import the score; put head, carriers and breaks into its document."""
    options = _options(job) | {"breaks": "none", "xmlIdSeed": 1, "adjustPageWidth": True, "header": "none"}
    answer = ask("import", job.copy.text, options, len(job.copy.printed))
    mei = _parsed(answer["mei"])
    if job.breaks != "source":
        widths, start = natural_widths(_parsed(answer["strip"]))
        set_breaks(mei, even_breaks(widths, job.paper.inner_width, start))
    set_head(mei, keep_room(head_lines(job.document, job.score, job.paper)))
    add_carriers(mei, job.markings.marks, _first_staves(job))
    if job.note_names:
        add_note_names(mei, job.markings.marks, job.markings.anchors, _first_staves(job), job.language)
    text: str = etree.tostring(mei, encoding="unicode")
    return text


def _parsed(text: str) -> Any:
    try:
        return etree.fromstring(text.encode("utf-8"), _PARSER)
    except etree.XMLSyntaxError as error:
        raise EngraverError("the engraver's answer is no XML") from error


def _drawn(job: _Job, mei: str, room: dict[str, Any]) -> Engraving:
    options = _options(job) | {
        "breaks": "line",
        "xmlIdSeed": 20001,
        "svgViewBox": True,
        "justifyVertically": True,
        "svgAdditionalAttribute": LINKS,
        "pageMarginLeft": MARGIN,
        "pageMarginRight": MARGIN,
        "pageMarginBottom": MARGIN + FOOT,
    } | room
    answer = ask("pages", mei, options, len(job.copy.printed))
    job = replace(job, paper=replace(job.paper, top=room["pageMarginTop"]))
    return finish(job, [_parsed(page) for page in answer["pages"]])


def _check_notes(pages: list[Any], copy: RenderCopy) -> None:
    seen = Counter(
        note_number(group) for page in pages for group in page.iter(SVG + "g") if "note" in classes(group)
    )
    missing = sum(not seen[number] for number in copy.printed)
    twice = sum(count > 1 for number, count in seen.items() if number)
    if missing or twice:
        what = f"left out {missing}" if missing else f"drew {twice} twice"
        raise EngraverError(f"the engraver {what} of the score's {len(copy.printed)} notes")


def finish(job: _Job, pages: list[Any]) -> Engraving:
    """Colour, bracket and furnish the engraver's pages."""
    _check_notes(pages, job.copy)
    first_staff = _first_staves(job)
    staff_of = {
        note.number: first_staff.get(part.id, 1) + note.staff - 1 for part in job.score.parts for note in part.notes
    }
    systems = _systems(pages, staff_of, job)
    system_of = {number: system.index for page in systems for system in page for number in system.heads}
    setting = Setting(job.style, pen_of(job.style), first_staff, system_of, job.paper.inner_width)
    shades = Shades(
        job.markings.grey if job.style.greying else frozenset(),
        job.markings.anchors,
        job.style.grey,
        job.style.grey_fingerings,
        staff_of,
    )
    lines, notice = head_lines(job.document, job.score, job.paper), rights(job.document)
    marks_in = _marks_by_system(job, setting)
    tiers: Counter[str] = Counter()
    crowded = 0
    texts = []
    for number, (page, here) in enumerate(zip(pages, systems, strict=True), 1):
        margin = _margin(page)
        draw_head(margin, lines, job.paper)
        brackets, blocked = _mark(margin, here, marks_in, job, setting)
        tiers.update(bracket.wording.tier for bracket in brackets)
        crowded += blocked
        shade(page, shades)
        draw_foot(margin, number, len(pages), job.score.title, job.legend, notice, job.paper)
        texts.append(_text(page, job))
    return Engraving(tuple(texts), Account(tiers.total(), crowded, tiers))


def _systems(pages: list[Any], staff_of: dict[int, int], job: _Job) -> list[list[System]]:
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


def _marks_by_system(job: _Job, setting: Setting) -> dict[int, list[int]]:
    """Return the indexes of the marks that stand in each system."""
    found: dict[int, list[int]] = {}
    for index, mark in enumerate(job.markings.marks):
        for system in systems_of(mark, setting):
            found.setdefault(system, []).append(index)
    return found


def _mark(
    margin: Any, systems: list[System], marks_in: dict[int, list[int]], job: _Job, setting: Setting
) -> tuple[list[Bracket], int]:
    """Draw the brackets of one page; return them, and how many found no free place."""
    obstacles = Field(10.0 * (MARGIN - job.paper.top) - 150.0, job.paper.inner_height + 300.0)
    for child in margin:
        obstacles.add(boxes_of(child))
    brackets: list[Bracket] = []
    pieces: list[Piece] = []
    for system in systems:
        for index in marks_in.get(system.index, ()):
            made = bracket_in(system, index, job.markings.marks[index], setting)
            if made is not None:
                brackets.append(made[0])
                pieces.append(made[1])
    unit = job.style.unit
    crowded = place(pieces, obstacles, Reach(4.0 * unit, 1.4 * unit, 240.0 * unit, 28.0 * unit, 1100.0 * unit))
    for bracket, piece in zip(brackets, pieces, strict=True):
        draw(margin, bracket, piece.y, job.style, setting.pen)
    return brackets, crowded


def _text(page: Any, job: _Job) -> str:
    """Give the notes their own ids, the page its size and typeface, and write it out."""
    for element in _margin(page).iter(SVG + "g", SVG + "tspan"):
        number = note_number(element)
        if number:
            element.set("id", job.copy.names[number])
        else:
            element.attrib.pop("id", None)
        for name in [each for each in element.attrib if each.startswith("data-") and each != "data-figure"]:
            del element.attrib[name]
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
