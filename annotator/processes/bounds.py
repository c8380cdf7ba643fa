"""Bounds that a child process sets itself, before it touches what a stranger wrote: processor time and memory."""

from __future__ import annotations

import time


def limit(seconds: float, megabytes: int) -> None:
    """Bound this process's processor time from now on and its memory, where the system can."""
    try:
        import resource
    except ImportError:  # Windows: the parent's clock is all there is
        return
    whole = max(1, int(time.process_time() + seconds) + 1)
    size = megabytes * 1024 * 1024
    for what, most in ((resource.RLIMIT_CPU, whole), (resource.RLIMIT_AS, size), (resource.RLIMIT_CORE, 0)):
        try:
            resource.setrlimit(what, (most, resource.getrlimit(what)[1]))
        except (ValueError, OSError):  # a lower limit is in force, or the system knows none
            continue
