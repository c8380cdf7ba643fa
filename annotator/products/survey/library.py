"""The library: every score below some folders, and the bytes of one of them.

Conventions
-----------
* Scores are told by the ends of their names. A file that was named itself is taken whatever its name is.
* Links are followed, but each folder is entered once and each file counts once, however many names lead to it; so circles of links end.
  A copy, a file of its own with the same content, is listed too.
* What begins with a dot is hidden and left alone. The order is that of the names, folder by folder, so it is the same everywhere.
* A plain copy made by this program (``x-plain.musicxml`` beside ``x.mxl``) is told by its name: it holds
  nothing of ours. Marked copies are told by their marks, when they are read.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from annotator.errors import MissingError
from annotator.formats.formats import ENDINGS as CONVERTED
from annotator.products.survey.measures import Failed, LeftOut

ENDINGS = (".musicxml", ".xml", ".mxl", *CONVERTED)
"""How the names of scores end: MusicXML, and what is converted to it."""
PLAIN, MARKED = "-plain", "-marked"
PLAIN_COPY = "a plain copy made by this program"


@dataclass(frozen=True, slots=True)
class Found:
    """A file found: its path as it will be shown, and what tells whether it changed: size, times in nanoseconds, number on the disk."""

    path: str
    size: int
    modified: int
    changed: int
    inode: int


@dataclass(slots=True)
class Walk:
    """One walk through folders. ``failed`` and ``left_out`` grow while it goes on."""

    failed: list[Failed] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)
    _entered: set[tuple[int, int]] = field(default_factory=set)
    _seen: set[tuple[int, int]] = field(default_factory=set)

    def files(self, sources: Sequence[str]) -> Iterator[Found]:
        """Yield every score below the sources, which are folders or files."""
        for source in sources:
            try:
                status = os.stat(source)  # noqa: PTH116
            except (OSError, ValueError) as error:
                missing = isinstance(error, FileNotFoundError)
                self._fail(source, "no such folder" if missing else f"cannot be read: {_reason(error)}")
                continue
            if stat.S_ISDIR(status.st_mode):
                yield from self._below(source)
            else:
                yield from self._file(source, status)

    def _below(self, folder: str) -> Iterator[Found]:
        """Yield the scores below a folder; the folders still to enter wait in a row, so depth costs nothing."""
        waiting = [folder]
        while waiting:
            place = waiting.pop()
            try:
                status = os.stat(place)  # noqa: PTH116
                if (status.st_dev, status.st_ino) in self._entered:
                    continue
                self._entered.add((status.st_dev, status.st_ino))
                with os.scandir(place) as entries:
                    inside = sorted((entry for entry in entries if not entry.name.startswith(".")), key=lambda entry: entry.name)
            except OSError as error:
                self._fail(place, f"cannot be read: {_reason(error)}")
                continue
            folders = []
            stems = {_stem(entry.name).removesuffix(MARKED) for entry in inside}
            for entry in inside:
                if _is_folder(entry):
                    folders.append(entry.path)
                elif _name(entry.name).lower().endswith(ENDINGS):
                    yield from self._entry(entry, stems)
            waiting.extend(reversed(folders))

    def _entry(self, entry: os.DirEntry[str], stems: set[str]) -> Iterator[Found]:
        stem = _stem(entry.name)
        if stem.endswith(PLAIN) and stem.removesuffix(PLAIN) in stems:
            self.left_out.append(LeftOut(shown(entry.path), PLAIN_COPY))
            return
        try:
            status = os.stat(entry.path)  # noqa: PTH116 - the entry's own may lack the number on the disk
        except OSError as error:
            self._fail(entry.path, f"cannot be read: {_reason(error)}")
            return
        yield from self._file(entry.path, status)

    def _file(self, path: str, status: os.stat_result) -> Iterator[Found]:
        one = (status.st_dev, status.st_ino)
        if not stat.S_ISREG(status.st_mode) or one in self._seen:
            return
        self._seen.add(one)
        yield Found(path, status.st_size, status.st_mtime_ns, status.st_ctime_ns, status.st_ino)

    def _fail(self, path: str, message: str) -> None:
        self.failed.append(Failed(shown(path), message, MissingError.exit_code))


def bytes_of(path: str, most: int) -> bytes:
    """Return a file's bytes, at most one more than ``most``. Raises a ``MissingError``."""
    try:
        with Path(path).open("rb") as stream:
            return stream.read(most + 1)
    except (OSError, ValueError) as error:
        raise MissingError(f"cannot be read: {_reason(error)}") from error


def shown(path: str) -> str:
    """Return a path as text that can be written anywhere: bytes of a name that are no UTF-8 become question marks."""
    return path.encode("utf-8", "replace").decode()


def _name(name: str) -> str:
    """Return a file's name without the ending that says it is packed."""
    return name.removesuffix(".gz")


def _stem(name: str) -> str:
    return _name(name).rpartition(".")[0]


def _is_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:
        return False


def _reason(error: Exception) -> str:
    return getattr(error, "strerror", None) or str(error)
