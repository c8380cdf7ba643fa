"""Copies of one score: the marked one (MusicXML, PDF, pictures) and the plain one; a practice series.

A marked copy of the user's document is written; the pages are engraved from the document itself. Nothing is written to the source, and
every file is complete or absent.

A practice series has less help from step to step: all marks, as in any marked copy; brackets with their names, nothing grey and no note
names beside the notes to read; brackets to be named, room to write in place of the words; the plain score. No step gives back what an
earlier one took away: a style that is worded or greyed less to begin with keeps what it lacks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from annotator.marks.corrections import find_corrected
from annotator.marks.marking import Markings, markings
from annotator.marks.report import Report
from annotator.marks.style import WORDLESS, Style, load_style
from annotator.music.score import Score
from annotator.musicxml.files import PLAIN, output_path, serialise
from annotator.musicxml.marks import write_marks
from annotator.musicxml.record import take_out
from annotator.options.settings import MOST_STEPS, Options, options_of
from annotator.products.planning import Plan, Planned
from annotator.reading import Document, load, read_document, shown_path, source_bytes
from annotator.reading.container import GZIP
from annotator.words.phrases import heading

PNG_DPI = 200


@dataclass(frozen=True, slots=True)
class Step:
    """One copy of a series.

    ``word`` is what its file's name gets, ``report`` and ``style`` are what it shows and how, ``head`` is the line that says which copy
    it is, ``legend`` what its page foot says in place of the usual; both empty where there is nothing special to say.
    """

    word: str
    report: Report
    style: Style
    head: str = ""
    legend: str = ""


def series(report: Report, style: Style, steps: int) -> tuple[Step, ...]:
    """Return the first ``steps`` (1 to 4) of the series."""
    language = report.language
    named = replace(style, greying=False, note_names_on_anchors=False)
    to_name = named if style.labels in WORDLESS else replace(named, labels="blank")
    shown = ((report, style), (report, named), (report, to_name), (replace(report, figures=()), named))
    return tuple(
        Step(
            f"marked-step-{number}",
            what,
            look,
            heading("step", language, step=number, steps=steps) if steps > 1 else "",
            heading("foot-step-4", language) if number == MOST_STEPS else "",
        )
        for number, (what, look) in enumerate(shown[:steps], 1)
    )


def unmarked(source: Path | str | bytes) -> tuple[Document, Score]:
    """Load a score, take out what we once marked in it, and read it."""
    document = take_out(load(source))
    return document, read_document(document)


def found(score: Score, options: Options, style: Style, whole: Score | None = None) -> tuple[Report, tuple[str, ...]]:
    """Return the figures of a score (an excerpt of a ``whole``) that a style shows, corrected, and what there is to tell of corrections."""
    return find_corrected(score, with_style(options, style), whole)


def plan_marks(source: Path, options: Options, data: bytes | None = None) -> Plan[Report]:
    """Plan the marked copies of a score: one, or a practice series of so many ``steps`` as the options say.

    Carried out, the plan raises an ``EngraverError``, as any fault in drawing pages, only after the marked MusicXML has been written, where
    that is wanted. ``data`` are the bytes of the score where it lies in no file; ``source`` then gives the copies their name.
    """
    style = load_style(options.style)
    document, score = unmarked(source if data is None else data)
    report, corrections = found(score, options, style)
    shown = (Step("marked", report, style),) if options.steps is None else series(report, style, options.steps)
    files: list[tuple[Step, Markings, Planned]] = []
    notices: list[str] = []
    for step in shown:
        target = _place(source, step.word, document, options.out)
        marked = markings(step.report)
        copy, unwritten = write_marks(document, score, marked, step.style, options.language)
        notices += unwritten
        files.append((step, marked, Planned(target, serialise(copy))))

    def make(left_out: set[str]) -> Iterator[tuple[Path, bytes]]:
        """Give the marked MusicXML, then the pages of each copy."""
        if "musicxml" in options.formats:
            yield from ((file.path, file.data or b"") for *_, file in files)
        if set(options.formats) != {"musicxml"}:
            for file, pages in _engraved(document, score, files, options, left_out):
                yield from _pictures(file.path.with_suffix(""), pages, score, options, left_out)

    planned = tuple(each for *_, file in files for each in _planned(file, options.formats))
    told = (*score.repairs, *corrections, *dict.fromkeys(notices))
    return Plan(source, report, planned, make, told, options.out, options.force)


def plan_plain(source: Path, out: Path | None, force: bool, given: bytes | None = None) -> Plan[None]:
    """Plan the plain copy of a score (see ``plain_bytes``); ``given`` are its bytes where it lies in no file."""
    data, document = plain_bytes(source_bytes(source) if given is None else given, shown_path(source) if given is None else None)
    target = _place(source, PLAIN, document, out)
    return Plan(source, None, (Planned(target, data),), lambda _left_out: [(target, data)], document.notices, out, force)


def mark(path: Path | str, out: Path | str | None = None, style: Path | str = "default", **options: Any) -> Report:
    """Write the marked copies of a score, MusicXML and PDF unless ``formats`` says otherwise, and return the report.

    ``out`` is a folder (None: the score's own), made if it is not there; ``style`` a style's name or file. The other ``options`` are those
    that ``annotator mark -h`` lists, under the same names and with the same values; the project file is not looked at. Raises an
    ``AnnotatorError``, a ``UsageError`` for an option that is none.

    >>> from tempfile import TemporaryDirectory
    >>> from annotator import example
    >>> with TemporaryDirectory() as folder:
    ...     report = mark(example("letter-by-the-window"), folder, style="light", bars="1-4", paper="letter")
    ...     print(*sorted(path.name for path in Path(folder).iterdir()))
    letter-by-the-window-marked.musicxml letter-by-the-window-marked.pdf
    >>> report.headline
    '44 notes, 19 to read'
    >>> mark("piece.musicxml", langauge="de")
    Traceback (most recent call last):
    annotator.errors.UsageError: there is no setting 'langauge': did you mean 'language'?
    """
    chosen = options_of({"out": out, "style": style, **options}, "mark")
    return plan_marks(Path(path), chosen).write().report


def plain(path: Path | str, out: Path | str | None = None, **options: Any) -> Path:
    """Write the plain copy of a marked score and return its path: everything as it was before. Raises an ``AnnotatorError``.

    ``out`` is a folder (None: the score's own); of the ``options`` there is ``force``, to write over a file that is not this program's own.

    >>> from tempfile import TemporaryDirectory
    >>> from annotator import example
    >>> with TemporaryDirectory() as folder:
    ...     _ = mark(example("letter-by-the-window"), folder, formats="musicxml")
    ...     copy = plain(Path(folder, "letter-by-the-window-marked.musicxml"))
    ...     print(copy.name, copy.read_bytes() == example("letter-by-the-window").read_bytes())
    letter-by-the-window-plain.musicxml True
    """
    chosen = options_of({"out": out, **options}, "plain")
    return plan_plain(Path(path), chosen.out, chosen.force).write().files[0]


def plain_bytes(data: bytes, name: str | None = None) -> tuple[bytes, Document]:
    """Return a score given as bytes with our marks taken out, and its document; without marks, byte for byte the source.

    A source that is no MusicXML as it stands (another format, a gzip file) comes out as MusicXML. ``name`` is what messages call it.
    """
    document = load(data, name)
    bare = take_out(document)
    as_it_is = bare is document and not document.notices and not data.startswith(GZIP)
    return data if as_it_is else serialise(bare), bare


def _place(source: Path, word: str, document: Document, out: Path | None) -> Path:
    """Return where a copy goes: an ``.mxl`` stays one, all else is written as ``.musicxml``; ``x.abc.gz`` makes ``x-marked``."""
    unpacked = source.with_suffix("") if source.suffix.lower() == ".gz" else source
    return output_path(unpacked, word, ".mxl" if document.archive is not None else ".musicxml", out)


def with_style(options: Options, style: Style) -> Options:
    """Let the style say which kinds are shown, and how many notes a label must save, where the user did not."""
    kinds = tuple(style.kinds) if options.kinds is None and style.kinds else options.kinds
    return replace(options, kinds=kinds, saves=options.saves or style.saves)


def _engraved(
    document: Document, score: Score, files: Sequence[tuple[Step, Markings, Planned]], options: Options, left_out: set[str]
) -> Iterator[tuple[Planned, tuple[str, ...]]]:
    """Yield each copy with its pages. The engraver is imported here: a report needs none."""
    from annotator.pages.engraving import engrave
    from annotator.pages.mei import Import
    from annotator.pages.paper import Extra, HeadLine, paper_of

    taken_in = Import(document, files[0][0].style, paper_of(options.paper))
    left_out.update(taken_in.copy.left_out)
    for step, marked, file in files:
        head = (HeadLine(step.head, "start", 11.0, True),) if step.head else ()
        paper = replace(paper_of(options.paper), extra=Extra(head, legend=step.legend))
        language = step.report.language
        yield file, engrave(document, score, marked, step.style, paper, options.breaks, language, taken_in=taken_in).pages


def _planned(score: Planned, formats: Sequence[str]) -> list[Planned]:
    """Return the files of a copy that are wanted: its MusicXML, its PDF, the first of its pictures."""
    stem = score.path.with_suffix("")
    there = {"musicxml": score, "pdf": Planned(stem.with_name(f"{stem.name}.pdf"))}
    there |= {ending: Planned(stem.with_name(f"{stem.name}-001.{ending}"), one_a_page=True) for ending in ("svg", "png")}
    return [file for name, file in there.items() if name in formats]


def _pictures(stem: Path, pages: Sequence[str], score: Score, options: Options, left_out: set[str]) -> Iterator[tuple[Path, bytes]]:
    """Yield the PDF and the single pages asked for. ``stem`` is their place without an ending; dots in it belong to the name.

    What cannot be drawn is added to ``left_out``.
    """
    from annotator.pages.pdf import write_pdf, write_png

    if "pdf" in options.formats:
        yield stem.with_name(f"{stem.name}.pdf"), write_pdf(pages, options.paper, score.title, score.composer, left_out)
    for number, page in enumerate(pages, start=1):
        place = f"{stem.name}-{number:03d}"
        if "svg" in options.formats:
            yield stem.with_name(f"{place}.svg"), page.encode()
        if "png" in options.formats:
            yield stem.with_name(f"{place}.png"), write_png(page, options.paper, PNG_DPI, left_out)
