"""Ctrl-C that is never lost: one that comes while a library calls back into Python would end in the library, not in the program.

Rule
----
An interrupt raises ``KeyboardInterrupt`` at once, as always; but inside a function that the drawing library calls it is only noted, and
raised by ``heed`` when the piece of work in hand is done. Files are complete or absent either way.

Source: the documentation of ctypes, "Callback functions": what a callback raises is printed and not passed on.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

CALLING_BACK = "annotator.pages.canvas"
"""The module that the library calls back."""


@contextmanager
def heeding_interrupts() -> Iterator[Callable[[], None]]:
    """Give a function that raises ``KeyboardInterrupt`` if one came that could not be raised where it came."""
    noted: list[int] = []

    def hear(number: int, frame: FrameType | None) -> None:
        """Note an interrupt, and raise it where that is safe."""
        noted.append(number)
        if not called_back(frame):
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


def called_back(frame: FrameType | None) -> bool:
    """Return whether a frame stands inside the module that is called back."""
    while frame is not None:
        if frame.f_globals.get("__name__") == CALLING_BACK:
            return True
        frame = frame.f_back
    return False
