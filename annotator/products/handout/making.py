"""From a score to the files for a lesson: the handout, the worksheet and its answers, and where asked for a covered copy.

Conventions
-----------
* With bars or a hand asked for, everything is made of that excerpt as of a piece of its own: what is said on a page can be seen on it.
* The marked score looks as ``mark`` draws it. The worksheet has the look of the style ``worksheet``, staff and letters at least as large
  as those of the style asked for; a style whose labels are blank is taken as it is.
* The covered copy is asked for. It looks as the marked score does, which is its answer, but that grey notes have no heads; a style that
  greys nothing is taken as the shipped one for it.
* All files are complete before the first is written.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from annotator.marks.corrections import find_corrected
from annotator.marks.marking import markings
from annotator.marks.report import Report
from annotator.marks.style import Style, load_style
from annotator.music.score import Score
from annotator.musicxml.files import output_path
from annotator.options.settings import Options, options_of
from annotator.pages.engraving import engrave
from annotator.pages.mei import Import
from annotator.pages.paper import Extra, HeadLine, Paper, head_lines, paper_of
from annotator.pages.pdf import load_ahead, write_pdf
from annotator.products.excerpts import excerpt_of
from annotator.products.handout.examples import Source, of_each_kind, place_legend, warm_up_page
from annotator.products.handout.facts import look_through
from annotator.products.handout.look_through import look_through_page
from annotator.products.handout.sheet import Heading, Sheet, below_music, laid_over, numbered
from annotator.products.handout.worksheet import sheet_extra, worksheets
from annotator.products.marked_copies import series, unmarked, with_style
from annotator.products.planning import Plan, Planned
from annotator.reading import Document
from annotator.words.phrases import bars_words, line_words, title_words

FILES = ("handout", "worksheet", "answers")
ONE_FILE = "lesson"
COVERED = "covered"


@dataclass(frozen=True)
class Lecture:
    """A piece, or the excerpt asked for, ready to be handed out: what was found in it, and how it is to look."""

    document: Document
    report: Report
    options: Options
    style: Style
    heading: Heading
    corrections: tuple[str, ...] = ()

    @property
    def score(self) -> Score:
        """The piece, read."""
        return self.report.score

    @property
    def paper(self) -> Paper:
        """The paper asked for."""
        return paper_of(self.options.paper)

    @cached_property
    def begun(self) -> Import:
        """The document, taken in by the engraver once for all files. Raises an ``EngraverError``."""
        return Import(self.document, self.style, self.paper)

    @property
    def source(self) -> Source:
        """What its examples are taken from."""
        return Source(self.document, self.report, self.options, self.style)

    def engraved(self, report: Report, style: Style, paper: Paper) -> tuple[str, ...]:
        """Return its pages with the marks of a report."""
        marked = markings(report, self.score)
        return engrave(self.document, self.score, marked, style, paper, self.options.breaks, self.options.language, begun=self.begun).pages


def plan_handout(source: Path, options: Options) -> Plan[Report]:
    """Plan the files of a lesson on a score beside it, or in the folder asked for. Raises an ``AnnotatorError``."""
    lecture = prepare(source, options)
    names = [ONE_FILE] if options.one_file else [*FILES, *([COVERED] if options.covered else ()), *_further(options)]
    places = [output_path(source, name, ".pdf", options.out) for name in names]

    def make(left_out: set[str]) -> list[tuple[Path, bytes]]:
        """Make the files."""
        load_ahead()
        title, composer = lecture.score.title, lecture.score.composer
        files = [*pages_of_lecture(lecture), *further_pages(lecture)]
        if options.one_file:
            files = [in_print_order(files, lecture.paper)]
        made = [write_pdf(pages, options.paper, title, composer, left_out) for pages in files]
        return list(zip(places, made, strict=True))

    files = tuple(Planned(path) for path in places)
    return Plan(source, lecture.report, files, make, (*lecture.score.repairs, *lecture.corrections), options.out, options.force)


def handout(path: Path | str, out: Path | str | None = None, style: Path | str = "default", **options: Any) -> Report:
    """Write the handout of a score, its worksheet and the answers, and return the report.

    The options are those of ``annotator handout``, as for ``annotator.mark``. Raises an ``AnnotatorError``.
    """
    chosen = options_of({"out": out, "style": style, **options}, "handout")
    return plan_handout(Path(path), chosen).write().report


def pages_of_lecture(lecture: Lecture) -> tuple[tuple[str, ...], ...]:
    """Return the pages of each file."""
    pages = handout_pages(lecture)
    marked, style = markings(lecture.report, lecture.score), worksheet_style(lecture.style)
    worksheet, answers = worksheets(
        lecture.document, lecture.score, lecture.begun, marked, style, lecture.paper, lecture.options.breaks, lecture.heading
    )
    covered = (covered_pages(lecture),) if lecture.options.covered else ()
    return pages, worksheet, answers, *covered


def prepare(source: Path, options: Options) -> Lecture:
    """Return what is to be handed out."""
    style = load_style(options.style)
    document, whole = unmarked(source)
    told = [options.class_ or ""]
    score = whole
    if options.bars is not None or options.hand != "both":
        excerpt = excerpt_of(document, whole, options)
        document, score = excerpt.document, excerpt.score
        told += [bars_words(excerpt.spans, options.language)] if options.bars is not None else []
    if options.hand != "both":
        told.append(title_words(options.hand, options.language))
    options = replace(with_style(options, style), bars=None, hand="both")
    if options.title is not None:
        score = replace(score, title=options.title)
    lines = head_lines(document, score, paper_of(options.paper))
    composer = next((line.text for line in lines if line.side == "end"), "")
    heading = Heading(score.title, composer, " · ".join(filter(None, told)), options.language)
    report, told_of = find_corrected(score, options, whole)
    return Lecture(document, report, options, style, heading, told_of)


def handout_pages(lecture: Lecture) -> tuple[str, ...]:
    """Return the pages of the handout: look-through page, marked score, legend, numbered through.

    The legend begins where the look-through page has room, and goes on below the music and behind it.
    """
    paper, language = lecture.paper, lecture.options.language
    first = look_through_page(look_through(lecture.score, lecture.report), lecture.heading, paper)
    music = list(lecture.engraved(lecture.report, lecture.style, paper))
    own = place_legend(of_each_kind(lecture.source, paper), [first, below_music(music[-1], paper)], paper, language)
    for sheet in own:
        sheet.fill(language)
    music[-1] = laid_over(music[-1], own.pop(1))
    pages = len(music) + len(own)
    for number, sheet in zip((1, *range(len(music) + 2, pages + 1)), own, strict=True):
        sheet.foot(number, pages, lecture.score.title, line_words("permission", language))
    return (own[0].to_svg(), *numbered(music, 1, len(own) - 1), *(sheet.to_svg() for sheet in own[1:]))


def _further(options: Options) -> list[str]:
    """Return the names of the files that are made besides when they are asked for; the marked score is the first step of a series."""
    steps = [f"step-{number}" for number in range(2, (options.steps or 0) + 1)]
    return [*(["warm-up"] if options.warm_up else []), *steps]


def further_pages(lecture: Lecture) -> list[tuple[str, ...]]:
    """Return the pages of these files: the warm-up page, the copies of a practice series."""
    options, language = lecture.options, lecture.options.language
    files: list[tuple[str, ...]] = []
    if options.warm_up:
        files.append((warm_up_page(lecture.source, lecture.heading, lecture.paper),))
    for step in series(lecture.report, lecture.style, options.steps)[1:] if options.steps else ():
        head = HeadLine(" · ".join(filter(None, (lecture.heading.group, step.head))), "start", 11.0, True)
        on = replace(lecture.paper, extra=Extra((head,), line_words("permission", language), step.legend))
        files.append(lecture.engraved(step.report, step.style, on))
    return files


def in_print_order(files: Sequence[tuple[str, ...]], paper: Paper) -> tuple[str, ...]:
    """Return the pages of all files as one: the handout, what is made besides, worksheet, answers; each begins on a new sheet of paper."""
    handout, worksheet, answers, *others = files
    pages: list[str] = []
    for each in (handout, *others, worksheet, answers):
        if len(pages) % 2:
            pages.append(Sheet(paper).to_svg())
        pages += each
    return tuple(pages)


def covered_pages(lecture: Lecture) -> tuple[str, ...]:
    """Return the pages of the covered copy, with the head of a worksheet."""
    paper = replace(lecture.paper, extra=sheet_extra(lecture.heading, COVERED))
    return lecture.engraved(lecture.report, covered_style(lecture.style), paper)


def covered_style(style: Style) -> Style:
    """Return the look of the covered copy for a handout in a style."""
    return replace(style, covered=True) if style.greying else _as_large(load_style("covered"), style)


def worksheet_style(style: Style) -> Style:
    """Return the look of the worksheet for a handout in a style."""
    return style if style.labels == "blank" else _as_large(load_style("worksheet"), style)


def _as_large(own: Style, style: Style) -> Style:
    """Return a shipped look with staff and letters at least as large as those of the style asked for, in its letters."""
    return replace(own, unit=max(own.unit, style.unit), label_size=max(own.label_size, style.label_size), font=style.font)
