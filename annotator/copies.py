"""Copies of one score: the marked one (MusicXML, PDF, pictures) and the plain one.

The user's document is marked in place and written; the pages are engraved from the document as it was before. Nothing is written to the
source, and every file is complete or absent.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from annotator.conversion.packing import GZIP
from annotator.errors import OutputError
from annotator.marking import Markings, markings
from annotator.pipeline import find_figures
from annotator.reading import Document, load, read_document, shown_path, source_bytes
from annotator.report import Report
from annotator.score import Score
from annotator.settings import BREAKS, FORMATS, PAPERS, Options, checked_choice
from annotator.steps import Step, only_step, series
from annotator.style import Style, load_style
from annotator.writing.document import serialise
from annotator.writing.files import Output, output_path, write_file
from annotator.writing.marks import take_out, write_marks

if TYPE_CHECKING:
    from annotator.engraving.importing import Import

PNG_DPI = 200


@dataclass(frozen=True, slots=True)
class Copying:
    """How copies are made: where to, in which look, on which paper, in which formats, and whether to write over strangers' files.

    ``out`` is a folder, or None for the source's own. ``formats`` are some of ``FORMATS``; MusicXML and PDF are always among them.
    ``breaks`` says whether lines are broken evenly or where the source breaks them (one of ``BREAKS``).
    """

    out: Path | None = None
    style: Style = field(default_factory=lambda: load_style("default"))
    paper: str = "a4"
    formats: tuple[str, ...] = ("musicxml", "pdf")
    force: bool = False
    breaks: str = "even"

    def __post_init__(self) -> None:
        """Refuse a paper, a kind of breaks or a format that is not there."""
        checked_choice("paper", self.paper, PAPERS)
        checked_choice("kind of breaks", self.breaks, BREAKS)
        for name in self.formats:
            checked_choice("format", name, FORMATS)


@dataclass(frozen=True, slots=True)
class Copy:
    """What came of one score: the report, the files written, and what there is to tell (repairs made in reading, marks without room)."""

    report: Report
    files: tuple[Path, ...]
    notices: tuple[str, ...] = ()


def mark_copy(source: Path, options: Options, copying: Copying) -> Copy:
    """Write the marked copies of a score.

    Raises an ``AnnotatorError``; an ``EngraverError``, as any fault in drawing pages, only after the marked MusicXML has been written.
    """
    return _mark_copies(source, options, copying, lambda report: (only_step(report, copying.style),))


def mark_series(source: Path, options: Options, copying: Copying, steps: int) -> Copy:
    """Write the marked copies of a practice series, of 1 to 3 ``steps``; else as ``mark_copy``, whose report it returns."""
    return _mark_copies(source, options, copying, lambda report: series(report, copying.style, steps))


def _mark_copies(source: Path, options: Options, copying: Copying, steps: Callable[[Report], tuple[Step, ...]]) -> Copy:
    """Write one marked copy for each step."""
    document = load(source)
    take_out(document)
    score = read_document(document)
    begun = _begun(document, copying)
    report = find_figures(score, with_style(options, copying.style))
    outputs: list[Output] = []
    notices: list[str] = []
    failure: Exception | None = None
    for step in steps(report):
        marked = markings(step.report, score)
        target = output_path(unpacked_name(source), step.word, extension_of(document), copying.out)
        pictures: list[Output] = []
        try:
            pictures = _pictures(target.with_suffix(""), _pages(document, score, marked, copying, step, begun), score, copying)
        except Exception as error:  # raised again below: no fault in drawing may cost the user the marked MusicXML
            failure = failure or error
        notices += write_marks(document, score, marked, step.style, options.language)
        outputs += [Output(target, serialise(document)), *pictures]
        take_out(document)
    make_folder(copying.out)
    for output in outputs:
        write_file(output.path, output.data, sources=(source,), force=copying.force)
    told = (*score.repairs, *(begun.copy.left_out if begun else ()), *dict.fromkeys(notices))
    if failure:
        for line in told:
            failure.add_note(line)
        raise failure
    return Copy(report, tuple(output.path for output in outputs), told)


def mark_bytes(data: bytes, options: Options, style: Style) -> tuple[bytes, tuple[str, ...]]:
    """Return the marked MusicXML of a score given as bytes, and what there is to tell."""
    document = load(data)
    take_out(document)
    score = read_document(document)
    report = find_figures(score, with_style(options, style))
    notices = write_marks(document, score, markings(report, score), style, options.language)
    return serialise(document), (*score.repairs, *notices)


def plain_bytes(data: bytes, name: str | None = None) -> tuple[bytes, Document]:
    """Return a score given as bytes with our marks taken out, and its document; without marks, byte for byte the source.

    A source that is no MusicXML as it stands (another format, a gzip file) comes out as MusicXML. ``name`` is what messages call it.
    """
    document = load(data, name)
    changed = take_out(document) or document.notices or data.startswith(GZIP)
    return serialise(document) if changed else data, document


def plain_copy(source: Path, out: Path | None, force: bool) -> tuple[Path, tuple[str, ...]]:
    """Write the plain copy of a score (see ``plain_bytes``); return where it is and what there is to tell of its source."""
    data, document = plain_bytes(source_bytes(source), shown_path(source))
    target = output_path(unpacked_name(source), "plain", extension_of(document), out)
    make_folder(out)
    write_file(target, data, sources=(source,), force=force)
    return target, document.notices


def extension_of(document: Document) -> str:
    """Return the ending of a copy: an ``.mxl`` stays one, all else is written as ``.musicxml``."""
    return ".mxl" if document.archive is not None else ".musicxml"


def unpacked_name(source: Path) -> Path:
    """Return a source's path without the ending of a gzip file, so that ``x.abc.gz`` makes ``x-marked``."""
    return source.with_suffix("") if source.suffix.lower() == ".gz" else source


def make_folder(folder: Path | None) -> None:
    """Make the folder that the copies go to, if it is not there."""
    try:
        if folder is not None:
            folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{folder}: this folder cannot be made ({error.strerror}): choose another place with --out") from error


def with_style(options: Options, style: Style) -> Options:
    """Let the style say which kinds are shown where the user did not."""
    if options.kinds is not None or not style.kinds:
        return options
    return Options(**{**{name: getattr(options, name) for name in options.__slots__}, "kinds": tuple(style.kinds)})


def _begun(document: Document, copying: Copying) -> Import | None:
    """Let the engraver take the score in while its figures are looked for."""
    from annotator.engraving.importing import begun
    from annotator.engraving.paper import paper_of

    return begun(document, copying.style, paper_of(copying.paper))


def _pages(
    document: Document, score: Score, marked: Markings, copying: Copying, step: Step, begun: Import | None
) -> tuple[str, ...]:
    """Engrave the pages. The engraver is imported here: a report needs none."""
    from annotator.engraving.cairo_library import load_ahead
    from annotator.engraving.pages import engrave
    from annotator.engraving.paper import Extra, HeadLine, paper_of

    load_ahead()
    head = (HeadLine(step.head, "start", 11.0, True),) if step.head else ()
    paper = replace(paper_of(copying.paper), extra=Extra(head, legend=step.legend))
    return engrave(document, score, marked, step.style, paper, copying.breaks, step.report.language, begun)


def _pictures(stem: Path, pages: Sequence[str], score: Score, copying: Copying) -> list[Output]:
    """Return the PDF and the single pages asked for. ``stem`` is their place without an ending; dots in it belong to the name."""
    from annotator.engraving.pdf import write_pdf, write_png

    outputs = [Output(stem.with_name(f"{stem.name}.pdf"), write_pdf(pages, copying.paper, score.title, score.composer))]
    for number, page in enumerate(pages, start=1):
        place = stem.with_name(f"{stem.name}-{number:03d}")
        if "svg" in copying.formats:
            outputs.append(Output(place.with_name(place.name + ".svg"), page.encode()))
        if "png" in copying.formats:
            outputs.append(Output(place.with_name(place.name + ".png"), write_png(page, copying.paper, PNG_DPI)))
    return outputs
