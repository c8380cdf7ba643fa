"""A piece, or the excerpt of it that is asked for, ready to be handed out: what was found in it, and how its pages are to look.

Rule: with bars or a hand asked for, everything is made of that excerpt as of a piece of its own: what is said on a page can be seen on it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from annotator.marks.corrections import find_corrected
from annotator.marks.marking import Markings
from annotator.marks.report import Report
from annotator.marks.style import Style, load_style
from annotator.music.score import Score
from annotator.options.settings import Options
from annotator.pages.engraving import engrave
from annotator.pages.mei import Import
from annotator.pages.paper import Extra, HeadLine, Paper, head_lines, paper_of
from annotator.products.excerpts import excerpt_of
from annotator.products.marked_copies import unmarked, with_style
from annotator.reading import Document
from annotator.words.phrases import bars_words, line_words, title_words

BLANKS = ("_" * 30, "_" * 14)


@dataclass(frozen=True)
class Lesson:
    """A piece for a lesson; ``group`` says whom it is for, and which bars and hand it is; ``corrections`` what is said of these."""

    document: Document
    report: Report
    options: Options
    style: Style
    group: str = ""
    corrections: tuple[str, ...] = ()

    @property
    def score(self) -> Score:
        """The piece, read."""
        return self.report.score

    @property
    def language(self) -> str:
        """The language of its pages."""
        return self.options.language

    @cached_property
    def paper(self) -> Paper:
        """The paper asked for."""
        return paper_of(self.options.paper)

    @cached_property
    def composer(self) -> str:
        """The composer's name as the score's pages have it."""
        return next((line.text for line in head_lines(self.document, self.score, self.paper) if line.side == "end"), "")

    @cached_property
    def taken_in(self) -> Import:
        """The document, taken in by the engraver once for all files. Raises an ``EngraverError``."""
        return Import(self.document, self.style, self.paper)

    def engraved(
        self, marked: Markings, style: Style, extra: Extra, taken_in: Import | None = None, full_pages: bool = True
    ) -> tuple[str, ...]:
        """Return its pages with these marks; ``extra`` is what they carry besides. Raises an ``EngraverError``.

        ``taken_in`` is its import in the look of the style, where that is there; ``full_pages`` as for ``engrave``.
        """
        paper, breaks, taken_in = replace(self.paper, extra=extra), self.options.breaks, taken_in or self.taken_in
        return engrave(
            self.document, self.score, marked, style, paper, breaks, self.language, full_pages=full_pages, taken_in=taken_in
        ).pages

    def said(self, key: str) -> str:
        """Return a short line of the handout in its language."""
        return line_words(key, self.language)

    def titled(self, key: str) -> str:
        """Return a title or label of the handout in its language."""
        return title_words(key, self.language)

    def headed(self, text: str) -> str:
        """Return a line of a page's head: whom the lesson is for, and a text."""
        return " · ".join(filter(None, (self.group, text)))

    def name_line(self) -> str:
        """Return the line for the pupil's name and the date."""
        return f"{self.titled('name')} {BLANKS[0]}  {self.titled('date')} {BLANKS[1]}"

    def sheet_extra(self, kind: str) -> Extra:
        """Return what a sheet's first page carries beside title and names: its kind, lines for name and date, the notice on copying."""
        lines = (
            HeadLine("\u00a0", "middle", 3.0),  # air between the rows
            HeadLine(self.headed(self.titled(kind)), "middle", 11.0, True),
            HeadLine("\u00a0", "middle", 6.0),
            HeadLine(self.name_line(), "start", 11.0),
        )
        return Extra(lines, self.said("permission"), self.said("write") if kind == "worksheet" else "")


def prepare(source: Path, options: Options) -> Lesson:
    """Return what is to be handed out of a score. Raises an ``AnnotatorError``."""
    style = load_style(options.style)
    document, whole = unmarked(source)
    told = [options.class_ or ""]
    score = whole
    if options.bars is not None or options.hand != "both":
        excerpt = excerpt_of(document, whole, options)
        document, score = excerpt.document, excerpt.score
        told += [bars_words(excerpt.spans, options.language)] if options.bars is not None else []
        told += [title_words(options.hand, options.language)] if options.hand != "both" else []
    options = replace(with_style(options, style), bars=None, hand="both")
    if options.title is not None:
        score = replace(score, title=options.title)
    report, corrections = find_corrected(score, options, whole)
    return Lesson(document, report, options, style, " · ".join(filter(None, told)), corrections)
