"""The benchmarks: how long the program takes, as ratios measured in one run.

``python tests/benchmarks/run.py [--rounds N] [--scores N] [SECTION…]``; the sections are mark, reading, start, growth, jobs (default: all).
``--scores`` is how many scores the section ``jobs`` marks. Ratios of CPU time hold on a busy machine; ``mark`` and ``jobs`` are measured by
the clock, because both use two cores, and need them idle. The last column says by which of the two a goal is set.

``mark`` is held against the plain route (Verovio, one SVG a page, cairosvg, no marks), ``reading`` against ``music21.converter.parse``,
``start`` against an empty interpreter, ``growth`` (ten times the notes) against the step before, ``jobs`` against one score by one.

Measure before changing anything: ``python -X importtime``, ``cProfile``, with ``PYTHONPYCACHEPREFIX`` set to some folder and
``PYTHONDONTWRITEBYTECODE`` unset, or what is measured is the compiler. Where the time goes:

* Start: of ``figures`` on a short score two thirds are loading: a third of all is the command line library with what it needs of the
  standard library, a twentieth lxml, a quarter our own sixty modules (a frozen data class takes half a millisecond to make, a named tuple
  a tenth), a thirtieth the words of the language. The rest is reading and finding. What is left at the end is not looked through.
* Finding: about a third are the copies, a fifth the cuts, the cover and the law, the rest is spread over the detectors and the lines.
* ``mark``: the engraver's process and ours work in turns. An engraving is about equal parts engraver and brackets, and is done again only
  where a bracket finds no room. Of the PDF, half is cairo's own compressing and writing.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
import tempfile
from collections.abc import Callable, Iterator
from itertools import cycle, islice, pairwise
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from benchmarks.measuring import HEAD, Cost, Row, alternating, call, process, told, total
from benchmarks.varied_score import NOTES_A_BAR, varied_score
from scores_at_hand import CORPUS, EXAMPLES, LOCAL_SCORES, NO_LOCAL_SCORES, local_scores

PYTHON = sys.executable
ANNOTATOR = (PYTHON, "-m", "annotator")
PLAIN_ROUTE = Path(__file__).with_name("plain_route.py")

CORPUS_SCORES = ("bach/bwv846.mxl", "schumann_clara/polonaise_op1n3.mxl", "joplin/maple_leaf_rag.mxl", "schubert/Lindenbaum.xml")
LOCAL = ("bach-wtc1-prelude-02", "chopin-op10-04")
TWO_PAGES = EXAMPLES / "sonatina-at-the-open-gate.musicxml"
SIZES = (2_000, 20_000, 200_000)
ONE_BAR = NOTES_A_BAR

MARK_GOAL, READING_GOAL, VERSION_GOAL, FIGURES_GOAL, GROWTH_GOAL, JOBS_GOAL = 0.6, 1 / 4, 5.0, 12.0, 12.0, 0.6


def scores() -> list[Path]:
    """Return the scores that the sections ``mark`` and ``reading`` measure."""
    found = [CORPUS / name for name in CORPUS_SCORES]
    if LOCAL_SCORES.is_dir():
        found += [path for name in LOCAL if (path := LOCAL_SCORES / f"{name}.musicxml").exists()]
    else:
        print(NO_LOCAL_SCORES)
    return found


def mark(rounds: int, folder: Path, _count: int) -> Iterator[Row]:
    """Mark to MusicXML and PDF, against the plain route to PDF, whole processes."""
    for score in scores():
        marked = (*ANNOTATOR, "mark", score, "--out", folder, "--force")
        plain = (PYTHON, PLAIN_ROUTE, score, folder)
        ours, theirs = alternating(rounds, lambda: process(marked), lambda: process(plain))  # noqa: B023 - called at once
        yield Row(f"mark {score.stem}", ours, theirs, MARK_GOAL, "wall")


def reading(rounds: int, _folder: Path, _count: int) -> Iterator[Row]:
    """Read, put into lines, detect and cover, against parsing with music21, both warm, in this process; score by score, then together."""
    from annotator.marks.finding import find_figures
    from annotator.reading import read

    converter = __import__("music21.converter", fromlist=["parse"])
    both: list[tuple[list[Cost], list[Cost]]] = []
    for score in scores():
        ours, theirs = alternating(
            rounds,
            lambda: call(lambda: find_figures(read(score))),  # noqa: B023 - called at once
            lambda: call(lambda: converter.parse(str(score), forceSource=True, storePickle=False)),  # noqa: B023
        )
        both.append((ours, theirs))
        yield Row(f"read and find {score.stem}", ours, theirs, READING_GOAL)
    ours, theirs = ([total(turn) for turn in zip(*side, strict=True)] for side in zip(*both, strict=True))
    yield Row("read and find, all together", ours, theirs, READING_GOAL)


def start(rounds: int, folder: Path, _count: int) -> Iterator[Row]:
    """Answer what should come at once, against an empty program."""
    score = folder / TWO_PAGES.name
    score.write_bytes(TWO_PAGES.read_bytes())
    commands = (
        ("--version", (*ANNOTATOR, "--version"), VERSION_GOAL),
        ("figures, two pages", (*ANNOTATOR, "figures", score), FIGURES_GOAL),
    )
    for what, command, goal in commands:
        ours, theirs = alternating(4 * rounds, lambda: process(command), lambda: process((PYTHON, "-c", "pass")))  # noqa: B023
        yield Row(what, ours, theirs, goal)


def growth(rounds: int, folder: Path, _count: int) -> Iterator[Row]:
    """Take ten times the notes: how many times the time and the memory."""
    costs: dict[int, list[Cost]] = {}
    for size in (ONE_BAR, ONE_BAR, *SIZES):  # the first time warms up
        path = folder / f"varied-{size}.musicxml"
        path.write_text(varied_score(size), encoding="utf-8")
        costs[size] = [process((*ANNOTATOR, "figures", path)) for _ in range(1 if size == SIZES[-1] else rounds)]
    start = _middle(costs.pop(ONE_BAR))
    for (few, small), (many, large) in pairwise(costs.items()):
        yield Row(f"{few:,} -> {many:,} notes", _without(large, start), _without([_middle(small)] * len(large), start), GROWTH_GOAL)
        memory = [f"{max(cost.megabytes for cost in each):.0f}" for each in (small, large)]
        print(f"{'':8}memory {memory[0]} -> {memory[1]} MB, {float(memory[1]) / float(memory[0]):.1f} times")


def _middle(costs: list[Cost]) -> Cost:
    return sorted(costs, key=lambda cost: cost.cpu)[len(costs) // 2]


def _without(costs: list[Cost], start: Cost) -> list[Cost]:
    """Take the start of the program off, which does not grow."""
    return [Cost(max(cost.wall - start.wall, 1e-3), max(cost.cpu - start.cpu, 1e-3), cost.megabytes) for cost in costs]


def jobs(rounds: int, folder: Path, count: int) -> Iterator[Row]:
    """Mark many scores with two jobs, against one by one. By the clock, so both cores must be idle."""
    at_hand = [*sorted(EXAMPLES.glob("*.musicxml")), *local_scores()]
    sources = []
    for number, source in enumerate(islice(cycle(at_hand), count)):
        sources.append(folder / f"score-{number:03d}.musicxml")
        sources[-1].write_bytes(source.read_bytes())
    process((*ANNOTATOR, "mark", sources[0], "--out", folder / "out"))
    together = (*ANNOTATOR, "mark", *sources, "--out", folder / "out", "--force")
    pairs = [(process((*together, "--jobs", "2")), process((*together, "--jobs", "1"))) for _ in range(max(1, rounds // 2))]
    yield Row(f"{count} scores, two jobs", [one for one, _ in pairs], [other for _, other in pairs], JOBS_GOAL, "wall")


SECTIONS: dict[str, Callable[[int, Path, int], Iterator[Row]]] = {
    "mark": mark,
    "reading": reading,
    "start": start,
    "growth": growth,
    "jobs": jobs,
}


def main() -> None:
    """Measure and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sections", nargs="*", metavar="SECTION")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--scores", type=int, default=100)
    given = parser.parse_args()
    wanted = given.sections or list(SECTIONS)
    print(f"Python {platform.python_version()} on {platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    for name in wanted:
        section = SECTIONS[name]
        print(f"\n{section.__doc__}\n\n{HEAD}")
        with tempfile.TemporaryDirectory() as folder:
            for row in section(given.rounds, Path(folder), given.scores):
                print(told(row), flush=True)


if __name__ == "__main__":
    main()
