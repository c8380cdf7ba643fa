"""Marked pages: the score engraved, its figures bracketed and labelled, its grey notes grey. One SVG text for each page.

Rule
----
1. A copy of the score with ids of our own goes to the engraver, which gives its own document and one endless system.
2. Into that document go our page head, a carrier for every figure and our system breaks; the engraver draws it page by page.
3. On the pages the carriers are taken out, the notes coloured, the brackets drawn where there is room.
Every printed note of the score must be on the pages, once. Pages that are not well filled are not drawn (see ``engraver``). Where a text
is wider than its bracket, the whole is drawn again with wider bars, and where a bracket finds no place, with more room between staves and
systems; a figure is never dropped. A single instrument has no name at its staves.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import accumulate
from types import MappingProxyType
from typing import Any

from lxml import etree

from annotator.marks.covering import Covering
from annotator.marks.marking import Markings
from annotator.marks.style import Style
from annotator.music.score import Score
from annotator.pages import mei
from annotator.pages.engraver import ask, even_pages
from annotator.pages.finishing import Engraving, Job, Laid, arrange, covering_on, finish, lay
from annotator.pages.mei import Import, Stretch, Stretches, page_options, with_more
from annotator.pages.paper import FOOT, MARGIN, Paper, head_lines, keep_room, paper_of
from annotator.pages.svg import parsed
from annotator.pages.systems import Strip, even_breaks, read_strip
from annotator.reading.document import Document
from annotator.words.phrases import foot_words

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

WIDENINGS = 8
"""How often bars are made wider before the rest is left as it is."""

COVERINGS = 4
"""How often what is covered may change because a courtesy sign has moved something to another page, before nothing is covered."""

LINKS = ["tie@startid", "tie@endid", "fing@startid", "arpeg@plist", "beamSpan@plist"]


def engrave(
    document: Document,
    score: Score,
    markings: Markings,
    style: Style,
    paper: str | Paper,
    breaks: str = "even",
    language: str = "en",
    reasons: Mapping[int, str] | None = None,
    full_pages: bool = True,
    taken_in: Import | None = None,
) -> Engraving:
    """Engrave an unmarked document with these marks: one SVG text for each page, and what came of the marks.

    ``paper`` is a name of ``PAPERS``, ``breaks`` is ``even`` (our own) or ``source``. The ``language`` is that of the page foot and of
    the note names beside anchors. ``reasons`` says why each grey note is grey; whatever is grey on the pages then tells it (``data-grey``,
    see ``greying``). Without ``full_pages`` systems and staves are not spread over the height of the page. ``taken_in`` is
    the import of the document, where there is one. Raises ``EngraverError`` if the engraver fails.
    """
    covered = style.covered and style.greying
    legend = foot_words(style.greying, style.labels == "blank", language, covered, markings.editors)
    page = paper_of(paper)
    given = taken_in.in_look(style, page) if taken_in else Import(document, style, page)
    job = Job(document, score, markings, style, page, given.copy, breaks, legend, language, reasons, full_pages)
    strip = Strip({}, (), 0.0) if breaks == "source" else read_strip(parsed(given.answer["strip"], blanks=False))
    drawing = Drawing(job, given.answer["mei"], strip)
    laid, crowded = _fitted(drawing, {}, WIDENINGS)
    if not covered:
        return finish(laid, crowded)
    for _ in range(COVERINGS):
        cover = covering_on(laid)
        if cover.signs.keys() <= drawing.signs.keys():
            break
        drawing = replace(drawing, signs={**drawing.signs, **cover.signs})
        laid, crowded = _fitted(drawing, {}, WIDENINGS)
    else:
        cover = Covering()
    return finish(laid, crowded, cover.notes)


@dataclass(frozen=True, slots=True)
class Drawing:
    """A job that the engraver has taken in: its own document (MEI), the score as one endless system, and courtesy signs to be added."""

    job: Job
    mei: str
    strip: Strip
    signs: Mapping[int, int] = field(default_factory=dict)

    def begins(self, stretches: Stretches) -> tuple[int, ...]:
        """Return the indexes of the bars that begin a new system, the first bar not among them."""
        return even_breaks(self.strip.widths(stretches.values()), self.job.paper.inner_width, self.strip.start)

    def prepared(self, stretches: Stretches, systems: Sequence[int] = ()) -> tuple[str, tuple[str, ...]]:
        """Return what is drawn, and the ids of the bars that begin its systems (none where the source says where they end).

        Head, carriers and breaks are put into the engraver's document, and what makes bars wider; ``systems``: how many each page has.
        """
        job, tree = self.job, parsed(self.mei, blanks=False)
        starts: tuple[str, ...] = ()
        if job.breaks != "source":
            begins = self.begins(stretches)
            starts = mei.set_breaks(tree, begins, [begins[place - 1] for place in list(accumulate(systems))[:-1]])
        if len(job.score.parts) == 1:
            mei.drop_labels(tree)
        mei.widen(tree, stretches)
        mei.set_head(tree, keep_room(head_lines(job.document, job.score, job.paper)))
        mei.add_carriers(tree, job.markings.marks, job.first_staves())
        mei.add_signs(tree, self.signs)
        if job.style.note_names_on_anchors:
            mei.add_note_names(tree, job.markings.marks, job.markings.anchors, job.first_staves(), job.language)
        return etree.tostring(tree, encoding="unicode"), starts


def _fitted(drawing: Drawing, stretches: Stretches, widenings: int, before: Sequence[Stretch] = ()) -> tuple[Laid, int]:
    """Draw with more and more room until each bracket has a place; with wider bars, as often as may be, while one is too short.

    ``before`` are those that were too short before the last widening: where they are no wider now, more of it would not help.
    """
    found: list[tuple[Laid, int]] = []
    for room in range(len(ROOM)):
        paper = replace(drawing.job.paper, top=ROOM[room]["pageMarginTop"])
        for pages in _fillings(drawing, stretches, room):
            trees = [parsed(page, blanks=False) for page in pages]
            laid = lay(replace(drawing.job, paper=paper), trees, last_room=room + 1 == len(ROOM))
            if laid.narrow and widenings and laid.narrow != before:
                return _fitted(drawing, with_more(stretches, laid.narrow), widenings - 1, laid.narrow)
            found.append((laid, arrange(laid)))
            if not found[-1][1]:
                return found[-1]
    return min(found, key=lambda each: (each[1], len(each[0].narrow)))


def _fillings(drawing: Drawing, stretches: Stretches, room: int) -> Iterator[list[str]]:
    """Draw the pages. If the last has next to nothing on it: without it, or with its systems shared by the last ones, or as they fall."""
    job, (document, starts) = drawing.job, drawing.prepared(stretches)
    if job.breaks != "source" and job.full_pages and not job.paper.bare:
        pages, systems = _filled(job, document, starts, room)
        if pages:
            yield pages
            return
        for closer in CLOSE if len(systems) <= FEW_PAGES and 3 * systems[-1] < systems[-2] else ():
            pages, _ = _filled(job, document, starts, room, len(systems) - 1, closer)
            if pages:
                yield pages
                break
        pages, there = _filled(job, *drawing.prepared(stretches, even_pages(systems)), room)
        if pages and len(there) == len(systems):
            yield pages
    yield ask("pages", document, _options(job, document, room), len(job.copy.printed))["pages"]


def _filled(
    job: Job, document: str, starts: Sequence[str], step: int, most: int = sys.maxsize, closer: Mapping[str, Any] = MappingProxyType({})
) -> tuple[list[str], list[int]]:
    """Return pages, if they are well filled and at most so many (else none), and how many systems each has."""
    more = {"systems": starts, "most": most}
    answer = ask("filled", document, _options(job, document, step) | dict(closer), len(job.copy.printed), more=more)
    return answer.get("pages", []), answer["systems"]


def _options(job: Job, document: str, step: int) -> dict[str, Any]:
    """Return what the engraver is told for the pages."""
    room = ROOM[step]
    return page_options(job.style, job.paper) | room | {
        "breaks": "encoded" if "<pb" in document else "line",
        "xmlIdSeed": 20001,
        "svgViewBox": True,
        "justifyVertically": job.full_pages and not job.paper.bare,
        "header": "none" if job.paper.bare else "auto",
        "svgAdditionalAttribute": LINKS,
        "pageMarginLeft": MARGIN,
        "pageMarginRight": MARGIN,
        "pageMarginBottom": room["pageMarginTop"] + FOOT,
        "defaultTopMargin": AROUND[step],
        "defaultBottomMargin": AROUND[step],
    }
