"""Work done side by side in processes of our own, and how those end: the one pool of workers.

Rules
-----
* A worker has one call at a time, and calls come from an iterator as workers are free: memory holds no more than those and the next.
* A worker that dies over a call (a crash of a library, the system out of memory), or that takes too long, costs that call only: ``lost``
  says what comes of it, and another worker takes the place. After ``CALLS_A_LIFE`` a worker is replaced, so that memory which a library
  does not give back does not add up.
* Ctrl-C reaches every process of a terminal; the workers do not hear it. The program does, and tells them (SIGTERM) until they have heeded
  it once; what they were at is then undone, as by Ctrl-C. One that is still there after ``PATIENCE`` seconds is ended without a word.
  Workers whose program was killed end by themselves.
* Workers are started from nothing; ``forked``, which costs a few milliseconds, is for tasks that hold no process or thread of a library,
  and is done only where that is safe: on Linux, as long as no other thread runs.

Source: the documentation of ``multiprocessing``, "Contexts and start methods", for when forking is safe.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from math import inf
from multiprocessing import get_context, parent_process
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from types import FrameType
from typing import Any, Generic, TypeVar

PATIENCE = 5.0
"""Seconds that a worker has to undo what it was at."""
CALLS_A_LIFE = 2_000
OFTEN = 1.0
"""Seconds between two looks at the clock while workers work."""

Call = TypeVar("Call")
Outcome = TypeVar("Outcome")
Lost = Callable[[Call, str], Outcome]
"""What comes of a call whose worker died: from the call and what happened, as the end of a sentence."""


def side_by_side(
    task: Callable[[Call], Outcome], calls: Iterable[Call], jobs: int, lost: Lost[Call, Outcome]
) -> Iterator[Outcome]:
    """Yield what comes of each call, in order, from so many workers; they have ended when this has, however it ends.

    The task turns whatever happens into an outcome.
    """
    there: dict[int, Outcome] = {}
    due = 0
    with closing(as_done(task, calls, jobs, lost)) as done:
        for number, outcome in done:
            there[number] = outcome
            while due in there:
                yield there.pop(due)
                due += 1


def as_done(
    task: Callable[[Call], Outcome],
    calls: Iterable[Call],
    jobs: int,
    lost: Lost[Call, Outcome],
    *,
    seconds: float = inf,
    forked: bool = False,
) -> Generator[tuple[int, Outcome], None, None]:
    """Yield the number of each call, from 0, and what comes of it, as soon as it is there; a call may take so many ``seconds``.

    Otherwise as ``side_by_side``.
    """
    crew = _Crew(task, jobs, lost, seconds, forked)
    try:
        for number, call in enumerate(calls):
            while (worker := crew.free()) is None:
                yield from crew.awaited()
            if not crew.give(worker, number, call):
                yield number, lost(call, crew.dismissed(worker))
        while crew.busy():
            yield from crew.awaited()
    except BaseException:
        crew.stop()
        raise
    crew.end()


def cores() -> int:
    """Return how many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def can_fork() -> bool:
    """Return whether a worker can be forked here and now."""
    return sys.platform == "linux" and threading.active_count() == 1


@dataclass(slots=True)
class _Worker(Generic[Call]):
    """A worker: its process, our end of its pipe, the call it is at (none: free), its number and until when; how many it was given."""

    process: BaseProcess
    pipe: Connection
    call: tuple[Call, ...] = ()
    number: int = 0
    until: float = inf
    calls: int = 0


class _Crew(Generic[Call, Outcome]):
    """The workers of one run."""

    def __init__(
        self, task: Callable[[Call], Outcome], jobs: int, lost: Lost[Call, Outcome], seconds: float, forked: bool
    ) -> None:
        self._task, self._jobs, self._lost, self._seconds = task, jobs, lost, seconds
        self._context: Any = get_context("fork" if forked and can_fork() else "spawn")
        self._workers: list[_Worker[Call]] = []

    def busy(self) -> list[_Worker[Call]]:
        """Return the workers that are at a call."""
        return [worker for worker in self._workers if worker.call]

    def free(self) -> _Worker[Call] | None:
        """Return a worker without a call, a new one while there may be more; None: all are at work."""
        for worker in [worker for worker in self._workers if not worker.call]:
            if worker.calls < CALLS_A_LIFE and worker.process.is_alive():
                return worker
            self.dismissed(worker)
        return self._started() if len(self._workers) < self._jobs else None

    def give(self, worker: _Worker[Call], number: int, call: Call) -> bool:
        """Give a worker a call; return whether it could take it."""
        worker.number, worker.call, worker.until, worker.calls = number, (call,), time.monotonic() + self._seconds, worker.calls + 1
        with contextlib.suppress(BrokenPipeError, ConnectionResetError):
            worker.pipe.send(worker.call)
            return True
        return False

    def awaited(self) -> Iterator[tuple[int, Outcome]]:
        """Yield the numbers of the calls that end first, and what comes of them."""
        busy = {worker.pipe: worker for worker in self.busy()}
        for pipe in wait(list(busy), timeout=OFTEN):
            worker = busy[pipe]  # type: ignore[index]
            (call,) = worker.call
            try:
                outcome: Outcome = worker.pipe.recv()
            except (EOFError, OSError):
                outcome = self._lost(call, self.dismissed(worker))
            worker.call = ()
            yield worker.number, outcome
        for worker in self.busy():
            if worker.until < time.monotonic():
                worker.process.kill()
                self.dismissed(worker)
                yield worker.number, self._lost(worker.call[0], f"it took longer than {self._seconds:.0f} seconds")

    def dismissed(self, worker: _Worker[Call]) -> str:
        """Let a worker go, and return how it ended."""
        self._workers.remove(worker)
        with contextlib.suppress(OSError):
            worker.pipe.send(())
        worker.process.join()
        worker.pipe.close()
        return f"the process that worked on it broke down, exit {worker.process.exitcode}"

    def end(self) -> None:
        """Let all workers go."""
        while self._workers:
            self.dismissed(self._workers[0])

    def stop(self) -> None:
        """End all workers, whatever they are at."""
        until = time.monotonic() + PATIENCE
        there = [worker.process for worker in self._workers if worker.process.pid is not None]
        while (alive := [process for process in there if process.is_alive()]) and time.monotonic() < until:
            for process in alive:
                process.terminate()
                process.join(0.05)
        for process in there:
            process.kill()
            process.join()
        for worker in self._workers:
            worker.pipe.close()

    def _started(self) -> _Worker[Call]:
        ours, theirs = self._context.Pipe()
        worker: _Worker[Call] = _Worker(self._context.Process(target=_work, args=(self._task, theirs), daemon=True), ours)
        self._workers.append(worker)
        worker.process.start()
        theirs.close()
        return worker


def _work(task: Callable[[Call], Outcome], pipe: Connection) -> None:
    """Take calls and give what comes of them, in a worker, until there are no more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, _heed)
    threading.Thread(target=_end_with_the_program, daemon=True).start()
    with contextlib.suppress(EOFError, OSError):
        while call := pipe.recv():
            outcome = task(*call)
            if signal.getsignal(signal.SIGTERM) is signal.SIG_IGN:  # told to end, and the task let the telling pass
                break
            pipe.send(outcome)


def _heed(_number: int, _frame: FrameType | None) -> None:
    """End what a worker is at, once."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    raise SystemExit


def _end_with_the_program() -> None:
    """End this worker when the program that gives it work is gone, however it went: nobody else would."""
    program = parent_process()
    if program is not None:
        program.join()
        os.kill(os.getpid(), signal.SIGTERM)
        time.sleep(1)
        os._exit(1)
