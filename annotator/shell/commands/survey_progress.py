"""The progress bar of a survey: how many files are done, and how long the rest will take.

Conventions: it appears on a terminal only, and only once the work has taken a moment. It is drawn from within the work and has no thread of
its own, so that workers can be forked beside it.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

PATIENCE = 0.7  # seconds of work before the bar appears
OFTEN = 0.2  # seconds between two drawings
STEADY = 600.0  # seconds over which speed is measured, so that the time that is left does not jump


class Bar:
    """The bar; ``None`` as its stream: nothing is drawn."""

    def __init__(self, wanted: bool) -> None:
        self._wanted = wanted
        self._drawn_at = time.monotonic() + PATIENCE - OFTEN
        self._total = self._done = 0
        self._progress: Any = None
        self._task: Any = None

    def expect(self, total: int) -> None:
        """Say how many files there are."""
        self._total += total

    def advance(self, count: int) -> None:
        """Say that so many more files are done."""
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
        if self._progress is None:
            from rich.console import Console
            from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

            columns = (TextColumn("scores"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
            console = Console(stderr=True)
            self._progress = Progress(*columns, console=console, transient=True, auto_refresh=False, speed_estimate_period=STEADY)
            self._progress.start()
            self._task = self._progress.add_task("scores", total=self._total)
        self._progress.update(self._task, completed=self._done, total=self._total)
        self._progress.refresh()


@contextmanager
def progress_bar(quiet: bool) -> Iterator[Bar]:
    """Give a bar on standard error, where that is a terminal and nothing asks for quiet."""
    bar = Bar(not quiet and sys.stderr is not None and sys.stderr.isatty())
    try:
        yield bar
    finally:
        bar.close()
