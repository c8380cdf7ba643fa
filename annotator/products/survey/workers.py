"""The work on all cores of this machine: processes that each take one file's bytes at a time and give its record back.

Conventions
-----------
* A worker that dies over a file (a crash of a library, the system out of memory) costs that file only: it gets a record that says so, and
  another worker takes the dead one's place.
* A file that takes longer than ``SECONDS_A_FILE`` costs a line, and its worker.
* The bytes come from an iterator and are asked for when a worker is free, so no more than one file a worker is in memory.
* Workers ignore Ctrl-C, which is for the program that started them; they end with it, because then their pipe is closed.
* On Linux workers are forked once everything they need is loaded, which costs a few milliseconds, as long as no other thread runs;
  elsewhere, and otherwise, they are started from nothing.

Source: Python's documentation of ``multiprocessing``, "Contexts and start methods", for when forking is safe.
"""

from __future__ import annotations

import contextlib
import gc
import os
import signal
import sys
import threading
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain, islice
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from typing import Any

from annotator.products.survey.record import fault_record, measure_bytes

Job = tuple[str, bytes]
"""A digest, and the bytes that have it."""
Done = tuple[str, str]
"""A digest, and the record of the bytes that have it."""

FILES_A_LIFE = 2_000
"""A worker is replaced after so many files, so that memory which a library does not give back does not add up."""
EASY = 50_000
"""Objects made before a worker's garbage collector looks for circles: a score makes many notes and hardly any circles."""
SECONDS_A_FILE = 120.0
"""How long one file may take; the largest score that is read takes a tenth of it."""
FEW = 8
"""Fewer files than this are not worth starting workers for, where they cannot be forked."""


@dataclass(slots=True)
class Worker:
    """A worker: its process, our end of its pipe, the digest it is at (None: free), since when, and how many files it was given."""

    process: BaseProcess
    pipe: Connection
    digest: str | None = None
    files: int = 0
    since: float = 0.0


class Workers:
    """The workers of one run. Use it as a context: they end with it."""

    def __init__(self, count: int) -> None:
        self._context = get_context(_method())
        self._crew: list[Worker] = []
        self._count = count

    def __enter__(self) -> Workers:
        return self

    def __exit__(self, kind: object, *_: object) -> None:
        for worker in self._crew:
            worker.pipe.close()
        for worker in self._crew:
            if kind is not None:
                worker.process.kill()
            worker.process.join()

    def records(self, jobs: Iterable[Job]) -> Iterator[Done]:
        """Yield the record of each job, in the order in which they are done."""
        coming = iter(jobs)
        more = True
        while True:
            while more and any(worker.digest is None for worker in self._crew) | (len(self._crew) < self._count):
                job = next(coming, None)
                if job is None:
                    more = False
                else:
                    yield from self._give(job)
            busy = {worker.pipe: worker for worker in self._crew if worker.digest is not None}
            if not busy:
                return
            for pipe in wait(list(busy), timeout=min(self._left(worker) for worker in busy.values())):
                yield self._take(busy[pipe])  # type: ignore[index]
            for worker in [worker for worker in self._crew if worker.digest is not None and self._left(worker) <= 0]:
                worker.process.kill()
                yield self._lost(worker, f"it took longer than {SECONDS_A_FILE:.0f} seconds")

    def _left(self, worker: Worker) -> float:
        """Return how many seconds a worker has left for its file."""
        return max(0.0, worker.since + SECONDS_A_FILE - time.monotonic())

    def _give(self, job: Job) -> Iterator[Done]:
        """Give a job to a free worker; to a new one where there is none, or the free one's time has come, or it turns out dead."""
        worker = next((one for one in self._crew if one.digest is None), None) or self._started()
        for last in (False, True):
            if worker.files >= FILES_A_LIFE:
                self._dismiss(worker)
                worker = self._started()
            worker.digest, worker.files, worker.since = job[0], worker.files + 1, time.monotonic()
            try:
                worker.pipe.send_bytes(job[1])
                return
            except OSError:
                if last:
                    yield self._lost(worker)
                worker.files = FILES_A_LIFE

    def _take(self, worker: Worker) -> Done:
        """Return what a worker has done."""
        try:
            record = worker.pipe.recv_bytes().decode()
        except (EOFError, OSError):
            return self._lost(worker)
        digest, worker.digest = worker.digest or "", None
        return digest, record

    def _lost(self, worker: Worker, why: str = "") -> Done:
        """Return the record of the file over which a worker died, by itself or because it was time."""
        self._dismiss(worker)
        why = why or f"the process that read it broke down, exit {worker.process.exitcode}"
        return worker.digest or "", fault_record(why)

    def _dismiss(self, worker: Worker) -> None:
        self._crew.remove(worker)
        worker.pipe.close()
        worker.process.join()

    def _started(self) -> Worker:
        """Start a worker; before the first is forked, load what it needs."""
        if not self._crew and self._context.get_start_method() == "fork":
            _load()
            gc.freeze()
        ours, theirs = self._context.Pipe()
        others = [worker.pipe for worker in self._crew] + [ours] if self._context.get_start_method() == "fork" else []
        process: Any = self._context.Process(  # type: ignore[attr-defined]
            target=_work, args=(theirs, others), daemon=True)
        process.start()
        theirs.close()
        self._crew.append(Worker(process, ours))
        return self._crew[-1]


def records(jobs: Iterable[Job], count: int) -> Iterator[Done]:
    """Yield the record of each job; where starting workers takes long, for one worker or a few files in this process itself."""
    coming = iter(jobs)
    forked = _method() == "fork"
    first = list(islice(coming, FEW)) if count > 1 and not forked else []
    if not forked and (count < 2 or 0 < len(first) < FEW):
        for digest, data in chain(first, coming):
            yield digest, measure_bytes(data)
        return
    with Workers(count) as workers:
        yield from workers.records(chain(first, coming))


def cores() -> int:
    """Return how many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _method() -> str:
    """Return how workers are started here."""
    return "fork" if sys.platform == "linux" and threading.active_count() == 1 else "spawn"


def _load() -> None:
    """Load what the work needs, before forking."""
    import annotator.products.survey.effort
    import annotator.products.survey.measuring  # noqa: F401


def _work(pipe: Connection, others: list[Connection]) -> None:
    """Take bytes and give records until the pipe is closed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for other in others:
        other.close()  # a copy of ours would keep the other worker alive
    gc.set_threshold(EASY, 20, 20)
    with contextlib.suppress(EOFError, OSError):
        while True:
            pipe.send_bytes(measure_bytes(pipe.recv_bytes()).encode())
