"""Running a command over scores: one line on standard error for each that fails, and the exit code of the worst.

Errors of our own become their message and exit code. Anything else is a fault of the program: one line and 70, and the traceback only
with ``--debug``. An interrupt ends with 130, and is never lost: what is raised while a library is at work may end there, in silence, so it
is also noted, and raised once more when the piece of work in hand is done. Files are complete or absent either way.
"""

from __future__ import annotations

import os
import re
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, Any, NamedTuple, NoReturn

from annotator.errors import AnnotatorError, MissingError, TransferError, UsageError
from annotator.options.settings import Options
from annotator.shell.configuration import InForce, in_force
from annotator.shell.streams import close_output, progress_bar, tell

if TYPE_CHECKING:
    from annotator.products.planning import Plan

FAULT = 70
INTERRUPTED = 130
SCORES, MARKED_COPIES = "scores", "marked copies"
"""What is taken out of a folder that is named among the scores."""

Given = dict[str, Any]
"""The values of the options that were typed, by the names of their fields."""

Task = Callable[[str, Options], list[str]]
"""What to do with one score: from its name and the options that hold for it to the lines to say about it."""

Work = tuple[str, Task, InForce]
"""A score, what to do with it, and what is in force for it."""


class Found(NamedTuple):
    """A score: its name, and if it was found in a folder, the folder below that one in which it lies."""

    name: str
    below: Path = Path()


class Outcome(NamedTuple):
    """What came of one score: the exit code, the lines to say, and before them what was noted of a score that failed late."""

    source: str
    code: int
    lines: list[str]
    told: Sequence[str] = ()


def each_score(sources: Sequence[str], task: Task, given: Given, folders: str = "") -> None:
    """Run a task over scores, going on after a bad one, and exit with the code of the worst (0 returns).

    ``folders`` says what is taken out of a folder among the sources (one of the two above; empty: a folder is no score).
    """
    found, failed = gathered(sources, folders) if folders else ([Found(source) for source in sources], [])
    worst = run_all(found, task, given, failed)
    if worst:
        sys.exit(worst)


def run_all(found: Sequence[Found], task: Task, given: Given, failed: Sequence[Outcome] = ()) -> int:
    """Run a task over scores that were found, say what comes of each, and return the code of the worst. An interrupt exits."""
    quiet = Options(**given).quiet
    work, wrong = _work(found, task, given)
    work, twins = _without_twins(work)
    worst = 0
    try:
        with progress_bar(quiet, len(work) == 1) as bar:
            bar.expect(len(work))
            for outcome in (*failed, *wrong, *twins):
                worst = max(worst, _say(outcome, quiet))
            for outcome in _outcomes(work):
                worst = max(worst, _say(outcome, quiet))
                bar.advance()
    except KeyboardInterrupt:
        interrupted()
    return worst


def guarded(action: Callable[[], object], options: Options) -> None:
    """Run a command under the same rules as one score."""

    def task(_source: str, _options: Options) -> list[str]:
        """Run the action as the task of no score."""
        action()
        return []

    if code := _say(_attempt(("", task, InForce(options))), options.quiet):
        sys.exit(code)


def carried_out(plan: Plan[Any], options: Options) -> list[str]:
    """Carry out a plan, or tell it in a dry run; return the lines to say about it."""
    if options.dry_run:
        return plan.told()
    copy = plan.write()
    return [*copy.notices, f"{plan.headline}wrote {copy.written}"]


@contextmanager
def heeding_interrupts() -> Iterator[Callable[[], None]]:
    """Raise ``KeyboardInterrupt`` where an interrupt comes, as always, and give a function that raises it once more if one came."""
    noted: list[int] = []

    def hear(number: int, _frame: FrameType | None) -> None:
        """Note an interrupt and raise it."""
        noted.append(number)
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


def interrupted() -> NoReturn:
    """Say that an interrupt came, and exit."""
    tell("interrupted: nothing half-written is left")
    sys.exit(INTERRUPTED)


def folder_of(source: str) -> Path:
    """Return the folder from which the project file of a score is looked for."""
    return Path.cwd() if source in ("", "-") else Path(source).parent


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


def _work(sources: Sequence[Found], task: Task, given: Given) -> tuple[list[Work], list[Outcome]]:
    """Return what is to be done, and for each wrong project file, once, what is wrong with it; its scores are left out."""
    there: dict[Path, InForce] = {}
    wrong: dict[str, Outcome] = {}
    for folder in dict.fromkeys(folder_of(source.name) for source in sources):
        try:
            there[folder] = in_force(folder, given)
        except AnnotatorError as error:
            wrong.setdefault(str(error), Outcome("", error.exit_code, [str(error)]))
    work = []
    for name, below in sources:
        holds = there.get(folder_of(name))
        if holds is not None:
            out = holds.options.out
            mirrored = holds if out is None else holds._replace(options=replace(holds.options, out=out / below))
            work.append((name, task, mirrored))
    return work, list(wrong.values())


def _without_twins(work: Sequence[Work]) -> tuple[list[Work], list[Outcome]]:
    """Refuse scores whose copies would have one name, for one would replace the other; return the others, and what is refused."""
    places: dict[Path, list[Work]] = {}
    for each in work:
        source, _task, holds = each
        bare = Path(source.removesuffix(".gz"))
        places.setdefault((holds.options.out or bare.parent) / bare.stem, []).append(each)
    clashes = [[source for source, *_ in named] for named in places.values() if len(named) > 1]
    said = "would be written under one name: give them in two calls, with another --out"
    return [named[0] for named in places.values() if len(named) == 1], [
        Outcome("", UsageError.exit_code, [f"{', '.join(names[:-1])} and {names[-1]} {said}"]) for names in clashes
    ]


def _outcomes(work: Sequence[Work]) -> Iterator[Outcome]:
    """Yield what comes of each score, in order, each as soon as it is there."""
    jobs = min(work[0][2].options.jobs or 1, len(work)) if work else 1
    if jobs > 1:
        from annotator.processes.side_by_side import side_by_side

        yield from side_by_side(_attempt, work, jobs, _lost)
        return
    with heeding_interrupts() as heed:
        for each in work:
            outcome = _attempt(each)
            heed()
            yield outcome


def _attempt(work: Work) -> Outcome:
    """Run the task on one score and turn whatever happens into an outcome."""
    source, task, holds = work
    try:
        lines = [*([holds.told()] if holds.options.verbose and source else []), *task(source, holds.options)]
        if sys.stdout is not None:
            sys.stdout.flush()
        return Outcome(source, 0, lines)
    except AnnotatorError as error:
        return Outcome(source, error.exit_code, [str(error)], getattr(error, "__notes__", ()))
    except BrokenPipeError:
        close_output()  # whoever read our output has gone; nothing to add
        return Outcome(source, 0, [])
    except OSError as error:
        close_output()
        return Outcome(source, TransferError.exit_code, [f"reading or writing failed: {error.strerror or error}"])
    except Exception as fault:
        if holds.options.debug:
            import traceback

            traceback.print_exc()
        kind = type(fault).__name__
        return Outcome(source, FAULT, [f"a fault of the program ({kind}: {fault}); --debug shows where"], getattr(fault, "__notes__", ()))


def _lost(work: Work, why: str) -> Outcome:
    """Return what came of a score whose worker died over it."""
    return Outcome(work[0], FAULT, [f"a fault of the program ({why})"])


def _say(outcome: Outcome, quiet: bool) -> int:
    """Say an outcome on standard error; return its code."""
    if outcome.code or not quiet:
        for line in [*(() if quiet else outcome.told), *outcome.lines]:
            tell(_placed(outcome.source, line))
    return outcome.code


def _placed(source: str, message: str) -> str:
    """Put the score's name before a message that does not carry it already; whatever the name holds, it stays one line."""
    line = " ".join(message.split())
    name = " ".join(source.split())
    spellings = (name, name.encode("utf-8", "replace").decode())
    told = any(re.search(rf"(?<![\w.-]){re.escape(spelling)}(?![\w-])", line) for spelling in spellings)
    return line if source in ("", "-") or told else f"{name}: {line}"
