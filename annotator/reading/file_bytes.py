"""The bytes of a file that was named, without ever waiting for one that gives none.

Conventions
-----------
* A regular file is read. So is a pipe that somebody else holds open for writing (``<(…)`` of a shell, ``/dev/stdin``), to its end.
* A named pipe that nobody writes to, a device, a socket, a folder: told, not waited for.

Source: POSIX ``open`` (``O_NONBLOCK`` on a FIFO returns at once) and ``read`` (0 bytes where no process has the pipe open for writing).
"""

from __future__ import annotations

import os
import select
import stat
import time
from pathlib import Path

from annotator.errors import MissingError
from annotator.reading.limits import Limits

PATIENCE = 30.0
"""Seconds that a pipe may be silent before it is given up."""

WRITER_PATIENCE = 1.0
"""Seconds that a pipe without a writer is given to get one."""

_CHUNK = 1 << 16
_KINDS = (
    (stat.S_ISDIR, "is a folder, not a score"),
    (stat.S_ISCHR, "is a device, not a file"),
    (stat.S_ISBLK, "is a device, not a file"),
    (stat.S_ISSOCK, "is a socket, not a file"),
)


def bytes_of(path: Path, limits: Limits) -> bytes:
    """Return a file's bytes, at most one more than allowed. Raises ``MissingError`` where there are none to read."""
    try:
        _refuse(path.stat().st_mode)
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOCTTY", 0))
        try:
            mode = os.fstat(descriptor).st_mode
            _refuse(mode)
            if stat.S_ISFIFO(mode):
                return _piped(descriptor, limits.file + 1)
            with os.fdopen(descriptor, "rb", closefd=False) as stream:
                expected = min(os.fstat(descriptor).st_size, limits.file) + 1  # a great buffer for a small file takes its time
                data = stream.read(expected)
                return data if len(data) < expected else data + stream.read(limits.file + 1 - expected)
        finally:
            os.close(descriptor)
    except FileNotFoundError as error:
        raise MissingError("no such file") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise MissingError(f"cannot be read: {reason}") from error


def _refuse(mode: int) -> None:
    """Refuse what is neither a regular file nor a pipe."""
    for is_kind, words in _KINDS:
        if is_kind(mode):
            raise MissingError(words)


def _piped(descriptor: int, most: int) -> bytes:
    """Return what comes through a pipe until its writers are done."""
    pieces: list[bytes] = []
    size, begun = 0, time.monotonic()
    while size < most:
        try:
            piece = os.read(descriptor, min(_CHUNK, most - size))
        except BlockingIOError:  # somebody holds it open, and is at work
            if select.select([descriptor], [], [], PATIENCE)[0]:
                continue
            raise MissingError(f"is a pipe that gave nothing for {PATIENCE:.0f} seconds: write the score to a file first") from None
        if piece:
            pieces.append(piece)
            size += len(piece)
        elif size or time.monotonic() - begun > WRITER_PATIENCE:
            break
        else:  # nobody writes to it yet
            time.sleep(0.01)
    if not size:
        raise MissingError("is a pipe that nobody writes to: give a file")
    return b"".join(pieces)
