"""What a run costs, and two costs set against each other.

Conventions
-----------
Seconds and megabytes. ``wall`` is what a clock on the wall shows, ``cpu`` is what the processors worked, children included: that one is
hardly touched by other programs on the machine. A ratio is ours over theirs, each the median of its runs.
"""

from __future__ import annotations

import gc
import os
import statistics
import subprocess
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any


@dataclass(frozen=True, slots=True)
class Cost:
    """What one run cost."""

    wall: float
    cpu: float
    megabytes: float = 0.0


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: what was measured, ours and theirs, and the ratio there should be at most, ``by`` which measure."""

    what: str
    ours: list[Cost]
    theirs: list[Cost]
    goal: float
    by: str = "cpu"

    def ratio(self, name: str) -> float:
        """Return the ratio of the medians, by ``wall``, ``cpu`` or ``megabytes``."""
        return median(self.ours, name) / median(self.theirs, name)


def median(costs: Sequence[Cost], name: str) -> float:
    """Return the median of one measure."""
    return statistics.median(getattr(cost, name) for cost in costs)


def spread(costs: Sequence[Cost], name: str) -> str:
    """Return median, least and greatest in milliseconds."""
    values = [1000 * getattr(cost, name) for cost in costs]
    return f"{statistics.median(values):7.0f} ({min(values):.0f}-{max(values):.0f})"


def process(command: Sequence[str | Path]) -> Cost:
    """Run a whole process, its children included, and return what it cost."""
    start = time.perf_counter()
    child = subprocess.Popen([str(word) for word in command], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    assert child.stderr is not None
    said = child.stderr.read()
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    child.stderr.close()
    wall = time.perf_counter() - start
    if child.returncode:
        raise SystemExit(f"{' '.join(map(str, command))} ended with {child.returncode}: {said.decode(errors='replace')[-500:]}")
    return Cost(wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)


def call(action: Callable[[], Any]) -> Cost:
    """Call a function in this process and return what it cost."""
    gc.collect()
    wall, cpu = time.perf_counter(), time.process_time()
    action()
    return Cost(time.perf_counter() - wall, time.process_time() - cpu)


def alternating(rounds: int, ours: Callable[[], Cost], theirs: Callable[[], Cost]) -> tuple[list[Cost], list[Cost]]:
    """Run both in turns, so that what else the machine does meets both alike. The first round only warms up."""
    pairs = [(ours(), theirs()) for _ in range(rounds + 1)][1:]
    return [one for one, _ in pairs], [other for _, other in pairs]


HEAD = f"{'':42} {'ours, ms of CPU':>22} {'theirs, ms of CPU':>22} {'CPU':>7} {'wall':>7} {'goal':>6}"


def told(row: Row) -> str:
    """Return a row as a line of the table."""
    cpu, wall = row.ratio("cpu"), row.ratio("wall")
    verdict = "" if row.ratio(row.by) <= row.goal else "  missed"
    return (
        f"{row.what:42} {spread(row.ours, 'cpu'):>22} {spread(row.theirs, 'cpu'):>22} {cpu:7.3f} {wall:7.3f} {row.goal:6.3f}{verdict}"
    )
