"""Marked pages: the score engraved, its figures bracketed and labelled, its grey notes grey. One SVG text for each page.

Rule
----
1. A copy of the score with ids of our own goes to the engraver, which gives its own document and one endless system.
2. Into that document go our page head, a carrier for every figure and our system breaks; the engraver draws it page by page.
3. On the pages the carriers are taken out, the notes coloured, the brackets drawn where there is room.
Every printed note of the score must be on the pages, once. Bars that will be too short for the words on them are made wider before anything
is drawn (see ``foresight``), and pages that are not well filled are not drawn (see ``engraver``), so that one drawing usually is enough.
Where a bracket finds no place all the same, the whole is drawn again with more room between staves and systems, and where a text is
wider than its bracket, with wider bars; a figure is never dropped. A single instrument has no name at its staves.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from annotator.marks.covering import Covering
from annotator.marks.marking import Markings
from annotator.marks.style import Style
from annotator.music.score import Score
from annotator.pages.breaks import even_pages
from annotator.pages.engraver import ask
from annotator.pages.finishing import Account, Arranged, Engraving, Job, Laid, arrange, finish, lay, setting_of
from annotator.pages.foresight import foreseen, too_short
from annotator.pages.heads import covering_on
from annotator.pages.importing import Import, page_options
from annotator.pages.paper import FOOT, MARGIN, Paper, paper_of
from annotator.pages.preparing import Imported, Prepared, begins, parsed, prepare, take_in
from annotator.pages.widening import Stretches, with_more
from annotator.reading.document import Document
from annotator.words import foot_words

__all__ = ["Account", "Engraving", "engrave", "engrave_with_account"]

ROOM: tuple[dict[str, Any], ...] = (
    {"spacingSystem": 6, "spacingStaff": 8, "spacingBraceGroup": 10, "bottomMarginHeader": 3.0, "pageMarginTop": MARGIN},
    {"spacingSystem": 8, "spacingStaff": 9, "spacingBraceGroup": 11, "bottomMarginHeader": 5.0, "pageMarginTop": MARGIN + 30},
    {"spacingSystem": 12, "spacingStaff": 12, "spacingBraceGroup": 14, "bottomMarginHeader": 8.0, "pageMarginTop": MARGIN + 60},
)
"""Room between systems, staves, the staves of a brace, and below the page head, in the engraver's units, and the upper margin in tenths of
a millimetre (the lower one grows with it): as usual, and what is tried when that is too little."""

AROUND = (0.8, 1.2, 1.2)
"""With each of them: room above and below what stands outside the staves, carriers included."""

CLOSE: tuple[dict[str, Any], ...] = (
    {"spacingSystem": 3, "spacingStaff": 7, "spacingBraceGroup": 9},
    {"spacingSystem": 2, "spacingStaff": 7, "spacingBraceGroup": 9},
)
"""What is tried where it may save a page that would have next to nothing on it."""

FEW_PAGES = 6
"""Of a longer piece a page is not worth the time."""

WIDENINGS = 4
"""How often bars are made wider before the rest is left as it is."""

COVERINGS = 4
"""How often what is covered may change because a courtesy sign has moved something to another page, before nothing is covered."""

NOTHING: Mapping[str, Any] = MappingProxyType({})
LINKS = ["tie@startid", "tie@endid", "fing@startid", "arpeg@plist", "beamSpan@plist"]



def engrave(
    document: Document,
    score: Score,
    markings: Markings,
    style: Style,
    paper: str | Paper,
    breaks: str = "even",
    language: str = "en",
    begun: Import | None = None,
) -> tuple[str, ...]:
    """Engrave an unmarked document with these marks and return one SVG text for each page.

    ``paper`` is a name of ``PAPERS``, ``breaks`` is ``even`` (our own) or ``source``. The ``language`` is that of the page foot and of
    the note names beside anchors. ``begun`` is an import of the document that was begun before. Raises ``EngraverError`` if the engraver
    fails.
    """
    return engrave_with_account(document, score, markings, style, paper, breaks, language, begun=begun).pages


def engrave_with_account(
    document: Document,
    score: Score,
    markings: Markings,
    style: Style,
    paper: str | Paper,
    breaks: str = "even",
    language: str = "en",
    reasons: Mapping[int, str] | None = None,
    full_pages: bool = True,
    begun: Import | None = None,
) -> Engraving:
    """Do what ``engrave`` does, and say what came of the marks.

    ``reasons`` says why each grey note is grey; whatever is grey on the pages then tells it (``data-grey``, see ``greying``). Without
    ``full_pages`` systems and staves are not spread over the height of the page.
    """
    covered = style.covered and style.greying
    legend = foot_words(style.greying, style.labels == "blank", language, covered, markings.editors)
    names = style.note_names_on_anchors
    page = paper_of(paper)
    given = begun if begun and begun.fits(document, style, page) else Import(document, style, page)
    job = Job(document, score, markings, style, page, given.copy, breaks, legend, language, names, reasons, full_pages)
    imported = take_in(job, given)
    made = _fitted(job, imported, _foreseen(job, imported), WIDENINGS)
    if not covered:
        return finish(made)
    for _ in range(COVERINGS):
        cover = covering_on(made.pages, markings, score)
        if cover.signs.keys() <= job.signs.keys():
            break
        job = replace(job, signs={**job.signs, **cover.signs})
        made = _fitted(job, imported, _foreseen(job, imported), WIDENINGS)
    else:
        cover = Covering()
    return finish(made, cover.notes)


def _fitted(job: Job, imported: Imported, stretches: Stretches, widenings: int) -> Arranged:
    """Draw with more and more room until each bracket has a place; with wider bars, as often as may be, while one is too short."""
    found: list[Arranged] = []
    for room in range(len(ROOM)):
        for pages in _fillings(job, imported, stretches, room):
            laid = _laid(job, pages, room)
            if laid.narrow and widenings:
                return _fitted(job, imported, with_more(stretches, laid.tight), widenings - 1)
            found.append(arrange(laid))
            if not found[-1].account.crowded:
                return found[-1]
    return min(found, key=lambda each: (each.account.crowded, each.account.narrow))


def _fillings(job: Job, imported: Imported, stretches: Stretches, room: int) -> Iterator[list[str]]:
    """Draw the pages. If the last has next to nothing on it: without it, or with its systems shared by the last ones, or as they fall."""
    prepared = prepare(job, imported, stretches)
    if job.breaks != "source" and job.full_pages and not job.paper.bare:
        pages, systems = _filled(job, prepared, room)
        if pages:
            yield pages
            return
        for closer in CLOSE if len(systems) <= FEW_PAGES else ():
            pages, _ = _filled(job, prepared, room, len(systems) - 1, closer)
            if pages:
                yield pages
                break
        pages, there = _filled(job, prepare(job, imported, stretches, even_pages(systems)), room)
        if pages and len(there) == len(systems):
            yield pages
    yield _engraved("pages", job, prepared.mei, room)["pages"]


def _filled(
    job: Job, prepared: Prepared, room: int, most: int = sys.maxsize, closer: Mapping[str, Any] = NOTHING
) -> tuple[list[str], list[int]]:
    """Return pages, if they are well filled and at most so many (else none), and how many systems each has."""
    answer = _engraved("filled", job, prepared.mei, room, closer, {"systems": prepared.starts, "most": most})
    return answer.get("pages", []), answer["systems"]


def _foreseen(job: Job, imported: Imported) -> Stretches:
    """Return the stretches that will be too short."""
    stretches: Stretches = {}
    for _ in range(WIDENINGS if imported.strip.heads else 0):
        first_bars = begins(job, imported, stretches)
        systems = foreseen(imported.strip, first_bars, job.paper.inner_width, stretches.values())
        tight = too_short(systems, job.markings.marks, setting_of(job, systems))
        if not any(each.narrow for each in tight):
            break
        stretches = with_more(stretches, tight)
    return stretches


def _engraved(
    what: str, job: Job, mei: str, step: int, otherwise: Mapping[str, Any] = NOTHING, more: Mapping[str, Any] = NOTHING
) -> dict[str, Any]:
    """Let the engraver draw the ``pages``, or only if they are well ``filled``."""
    room = ROOM[step] | {"defaultTopMargin": AROUND[step], "defaultBottomMargin": AROUND[step]} | dict(otherwise)
    options = page_options(job.style, job.paper) | {
        "breaks": "encoded" if "<pb" in mei else "line",
        "xmlIdSeed": 20001,
        "svgViewBox": True,
        "justifyVertically": job.full_pages and not job.paper.bare,
        "header": "none" if job.paper.bare else "auto",
        "svgAdditionalAttribute": LINKS,
        "pageMarginLeft": MARGIN,
        "pageMarginRight": MARGIN,
        "pageMarginBottom": room["pageMarginTop"] + FOOT,
    } | room
    return ask(what, mei, options, len(job.copy.printed), more=more)


def _laid(job: Job, pages: list[str], step: int) -> Laid:
    job = replace(job, paper=replace(job.paper, top=ROOM[step]["pageMarginTop"]), last_room=step + 1 == len(ROOM))
    return lay(job, [parsed(page) for page in pages])
