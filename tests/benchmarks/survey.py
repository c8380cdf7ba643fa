"""The survey as a user runs it: against a script that only parses the same files, and over ten thousand scores.

``python tests/benchmarks/survey.py [--rounds N] [--all] [--sizes 100,1000,10000] [SECTION…]``; the sections are speed and scale.

* ``speed``: the keyboard scores of music21's corpus, the examples and the local folder of scores, copied into one folder: whole
  processes by the clock, the survey on all cores without its cache, then from it, against one process that parses them with music21.
  ``--all`` takes every score of the corpus, most of which have no part for keyboard: those the survey leaves out early.
* ``scale``: generated scores, no two alike, in three sizes of library: notes a second, how the time grows, and the greatest memory of the
  program and its workers together (proportional set size, Linux only).
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from benchmarks.measuring import Cost, process
from benchmarks.varied_score import NOTES_A_BAR, varied_score
from scores_at_hand import CORPUS, EXAMPLES, LOCAL_SCORES, NO_LOCAL_SCORES, local_scores

SURVEY = (sys.executable, "-m", "annotator", "survey")
PARSER = Path(__file__).with_name("parse_with_music21.py")
ENDINGS = (".xml", ".musicxml", ".mxl")
GOALS = {"without cache": 10.0, "from cache": 100.0}
GROWTH_GOAL = 12.0
OFTEN = 0.5  # seconds between two looks at the memory


@dataclass(frozen=True, slots=True)
class Run:
    """One run over a library: its size, its notes, its cost, and the greatest memory in megabytes."""

    scores: int
    notes: int
    cost: Cost
    megabytes: float


def speed(given: argparse.Namespace, folder: Path) -> None:
    """Print how many times faster the survey is than parsing."""
    music = folder / "music"
    gather(music, every=given.all)
    told = json.loads(subprocess.run([*SURVEY, music, "--json", "-q"], capture_output=True, check=False).stdout)
    time.sleep(2.5)  # what changed a moment ago is not believed to be as it was
    subprocess.run([*SURVEY, music, "--json", "-q"], capture_output=True, check=False)
    notes = sum(score["notes"] for score in told["scores"])
    print(f"{len(told['scores'])} scores with {notes:,} notes, {len(told['left_out'])} left out, {len(told['failed'])} failed")
    ours: dict[str, list[Cost]] = {name: [] for name in GOALS}
    theirs: list[Cost] = []
    for _ in range(given.rounds):
        ours["without cache"].append(process([*SURVEY, music, "--no-cache", "-q"]))
        ours["from cache"] += [process([*SURVEY, music, "-q"]) for _ in range(3)]
        theirs.append(process([sys.executable, PARSER, music]))
    print(f"{'parsing alone':16} {_told(theirs)}")
    for name, costs in ours.items():
        ratio, cpu = (_median(theirs, of) / _median(costs, of) for of in ("wall", "cpu"))
        verdict = "" if ratio >= GOALS[name] else f"  missed: {GOALS[name]:.0f}"
        print(f"{name:16} {_told(costs)}   {ratio:6.1f} times faster by the clock, {cpu:.1f} by CPU{verdict}", flush=True)


def gather(music: Path, every: bool) -> None:
    """Copy the scores into one folder."""
    from annotator.marks.finding import parts_looked_at
    from annotator.options.settings import Options
    from annotator.reading import read

    if not LOCAL_SCORES.is_dir():
        print(NO_LOCAL_SCORES)
    music.mkdir()
    corpus = sorted(path for path in CORPUS.rglob("*") if path.suffix in ENDINGS)
    for number, path in enumerate([*corpus, *sorted(EXAMPLES.glob("*.musicxml")), *local_scores()]):
        if every or parts_looked_at(read(path), Options()):
            shutil.copyfile(path, music / f"{number:04}-{path.name}")


def scale(given: argparse.Namespace, folder: Path) -> None:
    """Print what libraries of growing size cost."""
    runs = []
    for size in given.sizes:
        music = folder / f"library-{size}"
        for number in range(size):
            place = music / f"{number // 100:03}"
            place.mkdir(parents=True, exist_ok=True)
            text = varied_score(NOTES_A_BAR * (4 + number % 9), seed=number)
            (place / f"{number:05}.musicxml").write_text(text, encoding="utf-8")
        runs.append(measured(size, music))
        last = runs[-1]
        print(
            f"{size:6} scores, {last.notes:9,} notes: {last.cost.wall:7.1f} s by the clock, {last.cost.cpu:7.1f} s of CPU, "
            f"{last.notes / last.cost.wall:8,.0f} notes a second, {last.notes / last.cost.cpu:7,.0f} a second of CPU, "
            f"{last.megabytes:4.0f} MB",
            flush=True,
        )
    for small, large in pairwise(runs):
        times, growth = large.scores / small.scores, large.cost.cpu / small.cost.cpu
        verdict = "" if growth <= times * GROWTH_GOAL / 10 else "  missed"
        print(f"{times:.0f} times the scores: {growth:.1f} times the CPU, {large.megabytes - small.megabytes:+.0f} MB{verdict}")


def measured(size: int, music: Path) -> Run:
    """Survey a library once, without the cache, and watch its memory."""
    out = music.parent / "out.json"
    with out.open("wb") as stream:
        start = time.perf_counter()
        child = subprocess.Popen([*map(str, SURVEY), str(music), "--json", "--no-cache", "-q"], stdout=stream)
        most = 0.0
        while True:
            pid, status, usage = os.wait4(child.pid, os.WNOHANG)
            if pid:
                break
            most = max(most, sum(_memory(one) for one in _family(child.pid)))
            time.sleep(OFTEN)
    child.returncode = os.waitstatus_to_exitcode(status)
    cost = Cost(time.perf_counter() - start, usage.ru_utime + usage.ru_stime)
    scores = json.loads(out.read_text(encoding="utf-8"))["scores"]
    if child.returncode or len(scores) != size:
        raise SystemExit(f"ended with {child.returncode}, {len(scores)} scores of {size}")
    return Run(size, sum(score["notes"] for score in scores), cost, most)


def _family(pid: int) -> list[int]:
    """Return a process and its children."""
    try:
        return [pid, *map(int, Path(f"/proc/{pid}/task/{pid}/children").read_text().split())]
    except OSError:
        return []


def _memory(pid: int) -> float:
    """Return the memory of a process in megabytes, what it shares with others divided among them."""
    try:
        lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
        return next(int(line.split()[1]) / 1024 for line in lines if line.startswith("Pss:"))
    except (OSError, StopIteration):
        return 0.0


def _median(costs: list[Cost], of: str) -> float:
    return statistics.median(getattr(cost, of) for cost in costs)


def _told(costs: list[Cost]) -> str:
    walls = [cost.wall for cost in costs]
    return f"{_median(costs, 'wall'):7.2f} s ({min(walls):.2f}-{max(walls):.2f}), {_median(costs, 'cpu'):7.2f} s of CPU"


SECTIONS: dict[str, Callable[[argparse.Namespace, Path], None]] = {"speed": speed, "scale": scale}


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("sections", nargs="*", metavar="SECTION")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--all", action="store_true")
    parser.add_argument("--sizes", type=lambda text: [int(word) for word in text.split(",")], default=[100, 1_000, 10_000])
    given = parser.parse_args()
    print(f"Python {platform.python_version()} on {platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    for name in given.sections or list(SECTIONS):
        with tempfile.TemporaryDirectory() as folder:
            os.environ["ANNOTATOR_CACHE"] = str(Path(folder) / "cache")
            print(f"\n{name}", flush=True)
            SECTIONS[name](given, Path(folder))


if __name__ == "__main__":
    main()
