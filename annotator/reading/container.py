"""From a named file to the bytes of a score: files and pipes, gzip, and the ``.mxl`` archive, without waiting and without believing.

Conventions
-----------
* A regular file is read. So is a pipe that somebody else holds open for writing (``<(…)`` of a shell, ``/dev/stdin``), to its end. A named
  pipe that nobody writes to, a device, a socket, a folder: told, not waited for.
* Go by content, not by suffix: an archive starts with ``PK``. Nothing is unpacked to disk. Sizes are checked in the archive's own table
  first, and again while unpacking, because the table can lie; those of a gzip file while unpacking.

Source: POSIX ``open`` (``O_NONBLOCK`` on a FIFO returns at once) and ``read`` (0 bytes where no process has the pipe open for writing);
RFC 1952 (gzip); MusicXML 4.0, "Compressed .mxl files".
"""

from __future__ import annotations

import io
import os
import select
import stat
import time
import zlib
from pathlib import Path
from typing import TYPE_CHECKING

from annotator.errors import MissingError, ScoreError
from annotator.reading.document import LIMITS, Limits

if TYPE_CHECKING:
    from zipfile import ZipFile, ZipInfo

PATIENCE = 30.0
"""Seconds that a pipe may be silent before it is given up."""

WRITER_PATIENCE = 1.0
"""Seconds that a pipe without a writer is given to get one."""

GZIP = b"\x1f\x8b"
ARCHIVE = (b"PK\x03\x04", b"PK\x05\x06")

_FLAGS = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOCTTY", 0)


def shown_path(source: Path | str) -> str:
    """Return a path as messages show it, whatever bytes it is made of."""
    return str(source).encode("utf-8", "replace").decode()


def source_bytes(source: Path | str, limits: Limits = LIMITS) -> bytes:
    """Return the bytes of a file, at most one more than allowed. Raises ``MissingError`` where there is nothing to read."""
    path = Path(source)
    try:
        _refuse(path.stat().st_mode)
        descriptor = os.open(path, _FLAGS)
        try:
            found = os.fstat(descriptor)
            _refuse(found.st_mode)
            if stat.S_ISFIFO(found.st_mode):
                return _piped(descriptor, limits.file + 1)
            with os.fdopen(descriptor, "rb", closefd=False) as stream:
                expected = min(found.st_size, limits.file) + 1  # a great buffer for a small file takes its time
                data = stream.read(expected)
                return data if len(data) < expected else data + stream.read(limits.file + 1 - expected)
        finally:
            os.close(descriptor)
    except MissingError as error:
        raise error.at(shown_path(source)) from error.__cause__
    except FileNotFoundError as error:
        raise MissingError(f"{shown_path(source)}: no such file") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise MissingError(f"{shown_path(source)}: cannot be read: {reason}") from error


def _refuse(mode: int) -> None:
    """Refuse what is neither a regular file nor a pipe."""
    if stat.S_ISDIR(mode):
        raise MissingError("is a folder, not a score")
    if not (stat.S_ISREG(mode) or stat.S_ISFIFO(mode)):
        raise MissingError("is a socket, not a file" if stat.S_ISSOCK(mode) else "is a device, not a file")


def _piped(descriptor: int, most: int) -> bytes:
    """Return what comes through a pipe until its writers are done."""
    data, begun = bytearray(), time.monotonic()
    while len(data) < most:
        try:
            piece = os.read(descriptor, min(1 << 16, most - len(data)))
        except BlockingIOError:  # somebody holds it open, and is at work
            if select.select([descriptor], [], [], PATIENCE)[0]:
                continue
            raise MissingError(f"is a pipe that gave nothing for {PATIENCE:.0f} seconds: write the score to a file first") from None
        data += piece
        if not piece and (data or time.monotonic() - begun > WRITER_PATIENCE):
            break
        if not piece:  # nobody writes to it yet
            time.sleep(0.01)
    if not data:
        raise MissingError("is a pipe that nobody writes to: give a file")
    return bytes(data)


def unzipped(data: bytes, limits: Limits) -> bytes:
    """Return what a gzip file holds; other bytes as they are."""
    if not data.startswith(GZIP):
        return data
    most = min(limits.entry, max(limits.ratio_from, len(data) * limits.ratio))
    stream = zlib.decompressobj(wbits=31)
    try:
        content = stream.decompress(data, most + 1)
    except zlib.error as error:
        raise ScoreError(f"damaged gzip file ({error}): save the score again") from error
    if len(content) > most:
        raise ScoreError(f"the gzip file unpacks to more than the limit of {most} bytes")
    if not stream.eof:
        raise ScoreError("the gzip file breaks off: save the score again")
    return content


def is_archive(data: bytes) -> bool:
    """Return whether the bytes begin as a ZIP archive does."""
    return data.startswith(ARCHIVE)


def unpack(data: bytes, limits: Limits) -> dict[str, bytes]:
    """Return the entries of an archive by their names, in order."""
    import zipfile

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            infos = archive.infolist()
            _check_table(infos, limits)
            return {info.filename: _unpacked(archive, info, limits) for info in infos}
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError, OSError) as error:
        raise ScoreError(f"damaged archive ({error}): save the score again as .mxl or .musicxml") from error


def _check_table(infos: list[ZipInfo], limits: Limits) -> None:
    """Refuse an archive by its table alone: too many or too large entries, unsafe or double names, encryption."""
    if len(infos) > limits.entries:
        raise ScoreError(f"the archive has {len(infos)} entries, more than the limit of {limits.entries}")
    if sum(info.file_size for info in infos) > limits.archive:
        raise ScoreError(f"the archive unpacks to more than the limit of {limits.archive} bytes")
    seen: set[str] = set()
    for info in infos:
        name = info.filename
        if name in seen:
            raise ScoreError(f"the archive has two entries named {name!r}")
        seen.add(name)
        # zipfile stops a name at a NUL and, where the system does so, turns separators: look at the name as it was stored
        stored = info.orig_filename
        if stored.startswith("/") or "\\" in stored or ".." in stored.split("/") or ":" in stored[:2] or "\0" in stored:
            raise ScoreError(f"the archive has an entry with an unsafe name, {stored!r}")
        if info.flag_bits & 0x1:
            raise ScoreError(f"the archive is encrypted ({name!r}): save the score without a password")
        if info.file_size > limits.entry:
            raise ScoreError(f"entry {name!r} unpacks to {info.file_size} bytes, more than the limit of {limits.entry}")
        if info.file_size > limits.ratio_from and info.file_size > limits.ratio * max(1, info.compress_size):
            raise ScoreError(f"entry {name!r} is packed more than {limits.ratio}:1, as no score is")


def _unpacked(archive: ZipFile, info: ZipInfo, limits: Limits) -> bytes:
    """Return the bytes of one entry; there may not be more than its table entry said, which was held against the limits."""
    if info.is_dir():
        return b""
    with archive.open(info) as stream:
        data = stream.read(min(limits.entry, info.file_size) + 1)
    if len(data) > info.file_size:
        raise ScoreError(f"entry {info.filename!r} is larger than the archive says")
    return data
