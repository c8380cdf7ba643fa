"""Scores worked on side by side, in processes of our own, and how those end when the user ends the program.

Rule
----
Ctrl-C reaches every process of a terminal. A worker that it meets while it waits for work can leave the others, and the program, waiting
for ever: so the workers do not hear it. The program does, and tells them (SIGTERM) until they have heeded it once; what they were at is
then undone, as by Ctrl-C. One that is still there after ``PATIENCE`` seconds is ended without a word. Workers whose program was killed end
by themselves.

Source: the documentation of ``multiprocessing`` (processes are joined at exit).
"""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from threading import Thread
from types import FrameType
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor

PATIENCE = 5.0
"""Seconds that a worker has to undo what it was at."""

Call = TypeVar("Call")
Outcome = TypeVar("Outcome")


def side_by_side(task: Callable[[Call], Outcome], calls: Sequence[Call], jobs: int) -> Iterator[Outcome]:
    """Yield what comes of each call, in order, from so many workers; they have ended when this has, however it ends."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    pool = ProcessPoolExecutor(jobs, get_context("spawn"), _prepare)
    try:
        yield from pool.map(partial(_done, task), calls)
    except BaseException:
        _end(pool)
        raise
    pool.shutdown()


def _prepare() -> None:
    """Make a worker ready."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, _heed)
    Thread(target=_end_with_the_program, daemon=True).start()


def _end_with_the_program() -> None:
    """End this worker when the program that gives it work is gone, however it went: nobody else would."""
    from multiprocessing import parent_process

    program = parent_process()
    if program is not None:
        program.join()
        os.kill(os.getpid(), signal.SIGTERM)
        time.sleep(1)
        os._exit(1)


def _done(task: Callable[[Call], Outcome], call: Call) -> Outcome:
    """Return what comes of one call, in a worker; one that is to end may have another call in hand already, and leaves it."""
    if signal.getsignal(signal.SIGTERM) is signal.SIG_IGN:
        raise SystemExit
    return task(call)


def _heed(_number: int, _frame: FrameType | None) -> None:
    """End what a worker is at, once."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    raise SystemExit


def _end(pool: ProcessPoolExecutor) -> None:
    """End the workers of a pool."""
    from multiprocessing import active_children

    pool.shutdown(wait=False, cancel_futures=True)
    until = time.monotonic() + PATIENCE
    while (workers := active_children()) and time.monotonic() < until:
        for worker in workers:
            worker.terminate()
            worker.join(0.05)
    for worker in active_children():
        worker.kill()
        worker.join()
