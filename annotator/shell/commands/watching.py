"""Folders that mark themselves: what is put into them is marked, what changes is marked anew, until Ctrl-C.

Rule
----
* At first every score without a marked copy as new as itself is marked; then, whenever something changes below the folders, what is new
  or not as it was. What could not be marked is tried again when it has changed, not before.
* A file is looked at once nobody has written to it for ``SETTLED`` seconds, so that one that is still being copied is waited for.
* The program's own copies are no scores (``gathering``), so that writing them starts nothing.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from glob import escape
from pathlib import Path
from typing import Any, NamedTuple, NoReturn

from annotator.errors import AnnotatorError, UsageError
from annotator.options.settings import Call
from annotator.shell.configuration import in_force
from annotator.shell.running import SCORES, Found, Task, folder_of, gathered, interrupted, run_all
from annotator.shell.telling import tell

SETTLED = 1.0  # seconds
LOOK_AGAIN = 1_000  # milliseconds after which a file that was not settled is looked at again


class State(NamedTuple):
    """What tells whether a file is as it was: when it was written, in nanoseconds, and its size in bytes."""

    written: int
    size: int


def watch_folders(folders: Sequence[str], task: Task, given: dict[str, Any]) -> NoReturn:
    """Run a task over the scores of folders, and again over what comes and changes, until an interrupt exits."""
    options = Call(**given)
    for folder in folders:
        if not Path(folder).is_dir():
            raise UsageError(f"{folder}: --watch takes folders, and this is none")
    if options.dry_run:
        raise UsageError("--watch writes as it goes on: leave --dry-run out")
    done: dict[str, State] = {}
    waiting = True
    try:
        for changed in _changes(folders, options.quiet):
            if changed or waiting:
                found = _scores(folders)
                due = [score for score in found if _is_due(score, done, given)]
                waiting = any(not _is_settled(_state(score.name)) for score in found)
                if due:
                    run_all(due, task, given)
    except KeyboardInterrupt:
        pass
    interrupted()


def _changes(folders: Sequence[str], quiet: bool) -> Iterator[object]:
    """Yield what changes, and now and then nothing: what comes while scores are being marked is not missed."""
    try:
        from watchfiles import watch
    except ImportError:
        raise UsageError("--watch needs the package watchfiles, which is not here: pip install 'annotator[watch]'") from None
    if not quiet:
        tell(f"watching {', '.join(folders)}: put scores in, Ctrl-C ends it")
    yield from watch(*folders, rust_timeout=LOOK_AGAIN, yield_on_timeout=True)


def _scores(folders: Sequence[str]) -> list[Found]:
    """Return the scores below the folders that can be reached now."""
    return gathered(folders, SCORES)[0]


def _is_due(found: Found, done: dict[str, State], given: dict[str, Any]) -> bool:
    """Return whether a score is to be marked, and take note that it is as it is."""
    state = _state(found.name)
    if state is None or not _is_settled(state) or done.get(found.name) == state:
        return False
    due = found.name in done or not _has_copy(found, state, given)
    done[found.name] = state
    return due


def _state(name: str) -> State | None:
    """Return how a file is now; None: it has gone again."""
    try:
        status = Path(name).stat()
    except OSError:
        return None
    return State(status.st_mtime_ns, status.st_size)


def _is_settled(state: State | None) -> bool:
    return state is None or not 0 <= time.time() - state.written / 1e9 < SETTLED


def _has_copy(found: Found, state: State, given: dict[str, Any]) -> bool:
    """Return whether a marked copy lies there that is as new as its score."""
    source = Path(found.name)
    try:
        out = in_force(folder_of(found.name), given).options.out
    except AnnotatorError:
        return False
    folder = source.parent if out is None else out / found.below
    stem = source.with_suffix("").stem if source.suffix.lower() == ".gz" else source.stem
    return any(copy.stat().st_mtime_ns >= state.written for copy in folder.glob(f"{escape(stem)}-marked[.-]*"))
