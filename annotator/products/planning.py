"""Plans: what a run would write of a score and whether it would be refused, found out once. A dry run tells a plan, a run carries it out.

Conventions
-----------
* Planning does everything up to the pages: reading, finding, marking, with the messages and errors of these. It writes nothing and engraves
  nothing.
* What is refused is refused before anything is engraved. What has come into the way since is refused when it is met.
* Pages are made when the plan is carried out. How many there will be is not known before, so pictures are told by their first one.
* A folder that is not there yet is made when the plan is carried out. It can be if the nearest folder above it may be written to.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Generic, TypeVar

from annotator.errors import OutputError
from annotator.marks.report import Report
from annotator.musicxml.files import NEW, REPLACED, UNCHANGED, make_folder, may_write, write_file

FATES = {NEW: "", REPLACED: " (in place of the one there)", UNCHANGED: " (there already, the same)"}
"""What is said of a file beside its name."""

MESSAGES = "en"
"""The language of messages, whatever that of labels and tables."""

R = TypeVar("R", Report, None)
"""What a command found: a report, or nothing where it looks for no figures."""


@dataclass(frozen=True, slots=True)
class Planned:
    """A file to be written: where, its bytes as far as they are known, and whether more of its kind follow, one a page."""

    path: Path
    data: bytes | None = None
    one_a_page: bool = False


Make = Callable[[set[str]], Iterable[tuple[Path, bytes]]]
"""Makes files, each with its path. What is left out on their pages is added to the set."""


@dataclass(frozen=True, slots=True)
class Copy(Generic[R]):
    """What came of one score: the report, the files written, and what there is to tell (repairs made in reading, marks without room)."""

    report: R
    files: tuple[Path, ...]
    notices: tuple[str, ...] = ()

    @property
    def written(self) -> str:
        """The files in words, with their folder: ``marked/x-marked.musicxml, x-marked.pdf``."""
        first, *others = self.files
        return ", ".join([str(first), *(path.name for path in others)])


@dataclass(frozen=True, slots=True)
class Plan(Generic[R]):
    """What is to be written of a score: the files, what there is to tell, and ``make``, which makes them when the plan is carried out.

    ``out`` is the folder they go to, None for the source's own; with ``force`` they replace files of strangers.
    """

    source: Path
    report: R
    files: tuple[Planned, ...]
    make: Make
    notices: tuple[str, ...] = ()
    out: Path | None = None
    force: bool = False

    @property
    def headline(self) -> str:
        """The counts of the score and a colon, in the language of messages; nothing where no figures are looked for."""
        return f"{replace(self.report, language=MESSAGES).headline}: " if self.report is not None else ""

    def told(self) -> list[str]:
        """Return the lines of a dry run; raise the ``OutputError`` that writing would end with."""
        fates = self._fates()
        names = [
            file.path.name + (" (one a page)" if file.one_a_page else "") + FATES[fate]
            for file, fate in zip(self.files, fates, strict=True)
        ]
        folder = self.files[0].path.parent if self.files else Path()
        return [*self.notices, f"{self.headline}would write {folder / ', '.join(names)}"]

    def write(self) -> Copy[R]:
        """Make the files and write them. Raises an ``AnnotatorError``, on which is noted what there was to tell.

        What could be made is written even where something later could not: no fault in drawing may cost the user the marked MusicXML.
        """
        self._fates()
        files: dict[Path, bytes] = {}
        left_out: set[str] = set()
        failure: Exception | None = None
        try:
            for path, data in self.make(left_out):
                files[path] = data
        except Exception as error:
            failure = error
        if files and self.out is not None:
            make_folder(self.out)
        for path, data in files.items():
            write_file(path, data, sources=(self.source,), force=self.force)
        if failure is not None:
            for line in self.notices:
                failure.add_note(line)
            raise failure
        undrawn = [f"left out on the pages only: {what}" for what in sorted(left_out)]
        return Copy(self.report, tuple(files), self.notices + tuple(undrawn))

    def _fates(self) -> list[str]:
        """Return what becomes of the place of each file; raise an ``OutputError`` where one is taken, or the folder is no good."""
        _check_folder(self.source.parent if self.out is None else self.out)
        return [may_write(file.path, file.data, sources=(self.source,), force=self.force) for file in self.files]


def _check_folder(folder: Path) -> None:
    """Refuse a folder that is no folder, may not be written to, or could not be made."""
    there = folder
    while not os.path.lexists(there) and there != there.parent:
        there = there.parent
    if not there.is_dir() or not os.access(there, os.W_OK | os.X_OK):
        reason = "may not be written to" if there.is_dir() else "is no folder"
        raise OutputError(f"{folder}: this folder cannot be made or written to ({there} {reason}): choose another place with --out")
