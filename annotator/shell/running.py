"""Running a command over scores: one line on standard error for each that fails, and the exit code of the worst.

Errors of our own become their message and exit code. Anything else is a fault of the program: one line and 70, and the traceback only
with ``--debug``. An interrupt ends with 130.
"""

from __future__ import annotations

import os
import re
import sys
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, NoReturn

from annotator.errors import AnnotatorError, MissingError, TransferError, UsageError
from annotator.options.settings import Call, rows
from annotator.processes.interrupts import heeding_interrupts
from annotator.processes.side_by_side import side_by_side
from annotator.shell.configuration import InForce, in_force
from annotator.shell.telling import tell

if TYPE_CHECKING:
    from annotator.products.planning import Plan

PATIENCE = 1.5  # seconds of work on one score before the clock appears
STEADY = 600.0  # seconds over which speed is measured, so that the time that is left does not jump
FAULT = 70
INTERRUPTED = 130
SCORES, MARKED_COPIES = "scores", "marked copies"
"""What is taken out of a folder that is named among the scores."""

Task = Callable[[str, Call], list[str]]
"""What to do with one score: from its name and the options that hold for it to the lines to say about it."""

Work = tuple[str, Task, InForce]
"""A score, what to do with it, and what is in force for it."""


class Found(NamedTuple):
    """A score: its name, and if it was found in a folder, the folder below that one in which it lies."""

    name: str
    below: Path = Path()


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one score: the exit code, the lines to say, and before them what there is to tell of a score that failed late."""

    source: str
    code: int
    lines: list[str]
    told: tuple[str, ...] = ()


def each_score(sources: Sequence[str], task: Task, given: dict[str, Any], folders: str = "") -> None:
    """Run a task over scores, going on after a bad one, and exit with the code of the worst (0 returns).

    ``given`` are the options that were typed, by the names of their fields. ``folders`` says what is taken out of a folder among the
    sources (one of the two above; empty: a folder is no score).
    """
    found, failed = gathered(sources, folders) if folders else ([Found(source) for source in sources], [])
    worst = run_all(found, task, given, failed)
    if worst:
        sys.exit(worst)


def run_all(found: Sequence[Found], task: Task, given: dict[str, Any], failed: Sequence[Outcome] = ()) -> int:
    """Run a task over scores that were found, say what comes of each, and return the code of the worst. An interrupt exits."""
    typed = Call(**given)
    work, wrong = _work(found, task, given)
    work, twins = _without_twins(work)
    for outcome in (*failed, *wrong, *twins):
        _say(outcome, typed.quiet)
    worst = max((outcome.code for outcome in (*failed, *wrong, *twins)), default=0)
    jobs = min(work[0][2].options.jobs or 1, len(work)) if work else 1
    try:
        with _progress(len(work), typed.quiet) as advance:
            for outcome in _outcomes(work, jobs):
                _say(outcome, typed.quiet)
                advance()
                worst = max(worst, outcome.code)
    except KeyboardInterrupt:
        interrupted()
    return worst


def interrupted() -> NoReturn:
    """Say that an interrupt came, and exit."""
    tell("interrupted: nothing half-written is left")
    sys.exit(INTERRUPTED)


def _work(sources: Sequence[Found], task: Task, given: dict[str, Any]) -> tuple[list[Work], list[Outcome]]:
    """Return what is to be done, and for each wrong project file, once, what is wrong with it; its scores are left out."""
    there: dict[Path, InForce | None] = {}
    wrong: dict[str, Outcome] = {}
    for folder in dict.fromkeys(folder_of(source.name) for source in sources):
        try:
            there[folder] = in_force(folder, given)
        except AnnotatorError as error:
            there[folder] = None
            wrong.setdefault(str(error), Outcome("", error.exit_code, [str(error)]))
    found = [(source, there[folder_of(source.name)]) for source in sources]
    return [(source.name, task, _mirrored(holds, source.below)) for source, holds in found if holds is not None], list(wrong.values())


def _mirrored(holds: InForce, below: Path) -> InForce:
    """Return what is in force for a score of a folder: its copies go to the same place below the folder for output."""
    out = holds.options.out
    return holds if out is None or below == Path() else holds._replace(options=replace(holds.options, out=out / below))


def carried_out(plan: Plan[Any], options: Call) -> list[str]:
    """Carry out a plan, or tell it in a dry run; return the lines to say about it."""
    if options.dry_run:
        return plan.told()
    copy = plan.write()
    return [*copy.notices, f"{plan.headline}wrote {copy.written}"]


def gathered(sources: Sequence[str], folders: str) -> tuple[list[Found], list[Outcome]]:
    """Put the scores of each folder in its place; return the sources, each named once, and what failed."""
    found: list[Found] = []
    failed: list[Outcome] = []
    for source in sources:
        if source == "-" or not os.path.isdir(source):  # noqa: PTH112 - takes any name, and says no to an odd one
            found.append(Found(source))
            continue
        from annotator.products.gathering import scores_below

        try:
            below = [path for path in scores_below(Path(source), folders == MARKED_COPIES) if path not in sources]
            found += [Found(path, Path(path).parent.relative_to(source)) for path in below]
        except AnnotatorError as error:
            failed.append(Outcome(source, error.exit_code, [str(error)]))
        except OSError as error:
            failed.append(Outcome(source, MissingError.exit_code, [f"cannot be read: {error.strerror or error}"]))
    return found, failed


def _outcomes(calls: Sequence[Work], jobs: int) -> Iterator[Outcome]:
    """Yield what comes of each call, in order, each as soon as it is there."""
    if jobs < 2:
        with heeding_interrupts() as heed:
            for call in calls:
                outcome = _attempt(call)
                heed()
                yield outcome
        return
    yield from side_by_side(_attempt, calls, jobs)


@contextmanager
def _progress(total: int, quiet: bool) -> Iterator[Callable[[], None]]:
    """Show on a terminal's standard error how far the work is, unless all is to be quiet: a bar; for one score that takes long, a clock."""
    if not total or quiet or sys.stderr is None or not sys.stderr.isatty():
        yield lambda: None
        return
    from threading import Timer

    from rich.console import Console
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    one = (SpinnerColumn(), TextColumn("at work"), TimeElapsedColumn())
    columns = one if total == 1 else Progress.get_default_columns()
    progress = Progress(*columns, console=Console(stderr=True), transient=True, speed_estimate_period=STEADY)
    bar = progress.add_task("scores", total=total)
    clock = Timer(PATIENCE, progress.start)
    (clock if total == 1 else progress).start()
    try:
        yield lambda: progress.advance(bar)
    finally:
        clock.cancel()
        if clock.is_alive():
            clock.join()
        progress.stop()


def _without_twins(work: Sequence[Work]) -> tuple[list[Work], list[Outcome]]:
    """Refuse scores whose copies would have one name, for one would replace the other; return the others, and what is refused."""
    places: dict[Path, list[str]] = {}
    for source, _task, holds in work:
        places.setdefault(_stem(source, holds.options.out), []).append(source)
    clashes = [named for named in places.values() if len(named) > 1]
    refused = {source for named in clashes for source in named}
    said = "would be written under one name: give them in two calls, with another --out"
    return [each for each in work if each[0] not in refused], [
        Outcome("", UsageError.exit_code, [f"{', '.join(named[:-1])} and {named[-1]} {said}"]) for named in clashes
    ]


def _stem(source: str, out: Path | None) -> Path:
    """Return the place of a score's copies, without what comes behind its name."""
    bare = Path(source.removesuffix(".gz"))
    return (bare.parent if out is None else out) / bare.stem


def guarded(action: Callable[[], None], options: Call | None = None) -> None:
    """Run an action that belongs to no score under the same rules."""

    def task(_source: str, _options: Call) -> list[str]:
        """Run the action as the task of no score."""
        action()
        return []

    holds = InForce(options or Call())
    outcome = _attempt(("", task, holds))
    _say(outcome, holds.options.quiet)
    if outcome.code:
        sys.exit(outcome.code)


def _attempt(work: Work) -> Outcome:
    """Run the task on one score and turn whatever happens into an outcome."""
    source, task, holds = work
    try:
        lines = [*(_settings_told(holds) if holds.options.verbose and source else ()), *task(source, holds.options)]
        if sys.stdout is not None:
            sys.stdout.flush()
        return Outcome(source, 0, lines)
    except AnnotatorError as error:
        return Outcome(source, error.exit_code, [_placed(source, str(error))], _notes(error))
    except BrokenPipeError:
        close_output()  # whoever read our output has gone; nothing to add
        return Outcome(source, 0, [])
    except OSError as error:
        close_output()
        return Outcome(source, TransferError.exit_code, [_placed(source, f"reading or writing failed: {error.strerror or error}")])
    except Exception as fault:
        if holds.options.debug:
            traceback.print_exc()
        kind = type(fault).__name__
        return Outcome(source, FAULT, [_placed(source, f"a fault of the program ({kind}: {fault}); --debug shows where")], _notes(fault))


def _notes(error: BaseException) -> tuple[str, ...]:
    """Return what was noted on an error: what there is to tell of a score whose copies failed only in part."""
    return tuple(getattr(error, "__notes__", ()))


def close_output() -> None:
    """Send what is still to be printed nowhere, so that the end of the program does not fail over it once more."""
    sys.stdout = open(os.devnull, "w")  # noqa: PTH123, SIM115


def _settings_told(holds: InForce) -> list[str]:
    """Return the line that says which options were set for a score, by its project file and by flags."""
    by_file, by_flag = [], []
    for row in rows():
        if row.name in holds.typed and row.name not in ("quiet", "verbose", "debug"):
            by_flag.append(f"{row.key} = {row.text(holds.options)!r}")
        elif row.name in holds.in_file and row.name not in holds.typed:
            by_file.append(f"{row.key} = {row.text(holds.options)!r}")
    said = [*([f"{', '.join(by_file)} (from {holds.file})"] if by_file else []), *([f"{', '.join(by_flag)} (as typed)"] if by_flag else [])]
    return [f"settings: {'; '.join(said) or 'the defaults'}"]


def folder_of(source: str) -> Path:
    """Return the folder from which the project file of a score is looked for."""
    return Path.cwd() if source in ("", "-") else Path(source).parent


def _placed(source: str, message: str) -> str:
    """Put the score's name before a message that does not carry it already; whatever the name holds, it stays one line."""
    line = " ".join(message.split())
    name = " ".join(source.split())
    spellings = (name, name.encode("utf-8", "replace").decode())
    told = any(re.search(rf"(?<![\w.-]){re.escape(spelling)}(?![\w-])", line) for spelling in spellings)
    return line if source in ("", "-") or told else f"{name}: {line}"


def _say(outcome: Outcome, quiet: bool) -> None:
    """Say an outcome on standard error."""
    if sys.stderr is None or (outcome.code == 0 and quiet):
        return
    for line in [*(() if quiet else outcome.told), *outcome.lines]:
        tell(_placed(outcome.source, line))

