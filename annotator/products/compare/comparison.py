"""The comparison of one score, from file to files: a PDF with plain and marked, and one page for the screen.

Nothing is written to the source, and every file is complete or absent.

Conventions: why a note is grey, its *reason*, is the names of the kinds whose figures make it so, alphabetically, with spaces between them;
any one of them suffices. What belongs to several notes (a beam, a tie) has the reasons of all of them, with commas between, and each must
hold.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from annotator.marks.marking import Markings, markings
from annotator.marks.report import Report
from annotator.marks.style import Style, load_style
from annotator.musicxml.files import output_path
from annotator.options.settings import Options, options_of
from annotator.pages.engraving import engrave
from annotator.pages.paper import Paper, head_lines, paper_of, rights
from annotator.pages.pdf import write_pdf
from annotator.pages.render_copy import render_copy
from annotator.products.compare.plain_and_marked import Cut, cut
from annotator.products.compare.screen import page
from annotator.products.compare.sheets import Sheet, facing_pages, pair_pages
from annotator.products.marked_copies import found, unmarked
from annotator.products.planning import Plan, Planned
from annotator.reading import Document
from annotator.words.phrases import comparing, foot_words, legend_words

NARROW = Paper(1140, 2970)
"""What music for a narrow window, a phone's, is engraved on: wide enough for one bar of quick notes or two of slow ones."""


def plan_comparison(source: Path, options: Options) -> Plan[Report]:
    """Plan plain and marked of a score as ``<stem>-compare.pdf`` and ``<stem>-compare.html``.

    In the PDF they stand system above system, or on facing pages. Raises an ``AnnotatorError``.
    """
    style = replace(load_style(options.style), covered=False)  # plain and marked are one engraving
    document, score = unmarked(source)
    report, told = found(score, options, style)
    paper = output_path(source, "compare", ".pdf", options.out)
    screen = paper.with_suffix(".html")

    def make(_left_out: set[str]) -> list[tuple[Path, bytes]]:
        """Make the page, then the PDF."""
        work = _Work(document, report, options, style, source.stem)
        on_screen = work.screen().encode("utf-8")
        return [(paper, work.paper()), (screen, on_screen)]

    return Plan(source, report, (Planned(paper), Planned(screen)), make, (*score.repairs, *told), options.out, options.force)


def compare(path: Path | str, out: Path | str | None = None, style: Path | str = "default", **options: Any) -> Report:
    """Write plain and marked of a score side by side, a PDF and a page for the browser, and return the report.

    The options are those of ``annotator compare``, as for ``annotator.mark``. Raises an ``AnnotatorError``.
    """
    chosen = options_of({"out": out, "style": style, **options}, "compare")
    return plan_comparison(Path(path), chosen).write().report


class _Work:
    """What page and PDF are made from; the score is engraved once for each way of filling pages."""

    def __init__(self, document: Document, report: Report, options: Options, style: Style, stem: str) -> None:
        self._document, self._report, self._options, self._style = document, report, options, style
        self._score, self._paper = report.score, paper_of(options.paper)
        self._marks = markings(report)
        self._why = reasons(report, self._marks)
        self._ids = render_copy(document).names
        self._head = head_lines(document, report.score, self._paper)
        legend = foot_words(style.greying, style.labels == "blank", report.language, editors=self._marks.editors)
        self._legend = legend_words(legend, any(mark.unnamed for mark in self._marks.marks), report.language)
        self._title = " ".join(report.score.title.split()) or stem
        self._close = self._cut(self._paper, options.breaks)

    def _cut(self, paper: Paper, breaks: str, full_pages: bool = False) -> Cut:
        language = self._report.language
        made = engrave(self._document, self._score, self._marks, self._style, paper, breaks, language, self._why, full_pages)
        return cut(made.pages, {name: [self._ids[note.number] for note in figure.notes] for name, figure in self._report.figures}, paper)

    def paper(self) -> bytes:
        """Return the PDF."""
        language = self._report.language
        words = (comparing("plain", language), comparing("marked", language))
        sheet = Sheet(self._style, self._score.title, self._legend, rights(self._document))
        if self._options.facing:
            front = [self._report.headline, *(comparing(f"front-{each}", language) for each in ("left", "print", "screen"))]
            pages = facing_pages(self._cut(self._paper, self._options.breaks, full_pages=True), sheet, words, front, self._head)
        else:
            pages = pair_pages(self._close, sheet, words)
        return write_pdf(pages, self._options.paper, self._score.title, self._score.composer)

    def screen(self) -> str:
        """Return the page."""
        return page(
            self._report,
            [self._close, self._cut(NARROW, "even")],
            self._ids,
            self._style,
            grey_counts(self._report, self._why),
            title=self._title,
            people=[line.text for line in self._head if line.side != "middle"],
            legend=self._legend,
            rights=rights(self._document),
        )


def reasons(report: Report, markings: Markings) -> Mapping[int, str]:
    """Return the reason of each grey note by its number; a tied-on note has that of the note it continues."""
    kinds: dict[int, set[str]] = {}
    for _, figure in report.figures:
        for note in figure.grey:
            kinds.setdefault(note.number, set()).add(figure.kind)
    tied = [note for part in report.score.parts for note in part.notes if note.continues is not None]
    for note in sorted(tied, key=lambda note: (note.tick, note.number)):
        if note.continues in kinds:
            kinds.setdefault(note.number, set()).update(kinds[note.continues])
    return {number: " ".join(sorted(kinds[number])) for number in sorted(markings.grey) if number in kinds}


def grey_counts(report: Report, why: Mapping[int, str]) -> Mapping[str, int]:
    """Return how many of the notes that count are grey for each reason, reasons alphabetically."""
    return dict(sorted(Counter(why[number] for number in report.grey_numbers).items()))
