"""How often Python looks for circles of objects that hold each other: seldom, because a run makes many notes and hardly any circles."""

from __future__ import annotations

import atexit
import gc
from collections.abc import Iterator
from contextlib import contextmanager

EASY = 1_000_000
"""Objects made before the garbage collector looks again: 700, the usual number, costs a tenth of the time on a long score."""


def collect_seldom() -> None:
    """Look less often from now on, and not at all when the process ends.

    Then all is given back at once, and looking takes an eighth of a short run.
    """
    gc.set_threshold(EASY, 10, 10)
    atexit.register(gc.freeze)


@contextmanager
def collect_later() -> Iterator[None]:
    """Let Python look for circles only afterwards, if it looks at all: for a call in a process that is not our own.

    The notes that are made set it looking, and then it goes through all that the process holds. What was in force is in force again at
    the end, whatever comes; of two such calls at once, in two threads, the first to end lets it look again.
    """
    looking = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if looking:
            gc.enable()
