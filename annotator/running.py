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
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from annotator.errors import AnnotatorError, MissingError, TransferError, UsageError
from annotator.interrupts import heeding_interrupts
from annotator.side_by_side import side_by_side
from annotator.telling import tell

FAULT = 70
INTERRUPTED = 130
SCORES, MARKED_COPIES = "scores", "marked copies"
"""What is taken out of a folder that is named among the scores."""

Task = Callable[[str, dict[str, Any]], list[str]]


@dataclass(frozen=True, slots=True)
class Shown:
    """How much is said on standard error: nothing but errors, also which settings hold for a score, the traceback of a fault."""

    quiet: bool = False
    verbose: bool = False
    debug: bool = False


Call = tuple[str, Task, dict[str, Any], Shown]
"""A score, what to do with it, the flags, and how much is said."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one score: the exit code, the lines to say, and before them what there is to tell of a score that failed late."""

    source: str
    code: int
    lines: list[str]
    told: tuple[str, ...] = ()


def each_score(sources: Sequence[str], task: Task, flags: dict[str, Any], shown: Shown, folders: str = "") -> None:
    """Run a task over scores, going on after a bad one, and exit with the code of the worst (0 returns).

    ``folders`` says what is taken out of a folder among the sources (one of the two above; empty: a folder is no score).
    """
    worst = 0
    if folders:
        sources, failed = _without_folders(sources, folders)
        for outcome in failed:
            _say(outcome, shown)
            worst = max(worst, outcome.code)
    jobs = min(_jobs(sources, flags), len(sources)) if sources else 1
    _refuse_twins(sources, in_one_folder="out" in flags)
    calls = [(source, task, flags, shown) for source in sources]
    try:
        with _progress(len(calls), shown) as advance:
            for outcome in _outcomes(calls, jobs):
                _say(outcome, shown)
                advance()
                worst = max(worst, outcome.code)
    except KeyboardInterrupt:
        _stop("interrupted: nothing half-written is left", INTERRUPTED)
    if worst:
        sys.exit(worst)


def _without_folders(sources: Sequence[str], folders: str) -> tuple[list[str], list[Outcome]]:
    """Put the scores of each folder in its place; return the sources, each named once, and what failed."""
    found: list[str] = []
    failed: list[Outcome] = []
    for source in sources:
        if source == "-" or not os.path.isdir(source):  # noqa: PTH112 - takes any name, and says no to an odd one
            found.append(source)
            continue
        from annotator.gathering import scores_below

        try:
            found += [path for path in scores_below(Path(source), folders == MARKED_COPIES) if path not in sources]
        except AnnotatorError as error:
            failed.append(Outcome(source, error.exit_code, [str(error)]))
        except OSError as error:
            failed.append(Outcome(source, MissingError.exit_code, [f"cannot be read: {error.strerror or error}"]))
    return found, failed


def _jobs(sources: Sequence[str], flags: dict[str, Any]) -> int:
    """Return how many scores to work on at once: the flag, else what the project file of the first score says, else one."""
    try:
        return int(_settings(sources[0], flags).get("jobs", 1))
    except AnnotatorError:
        return 1  # the file is wrong: each score will say so


def _outcomes(calls: Sequence[Call], jobs: int) -> Iterator[Outcome]:
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
def _progress(total: int, shown: Shown) -> Iterator[Callable[[], None]]:
    """Show a progress bar on standard error for more than one score, on a terminal, unless all is to be quiet."""
    if total < 2 or shown.quiet or sys.stderr is None or not sys.stderr.isatty():
        yield lambda: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as progress:
        bar = progress.add_task("scores", total=total)
        yield lambda: progress.advance(bar)


def _refuse_twins(sources: Sequence[str], in_one_folder: bool) -> None:
    """Refuse scores whose copies would have one name: the second would replace the first."""
    seen: dict[Path, str] = {}
    for source in sources:
        bare = Path(source.removesuffix(".gz"))
        stem = bare.parent / bare.stem
        twin = seen.setdefault(Path(stem.name) if in_one_folder else stem, source)
        if twin != source or (source != "-" and sources.count(source) > 1):
            _stop(f"{twin} and {source} would be written under one name: give them in two calls, with another --out", UsageError.exit_code)


def guarded(action: Callable[[], None], shown: Shown) -> None:
    """Run an action that belongs to no score under the same rules."""

    def task(_source: str, _flags: dict[str, Any]) -> list[str]:
        """Run the action as the task of no score."""
        action()
        return []

    outcome = _attempt(("", task, {}, shown))
    _say(outcome, shown)
    if outcome.code:
        sys.exit(outcome.code)


def _attempt(call: Call) -> Outcome:
    """Run the task on one score and turn whatever happens into an outcome."""
    source, task, flags, shown = call
    try:
        settings = _settings(source, flags)
        lines = [*(_settings_told(source, settings, flags) if shown.verbose and source else ()), *task(source, settings)]
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
        if shown.debug:
            traceback.print_exc()
        kind = type(fault).__name__
        return Outcome(source, FAULT, [_placed(source, f"a fault of the program ({kind}: {fault}); --debug shows where")], _notes(fault))


def _notes(error: BaseException) -> tuple[str, ...]:
    """Return what was noted on an error: what there is to tell of a score whose copies failed only in part."""
    return tuple(getattr(error, "__notes__", ()))


def close_output() -> None:
    """Send what is still to be printed nowhere, so that the end of the program does not fail over it once more."""
    sys.stdout = open(os.devnull, "w")  # noqa: PTH123, SIM115


def _settings(source: str, flags: dict[str, Any]) -> dict[str, Any]:
    """Return the settings for a score: flags over the project file."""
    from annotator.configuration import project_settings

    return {**(project_settings(_folder(source)) if source else {}), **flags}


def _settings_told(source: str, settings: dict[str, Any], flags: dict[str, Any]) -> list[str]:
    """Return the line that says which settings hold for a score, and which project file those come from that are no flags."""
    from annotator.configuration import project_file

    place = project_file(_folder(source))
    own = [f"{name} = {value!r}" for name, value in settings.items() if name not in flags]
    typed = [f"{name} = {value!r}" for name, value in flags.items()]
    said = [*([f"{', '.join(own)} (from {place})"] if own else []), *([f"{', '.join(typed)} (as typed)"] if typed else [])]
    return [f"settings: {'; '.join(said) or 'the defaults'}"]


def _folder(source: str) -> Path:
    """Return the folder from which the project file of a score is looked for."""
    return Path.cwd() if source in ("", "-") else Path(source).parent


def _placed(source: str, message: str) -> str:
    """Put the score's name before a message that does not carry it already; whatever the name holds, it stays one line."""
    line = " ".join(message.split())
    name = " ".join(source.split())
    spellings = (name, name.encode("utf-8", "replace").decode())
    told = any(re.search(rf"(?<![\w.-]){re.escape(spelling)}(?![\w-])", line) for spelling in spellings)
    return line if source in ("", "-") or told else f"{name}: {line}"


def _say(outcome: Outcome, shown: Shown) -> None:
    """Say an outcome on standard error."""
    if sys.stderr is None or (outcome.code == 0 and shown.quiet):
        return
    for line in [*(() if shown.quiet else outcome.told), *outcome.lines]:
        tell(_placed(outcome.source, line))


def _stop(message: str, code: int) -> NoReturn:
    """Say a last line and exit."""
    tell(message)
    sys.exit(code)
