"""From a score to the files for a lesson: the handout, the worksheet and its answers, and where asked for a covered copy.

Conventions
-----------
* The marked score looks as ``mark`` draws it. The worksheet has the look of the style ``worksheet``, staff and letters at least as large
  as those of the style asked for; a style whose labels are blank is taken as it is.
* The covered copy is asked for. It looks as the marked score does, which is its answer, but that grey notes have no heads; a style that
  greys nothing is taken as the shipped one for it.
* All files are complete before the first is written.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from annotator.marks.marking import markings
from annotator.marks.report import Report
from annotator.marks.style import Style, load_style
from annotator.musicxml.files import output_path
from annotator.options.settings import Options, options_of
from annotator.pages.paper import Extra, HeadLine, Paper
from annotator.pages.pdf import write_pdf
from annotator.products.handout.examples import of_each_kind, place_legend, warm_up_page
from annotator.products.handout.lesson import Lesson, prepare
from annotator.products.handout.look_through import look_through_page
from annotator.products.handout.sheet import Sheet, below_music, laid_over, numbered
from annotator.products.handout.worksheet import worksheets
from annotator.products.marked_copies import series
from annotator.products.planning import Plan, Planned

FILES = ("handout", "worksheet", "answers")
ONE_FILE = "lesson"
COVERED = "covered"


def plan_handout(source: Path, options: Options) -> Plan[Report]:
    """Plan the files of a lesson on a score beside it, or in the folder asked for. Raises an ``AnnotatorError``."""
    lesson = prepare(source, options)
    names = [ONE_FILE] if options.one_file else _names(options)
    places = [output_path(source, name, ".pdf", options.out) for name in names]

    def make(left_out: set[str]) -> list[tuple[Path, bytes]]:
        """Make the files."""
        made = pages_of(lesson)
        files = [in_print_order(made, lesson.paper)] if options.one_file else [made[name] for name in names]
        written = [write_pdf(pages, options.paper, lesson.score.title, lesson.score.composer, left_out) for pages in files]
        return list(zip(places, written, strict=True))

    files = tuple(Planned(path) for path in places)
    return Plan(source, lesson.report, files, make, (*lesson.score.repairs, *lesson.corrections), options.out, options.force)


def handout(path: Path | str, out: Path | str | None = None, style: Path | str = "default", **options: Any) -> Report:
    """Write the handout of a score, its worksheet and the answers, and return the report.

    The options are those of ``annotator handout``, as for ``annotator.mark``. Raises an ``AnnotatorError``.
    """
    chosen = options_of({"out": out, "style": style, **options}, "handout")
    return plan_handout(Path(path), chosen).write().report


def _names(options: Options) -> list[str]:
    """Return what the names of the files end in; the marked score is the first step of a series."""
    steps = [f"step-{number}" for number in range(2, (options.steps or 0) + 1)]
    return [*FILES, *([COVERED] if options.covered else []), *(["warm-up"] if options.warm_up else []), *steps]


def pages_of(lesson: Lesson) -> dict[str, tuple[str, ...]]:
    """Return the pages of each file, by what its name ends in. Raises an ``EngraverError``."""
    options = lesson.options
    files = {"handout": handout_pages(lesson)}
    files["worksheet"], files["answers"] = worksheets(lesson, worksheet_style(lesson.style))
    marked = markings(lesson.report)
    if options.covered:  # with the head of a worksheet
        files[COVERED] = lesson.engraved(marked, covered_style(lesson.style), lesson.sheet_extra(COVERED))
    if options.warm_up:
        files["warm-up"] = (warm_up_page(lesson),)
    for number, step in enumerate(series(lesson.report, lesson.style, options.steps or 1)[1:], 2):
        extra = Extra((HeadLine(lesson.headed(step.head), "start", 11.0, True),), lesson.said("permission"), step.legend)
        files[f"step-{number}"] = lesson.engraved(markings(step.report), step.style, extra)
    return files


def handout_pages(lesson: Lesson) -> tuple[str, ...]:
    """Return the pages of the handout: look-through page, marked score, legend, numbered through.

    The legend begins where the look-through page has room, and goes on below the music and behind it.
    """
    first = look_through_page(lesson)
    music = list(lesson.engraved(markings(lesson.report), lesson.style, Extra()))
    own = place_legend(of_each_kind(lesson), [first, below_music(music[-1], lesson.paper)], lesson.paper, lesson.language)
    for sheet in own:
        sheet.fill(lesson.language)
    music[-1] = laid_over(music[-1], own.pop(1))
    pages = len(music) + len(own)
    for number, sheet in zip((1, *range(len(music) + 2, pages + 1)), own, strict=True):
        sheet.foot(number, pages, lesson.score.title, lesson.said("permission"))
    return (own[0].to_svg(), *numbered(music, 1, len(own) - 1), *(sheet.to_svg() for sheet in own[1:]))


def in_print_order(files: Mapping[str, tuple[str, ...]], paper: Paper) -> tuple[str, ...]:
    """Return the pages of all files as one: the handout, what is made besides, worksheet, answers; each begins on a new sheet of paper."""
    pages: list[str] = []
    for name in [*(name for name in files if name not in FILES[1:]), *FILES[1:]]:
        pages += [Sheet(paper).to_svg()] if len(pages) % 2 else []
        pages += files[name]
    return tuple(pages)


def covered_style(style: Style) -> Style:
    """Return the look of the covered copy for a handout in a style."""
    return replace(style, covered=True) if style.greying else _as_large(load_style("covered"), style)


def worksheet_style(style: Style) -> Style:
    """Return the look of the worksheet for a handout in a style."""
    return style if style.labels == "blank" else _as_large(load_style("worksheet"), style)


def _as_large(own: Style, style: Style) -> Style:
    """Return a shipped look with staff and letters at least as large as those of the style asked for, in its letters."""
    return replace(own, unit=max(own.unit, style.unit), label_size=max(own.label_size, style.label_size), font=style.font)
