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
from typing import Any, TextIO

from annotator.errors import MissingError, OutputError

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
    """How many scores are done, and how long the rest will take.

    It is drawn from within the work and has no thread of its own, so that workers can be forked beside it.
    """

    def __init__(self, wanted: bool) -> None:
        self._wanted = wanted
        self._drawn_at = time.monotonic() + PATIENCE - OFTEN
        self._total = self._done = 0
        self._progress: Any = None

    def expect(self, total: int) -> None:
        """Say that there are so many more scores."""
        self._total += total

    def advance(self, count: int = 1) -> None:
        """Say that so many more scores are done."""
        self._done += count
        now = time.monotonic()
        if self._wanted and now - self._drawn_at >= OFTEN:
            self._drawn_at = now
            self._draw()

    def close(self) -> None:
        """Take the bar away."""
        if self._progress is not None:
            self._progress.stop()

    def _draw(self) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

        if self._progress is None:
            columns = (TextColumn("scores"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
            console = Console(stderr=True)
            self._progress = Progress(*columns, console=console, transient=True, auto_refresh=False, speed_estimate_period=STEADY)
            self._progress.start()
            self._progress.add_task("scores")
        self._progress.update(self._progress.task_ids[0], completed=self._done, total=self._total, refresh=True)


@contextmanager
def progress_bar(quiet: bool) -> Iterator[Bar]:
    """Give a bar on standard error, where that is a terminal and nothing asks for quiet."""
    bar = Bar(_is_watched(quiet))
    try:
        yield bar
    finally:
        bar.close()


@contextmanager
def clock(quiet: bool) -> Iterator[None]:
    """Show on a terminal, while one score is worked on, that the program is at work, and for how long."""
    if not _is_watched(quiet):
        yield
        return
    from threading import Timer

    from rich.console import Console
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    progress = Progress(SpinnerColumn(), TextColumn("at work"), TimeElapsedColumn(), console=Console(stderr=True), transient=True)
    progress.add_task("score")
    timer = Timer(2 * PATIENCE, progress.start)
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
        timer.join()
        progress.stop()


def _is_watched(quiet: bool) -> bool:
    return not quiet and sys.stderr is not None and sys.stderr.isatty()
