"""Standard input and output as the commands use them: either may have been closed before the program began."""

from __future__ import annotations

import io
import os
import sys
from typing import TextIO

from annotator.errors import MissingError, OutputError

UNNAMED = "score.musicxml"
"""What the copies of a score from standard input are named after."""


def make_fit() -> None:
    """Let standard output and error take every letter: no label, name or frame may end the program over an old character set.

    What goes to a file or a pipe is UTF-8 (but where ``PYTHONIOENCODING`` says otherwise), the same on every system; a terminal gets its
    own character set, and what is not in it as a number.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            its_own = stream.isatty() or "PYTHONIOENCODING" in os.environ
            stream.reconfigure(encoding=None if its_own else "utf-8", errors="backslashreplace")


def standard_input() -> bytes:
    """Return what comes in on standard input, at most one byte more than a score may have, which the reader then refuses."""
    from annotator.reading.limits import LIMITS

    if sys.stdin is None:
        raise MissingError("standard input is closed: give a file")
    return sys.stdin.buffer.read(LIMITS.file + 1)


def standard_output() -> TextIO:
    """Return standard output, which may have been closed before we began."""
    if sys.stdout is None:
        raise OutputError("standard output is closed: nothing can be printed there")
    return sys.stdout
