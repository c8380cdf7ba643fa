"""Standard input and output as the commands use them: either may have been closed before the program began."""

from __future__ import annotations

import sys
from typing import TextIO

from annotator.errors import MissingError, OutputError


def standard_input() -> bytes:
    """Return what comes in on standard input."""
    if sys.stdin is None:
        raise MissingError("standard input is closed: give a file")
    return sys.stdin.buffer.read()


def standard_output() -> TextIO:
    """Return standard output, which may have been closed before we began."""
    if sys.stdout is None:
        raise OutputError("standard output is closed: nothing can be printed there")
    return sys.stdout


def say(line: str) -> None:
    """Say one line on standard error, whatever its letters and wherever that goes."""
    if sys.stderr is not None:
        encoding = sys.stderr.encoding or "utf-8"
        text = f"annotator: {' '.join(line.split())}\n"
        sys.stderr.write(text.encode(encoding, "backslashreplace").decode(encoding))
