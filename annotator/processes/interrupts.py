"""Ctrl-C that is never lost: what is raised while a library is at work may end there, in silence.

Rule: an interrupt raises ``KeyboardInterrupt`` at once, as always, and is noted; ``heed`` raises it once more when the piece of work in
hand is done. Files are complete or absent either way.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType


@contextmanager
def heeding_interrupts() -> Iterator[Callable[[], None]]:
    """Give a function that raises ``KeyboardInterrupt`` if one came."""
    noted: list[int] = []

    def hear(number: int, _frame: FrameType | None) -> None:
        """Note an interrupt and raise it."""
        noted.append(number)
        raise KeyboardInterrupt

    def heed() -> None:
        """Raise the interrupt that was noted."""
        if noted:
            raise KeyboardInterrupt

    before = signal.getsignal(signal.SIGINT)
    ours = before is signal.default_int_handler and threading.current_thread() is threading.main_thread()
    if ours:
        signal.signal(signal.SIGINT, hear)
    try:
        yield heed
    finally:
        if ours:
            signal.signal(signal.SIGINT, before)
