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
from pathlib import Path
from typing import Any

from annotator.marks.corrections import find_corrected
from annotator.marks.finding import parts_looked_at
from annotator.marks.marking import markings
from annotator.marks.report import Report
from annotator.marks.style import Style, load_style
from annotator.music.score import Score
from annotator.musicxml.files import Output, output_path
from annotator.musicxml.record import take_out
from annotator.options.settings import Options, options_of
from annotator.pages.engraving import engrave
from annotator.pages.paper import Extra, HeadLine, Paper, head_lines, paper_of
from annotator.pages.pdf import load_ahead, write_pdf
from annotator.products.excerpts import excerpt
from annotator.products.excerpts.selection import one_stretch
from annotator.products.handout.examples import Source, examples
from annotator.products.handout.filling import below_music, fill, laid_over, numbered
from annotator.products.handout.heading import Heading, draw_page_foot
from annotator.products.handout.legend import picture_width, place_legend
from annotator.products.handout.look_through import look_through
from annotator.products.handout.look_through_page import look_through_page
from annotator.products.handout.sheet import Sheet
from annotator.products.handout.warm_up import warm_up_page
from annotator.products.handout.worksheet import sheet_extra, worksheets
from annotator.products.marked_copies import Copying, copying_of, series
from annotator.products.planning import Made, Plan, Planned
from annotator.reading import Document, load, read_document
from annotator.words.handout import bars_words, line_words, title_words

FILES = ("handout", "worksheet", "answers")
ONE_FILE = "lesson"
COVERED = "covered"


@dataclass(frozen=True, slots=True)
class Lesson:
    """What a teacher says of a handout: a title in place of the score's, and the class it is for (``Grade 3, week 2``); None: nothing."""

    title: str | None = None
    group: str | None = None


@dataclass(frozen=True, slots=True)
class Lecture:
    """A piece, or the excerpt asked for, ready to be handed out: its document and score, what was found in it, and how it is to look."""

    document: Document
    score: Score
    report: Report
    options: Options
    copying: Copying
    heading: Heading
    corrections: tuple[str, ...] = ()


def plan_handout(source: Path, options: Options, copying: Copying, lesson: Lesson) -> Plan[Report]:
    """Plan the files of a lesson on a score beside it, or in the folder asked for. Raises an ``AnnotatorError``."""
    lecture = prepare(load(source), options, copying, lesson)
    names = [ONE_FILE] if options.one_file else [*FILES, *([COVERED] if options.covered else ()), *_further(options)]
    places = [output_path(source, name, ".pdf", copying.out) for name in names]

    def make() -> Made:
        """Make the files."""
        load_ahead()
        title, composer = lecture.score.title, lecture.score.composer
        files = [*pages_of_lecture(lecture), *further_pages(lecture)]
        if options.one_file:
            files = [in_print_order(files, paper_of(copying.paper))]
        left_out: set[str] = set()
        made = [write_pdf(pages, copying.paper, title, composer, left_out) for pages in files]
        return Made([Output(path, data) for path, data in zip(places, made, strict=True)], left_out=left_out)

    files = tuple(Planned(path) for path in places)
    return Plan(source, lecture.report, files, make, (*lecture.score.repairs, *lecture.corrections), copying.out, copying.force)


def handout(path: Path | str, out: Path | str | None = None, style: Path | str = "default", **options: Any) -> Report:
    """Write the handout of a score, its worksheet and the answers, and return the report.

    The options are those of ``annotator handout``, as for ``annotator.mark``. Raises an ``AnnotatorError``.
    """
    chosen = options_of({"out": out, "style": style, **options}, "handout")
    return plan_handout(Path(path), chosen, copying_of(chosen), Lesson(chosen.title, chosen.class_)).write().report


def pages_of_lecture(lecture: Lecture) -> tuple[tuple[str, ...], ...]:
    """Return the pages of each file."""
    pages = handout_pages(lecture)
    sheets = worksheets(
        lecture.document,
        lecture.score,
        markings(lecture.report, lecture.score),
        worksheet_style(lecture.copying.style),
        paper_of(lecture.copying.paper),
        lecture.copying.breaks,
        lecture.heading,
    )
    covered = (covered_pages(lecture),) if lecture.options.covered else ()
    return pages, sheets.worksheet, sheets.answers, *covered


def prepare(document: Document, options: Options, copying: Copying, lesson: Lesson) -> Lecture:
    """Return what is to be handed out; our marks are taken out of the document."""
    take_out(document)
    score = whole = read_document(document)
    told = [lesson.group or ""]
    if options.bars is not None or options.hand != "both":
        bars = next((part.bars for part in parts_looked_at(score, options) if part.bars), ())
        first, last = one_stretch(options.bars)
        first, last = first or (bars[0].number if bars else "1"), last or (bars[-1].number if bars else "1")
        little = excerpt(document, score, first, last, options.hand, options.parts)
        if options.bars is not None:
            told.append(bars_words(((first, last),), options.language))
        if options.hand != "both":
            told.append(title_words(options.hand, options.language))
        repairs = score.repairs
        document, score = little.document, replace(little.score, repairs=repairs)
    if options.kinds is None and copying.style.kinds:
        options = replace(options, kinds=tuple(copying.style.kinds))
    options = replace(options, bars=None, hand="both")
    if lesson.title is not None:
        score = replace(score, title=lesson.title)
    composer = next((line.text for line in head_lines(document, score, paper_of(copying.paper)) if line.side == "end"), "")
    heading = Heading(score.title, composer, " · ".join(filter(None, told)), options.language)
    report, told_of = find_corrected(score, options, whole)
    return Lecture(document, score, report, options, copying, heading, told_of)


def handout_pages(lecture: Lecture) -> tuple[str, ...]:
    """Return the pages of the handout: look-through page, marked score, legend, numbered through.

    The legend begins where the look-through page has room, and goes on below the music and behind it.
    """
    score, report, copying, language = lecture.score, lecture.report, lecture.copying, lecture.options.language
    paper = paper_of(copying.paper)
    first = look_through_page(look_through(score, report), lecture.heading, paper)
    music = list(engrave(lecture.document, score, markings(report, score), copying.style, paper, copying.breaks, language).pages)
    found = examples(Source(lecture.document, score, report, lecture.options, copying.style, picture_width(paper)))
    left = place_legend(found, [first, below_music(music[-1], paper)], paper, language)
    for room in left:
        fill(room, language)
    music[-1] = laid_over(music[-1], left[1].sheet)
    own = [left[0].sheet, *(room.sheet for room in left[2:])]
    pages = len(music) + len(own)
    for number, sheet in zip((1, *range(len(music) + 2, pages + 1)), own, strict=True):
        draw_page_foot(sheet, number, pages, score.title, line_words("permission", language), paper)
    return (own[0].to_svg(), *numbered(music, 1, len(own) - 1), *(sheet.to_svg() for sheet in own[1:]))


def _further(options: Options) -> list[str]:
    """Return the names of the files that are made besides when they are asked for; the marked score is the first step of a series."""
    steps = [f"step-{number}" for number in range(2, (options.steps or 0) + 1)]
    return [*(["warm-up"] if options.warm_up else []), *steps]


def further_pages(lecture: Lecture) -> list[tuple[str, ...]]:
    """Return the pages of these files: the warm-up page, the copies of a practice series."""
    options, copying, language = lecture.options, lecture.copying, lecture.options.language
    paper = paper_of(copying.paper)
    files: list[tuple[str, ...]] = []
    if options.warm_up:
        source = Source(lecture.document, lecture.score, lecture.report, options, copying.style, picture_width(paper))
        files.append((warm_up_page(source, lecture.heading, paper, line_words("permission", language)),))
    for step in series(lecture.report, copying.style, options.steps)[1:] if options.steps else ():
        head = HeadLine(" · ".join(filter(None, (lecture.heading.group, step.head))), "start", 11.0, True)
        on = replace(paper, extra=Extra((head,), line_words("permission", language), step.legend))
        marked = markings(step.report, lecture.score)
        files.append(engrave(lecture.document, lecture.score, marked, step.style, on, copying.breaks, language).pages)
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
    style, score = covered_style(lecture.copying.style), lecture.score
    paper = replace(paper_of(lecture.copying.paper), extra=sheet_extra(lecture.heading, COVERED))
    marked = markings(lecture.report, score)
    return engrave(lecture.document, score, marked, style, paper, lecture.copying.breaks, lecture.options.language).pages


def covered_style(style: Style) -> Style:
    """Return the look of the covered copy for a handout in a style."""
    if style.greying:
        return replace(style, covered=True)
    own = load_style("covered")
    return replace(own, unit=max(own.unit, style.unit), label_size=max(own.label_size, style.label_size), font=style.font)


def worksheet_style(style: Style) -> Style:
    """Return the look of the worksheet for a handout in a style."""
    if style.labels == "blank":
        return style
    own = load_style("worksheet")
    return replace(own, unit=max(own.unit, style.unit), label_size=max(own.label_size, style.label_size), font=style.font)
