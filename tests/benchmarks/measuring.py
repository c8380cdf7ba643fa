"""What a run costs, and two costs set against each other.

Conventions
-----------
Seconds and megabytes. ``wall`` is what a clock on the wall shows, ``cpu`` is what the processors worked, children included: that one is
hardly touched by other programs on the machine. Ours and theirs run in turns; each turn gives a ratio, ours over theirs, and the
table shows the median of the ratios with the least and the greatest.

Programs are started as an installed one is, compiled before (``COMPILED``); the first turn does that and is not counted.
"""

from __future__ import annotations

import atexit
import gc
import os
import shutil
import statistics
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

COMPILED = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
COMPILED["PYTHONPYCACHEPREFIX"] = tempfile.mkdtemp(prefix="annotator-compiled-")
atexit.register(shutil.rmtree, COMPILED["PYTHONPYCACHEPREFIX"], ignore_errors=True)
"""The environment of what is started: compiled modules are kept, in a folder of this run's own."""


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

    def ratios(self, name: str) -> list[float]:
        """Return the ratio of each turn, by ``wall``, ``cpu`` or ``megabytes``."""
        return [getattr(one, name) / getattr(other, name) for one, other in zip(self.ours, self.theirs, strict=True)]


def milliseconds(costs: Sequence[Cost], name: str) -> str:
    """Return the median of a measure in milliseconds."""
    return f"{1000 * statistics.median(getattr(cost, name) for cost in costs):.0f}"


def spread(values: Sequence[float]) -> str:
    """Return median, least and greatest."""
    return f"{statistics.median(values):6.3f} ({min(values):.3f}-{max(values):.3f})"


def process(command: Sequence[str | Path]) -> Cost:
    """Run a whole process, its children included, and return what it cost."""
    start = time.perf_counter()
    child = subprocess.Popen([str(word) for word in command], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, env=COMPILED)
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
    """Call a function in this process and return what it cost. What it made is given back when the clock has stopped."""
    gc.collect()
    wall, cpu = time.perf_counter(), time.process_time()
    made = action()
    cost = Cost(time.perf_counter() - wall, time.process_time() - cpu)
    del made
    return cost


def alternating(rounds: int, ours: Callable[[], Cost], theirs: Callable[[], Cost]) -> tuple[list[Cost], list[Cost]]:
    """Run both in turns, so that what else the machine does meets both alike. The first round only warms up."""
    pairs = [(ours(), theirs()) for _ in range(rounds + 1)][1:]
    return [one for one, _ in pairs], [other for _, other in pairs]


def total(costs: Iterable[Cost]) -> Cost:
    """Return what several runs cost together, the memory of the greatest."""
    each = list(costs)
    return Cost(sum(cost.wall for cost in each), sum(cost.cpu for cost in each), max(cost.megabytes for cost in each))


HEAD = f"{'':34} {'ms of CPU, theirs':>19} {'ms on the clock':>16}   {'ratio of CPU':21}   {'ratio on the clock':21} {'goal':>6}"


def told(row: Row) -> str:
    """Return a row as a line of the table: ours and theirs, both ratios, the goal after the measure that it is set by."""
    cpu, wall = row.ratios("cpu"), row.ratios("wall")
    met = statistics.median(row.ratios(row.by)) <= row.goal
    costs = [f"{milliseconds(row.ours, name)}, {milliseconds(row.theirs, name)}" for name in ("cpu", "wall")]
    return (
        f"{row.what:34} {costs[0]:>19} {costs[1]:>16}   {spread(cpu):21}   {spread(wall):21} {row.goal:6.3f} "
        f"{'CPU' if row.by == 'cpu' else 'clock'} {'met' if met else 'missed'}"
    )
