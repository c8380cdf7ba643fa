"""Standard input, output and error as the commands use them: any may have been closed before the program began, or go to an odd place.

What the program says beside its work is one line on standard error, whatever its letters. A bar there shows how far long work is.
"""

from __future__ import annotations

import io
import os
import sys
import time
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, TextIO

from annotator.errors import MissingError, OutputError

if TYPE_CHECKING:
    from rich.progress import Progress

UNNAMED = "score.musicxml"
"""What the copies of a score from standard input are named after."""

PATIENCE = 0.7  # seconds of work before the bar appears
OFTEN = 0.2  # seconds between two drawings
STEADY = 600.0  # seconds over which speed is measured, so that the time that is left does not jump


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
    from annotator.reading.document import LIMITS

    if sys.stdin is None:
        raise MissingError("standard input is closed: give a file")
    return sys.stdin.buffer.read(LIMITS.file + 1)


def standard_output() -> TextIO:
    """Return standard output, which may have been closed before we began."""
    if sys.stdout is None:
        raise OutputError("standard output is closed: nothing can be printed there")
    return sys.stdout


def close_output() -> None:
    """Send what is still to be printed nowhere, so that the end of the program does not fail over it once more."""
    sys.stdout = open(os.devnull, "w")  # noqa: PTH123, SIM115


def plain_letters(text: str) -> str:
    r"""Return a text without what would steer a terminal: control and format characters become question marks.

    >>> plain_letters("bar \x1b[2J\x9b5")
    'bar ?[2J?5'
    """
    return text if text.isprintable() else "".join("?" if unicodedata.category(sign) in ("Cc", "Cf") else sign for sign in text)


def tell(line: str) -> None:
    """Write one line on standard error. Where that is closed, full or read by nobody any more, the work goes on all the same."""
    if sys.stderr is None:
        return
    encoding = sys.stderr.encoding or "utf-8"
    try:
        sys.stderr.write(f"annotator: {plain_letters(' '.join(line.split()))}\n".encode(encoding, "backslashreplace").decode(encoding))
    except OSError:  # what is left in the buffer would fail once more at the end, and give the exit code of that
        sys.stderr = open(os.devnull, "w")  # noqa: PTH123, SIM115


class Bar:
    """How many scores are done, and how long the rest will take; of a single score, for how long the program has been at work.

    Many are drawn from within the work, without a thread, so that workers can be forked beside it. Over one score nothing calls us, so
    that needs a thread.
    """

    def __init__(self, progress: Progress | None) -> None:
        self._progress = progress
        self._due = time.monotonic() + PATIENCE

    def expect(self, more: int) -> None:
        """Say that there are so many more scores."""
        if self._progress:
            (task,) = self._progress.tasks
            self._progress.update(task.id, total=(task.total or 0) + more)

    def advance(self, count: int = 1) -> None:
        """Say that so many more scores are done."""
        if self._progress:
            self._progress.advance(self._progress.task_ids[0], count)
            if time.monotonic() >= self._due:
                self._due = time.monotonic() + OFTEN
                self._progress.start()
                self._progress.refresh()


@contextmanager
def progress_bar(quiet: bool, single: bool = False) -> Iterator[Bar]:
    """Give a bar on standard error, where that is a terminal and nothing asks for quiet. ``single``: it is one score."""
    if quiet or sys.stderr is None or not sys.stderr.isatty():
        yield Bar(None)
        return
    from threading import Timer

    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn, TimeRemainingColumn

    many = (TextColumn("scores"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    columns = (SpinnerColumn(), TextColumn("at work"), TimeElapsedColumn()) if single else many
    progress = Progress(*columns, console=Console(stderr=True), transient=True, auto_refresh=single, speed_estimate_period=STEADY)
    progress.add_task("scores", total=None)
    timer = Timer(2 * PATIENCE, progress.start)
    if single:
        timer.start()
    try:
        yield Bar(progress)
    finally:
        if single:
            timer.cancel()
            timer.join()
        progress.stop()
