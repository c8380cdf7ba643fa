"""Surroundings for a program that coverage must leave alone: the same, but without it.

Rule: coverage holds a lock while it begins a new file, and an interrupt that comes just then never gives the lock back; the program then
waits for ever (``lock_data`` in its ``collector.py``, 7.x). So what is sent an interrupt is not measured, nor is a changed copy of the
program, which is not the program.
"""

from __future__ import annotations

import os


def unmeasured() -> dict[str, str]:
    """Return the environment without what makes coverage begin in a new process."""
    return {name: value for name, value in os.environ.items() if not name.startswith("COVERAGE_")}
