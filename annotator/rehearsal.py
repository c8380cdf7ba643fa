"""A rehearsal: what a run would write and whether it would be refused, found out without writing anything or starting the engraver.

Conventions
-----------
* Everything up to the pages is done as in the run itself, with the same messages and errors: reading, finding, marking.
* Pages are not made. How many there will be is not known, so pictures are told by their first one; a later one of a stranger's is told
  as what it is: in the way only of a score that has so many pages.
* A folder that is not there yet is not made. It could be if the nearest folder above it may be written to.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from annotator.copies import Copying, extension_of, plain_bytes, unpacked_name, with_style
from annotator.errors import OutputError
from annotator.marking import markings
from annotator.pipeline import find_figures
from annotator.reading import load, read_document, shown_path, source_bytes
from annotator.report import Report
from annotator.settings import Options
from annotator.steps import only_step, series
from annotator.writing.document import serialise
from annotator.writing.files import NEW, PLAIN, REPLACED, UNCHANGED, may_write, output_path
from annotator.writing.marks import take_out, write_marks
from annotator.writing.origin import made_by_us

if TYPE_CHECKING:
    from annotator.handout.making import Lesson

FATES = {NEW: "", REPLACED: " (in place of the one there)", UNCHANGED: " (there already, the same)"}
"""What is said of a file beside its name."""


@dataclass(frozen=True, slots=True)
class Foreseen:
    """A file that would be written: where, its bytes as far as they are known, and whether more of its kind follow, one a page."""

    path: Path
    data: bytes | None = None
    one_a_page: bool = False


def rehearse_marks(source: Path, options: Options, copying: Copying, steps: int | None = None) -> list[str]:
    """Return what marking a score would say and write, a series of ``steps`` or one copy. Raises what marking would raise."""
    document = load(source)
    take_out(document)
    score = read_document(document)
    report = find_figures(score, with_style(options, copying.style))
    told = list(score.repairs)
    files: list[Foreseen] = []
    for step in series(report, copying.style, steps) if steps is not None else (only_step(report, copying.style),):
        target = output_path(unpacked_name(source), step.word, extension_of(document), copying.out)
        told += write_marks(document, score, markings(step.report, score), step.style, options.language)
        files += [Foreseen(target, serialise(document)), *_pictures(target, copying)]
        take_out(document)
    return [*dict.fromkeys(told), *foretold(files, source, copying.out, copying.force, report)]


def rehearse_plain(source: Path, out: Path | None, force: bool) -> list[str]:
    """Return what taking the marks out of a score would say and write. Raises what taking them out would raise."""
    data, document = plain_bytes(source_bytes(source), shown_path(source))
    target = output_path(unpacked_name(source), PLAIN, extension_of(document), out)
    return [*document.notices, *foretold([Foreseen(target, data)], source, out, force)]


def rehearse_named(source: Path, options: Options, copying: Copying, endings: Iterable[tuple[str, str]]) -> list[str]:
    """Return what a command would say and write whose files are named after the score: a word and an extension (with its dot) each."""
    document = load(source)
    take_out(document)
    score = read_document(document)
    report = find_figures(score, with_style(options, copying.style))
    files = [Foreseen(output_path(source, word, extension, copying.out)) for word, extension in endings]
    return [*score.repairs, *foretold(files, source, copying.out, copying.force, report)]


def rehearse_handout(source: Path, options: Options, copying: Copying, lesson: Lesson) -> list[str]:
    """Return what a handout would say and write: with bars or a hand asked for, that of an excerpt. Raises what making it would raise."""
    from annotator.handout.making import FILES, prepare

    lecture = prepare(load(source), options, copying, lesson)
    files = [Foreseen(output_path(source, name, ".pdf", copying.out)) for name in FILES]
    return [*lecture.score.repairs, *foretold(files, source, copying.out, copying.force, lecture.report)]


def foretold(files: list[Foreseen], source: Path, out: Path | None, force: bool, report: Report | None = None) -> list[str]:
    """Return the lines about files that would be written; raise the ``OutputError`` that writing them would end with."""
    _check_folder(source.parent if out is None else out)
    names, later = [], []
    for file in files:
        fate = may_write(file.path, file.data, sources=(source,), force=force)
        names.append(file.path.name + (" (one a page)" if file.one_a_page else "") + FATES[fate])
        if file.one_a_page and not force:
            later += [f"{path} is not this program's own: in the way if there are so many pages" for path in _strangers(file.path)]
    headline = f"{report.headline}: " if report is not None else ""
    folder = "" if out is None else f"{out}: "
    return [*later, f"{headline}would write {folder}{', '.join(names)}"]


def _pictures(target: Path, copying: Copying) -> list[Foreseen]:
    """Return the pages of a copy: its PDF, and the first of the pictures asked for."""
    stem = target.with_suffix("")
    wanted = [ending for ending in ("svg", "png") if ending in copying.formats]
    first = [Foreseen(stem.with_name(f"{stem.name}-001.{ending}"), one_a_page=True) for ending in wanted]
    return [Foreseen(stem.with_name(f"{stem.name}.pdf")), *first]


def _strangers(first: Path) -> list[Path]:
    """Return the files in the places of later pages that this program did not make."""
    stem = first.stem.removesuffix("001")
    if not first.parent.is_dir():
        return []
    names = (path for path in first.parent.iterdir() if path.suffix == first.suffix and path.stem.startswith(stem))
    return sorted(path for path in names if path.stem.removeprefix(stem).isdigit() and path != first and not made_by_us(path))


def _check_folder(folder: Path) -> None:
    """Refuse a folder that is no folder, may not be written to, or could not be made."""
    there = folder
    while not os.path.lexists(there) and there != there.parent:
        there = there.parent
    if not there.is_dir() or not os.access(there, os.W_OK | os.X_OK):
        reason = "may not be written to" if there.is_dir() else "is no folder"
        raise OutputError(f"{folder}: this folder cannot be made or written to ({there} {reason}): choose another place with --out")
