"""How often Python looks for circles of objects that hold each other: seldom, because a run makes many notes and hardly any circles."""

from __future__ import annotations

import atexit
import gc

EASY = 1_000_000
"""Objects made before the garbage collector looks again: 700, the usual number, costs a tenth of the time on a long score."""


def collect_seldom() -> None:
    """Look less often from now on, and not at all when the process ends.

    Then all is given back at once, and looking takes an eighth of a short run.
    """
    gc.set_threshold(EASY, 10, 10)
    atexit.register(gc.freeze)
