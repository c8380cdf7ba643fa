"""The work on the workers of a running dask.distributed scheduler, perhaps on other machines.

Conventions
-----------
* The bytes of a file go with its task, so workers need no disk in common with us, and a task whose worker is lost can be done by another.
  Only a few tasks a worker are under way at once, so neither we nor the scheduler hold more than that.
* Workers must run the same program as we do (``cache.program``); records are worked out and read back as on one machine, so the survey is
  the same to the byte.
* A task that takes its worker down again and again is given up by the scheduler: its file gets a record that says so.
* Nothing of dask is loaded unless this module's ``records`` is called.

Source: the documentation of dask.distributed (Client.submit, as_completed, "Resilience").
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from annotator.errors import TransferError, UsageError
from annotator.products.survey.cache import program
from annotator.products.survey.measures import fault_record

A_THREAD = 3
"""Tasks under way for each thread of the workers: one worked on, the others on their way."""
SECONDS = 10
"""How long a scheduler may take to answer at first."""
RETRIES = 3
"""How often a task is tried again that failed other than by its file."""


def records(jobs: Iterable[tuple[str, bytes]], address: str) -> Iterator[tuple[str, str]]:
    """Yield the record of each job, in the order in which they are done. Raises a ``UsageError`` or a ``TransferError``."""
    try:
        from distributed import Client
    except ImportError as error:
        raise UsageError("--cluster needs the library dask.distributed: pip install 'annotator[cluster]'") from error
    try:
        client = Client(address, timeout=SECONDS, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        reason = " ".join(str(error).split()).partition(":")[0] or type(error).__name__
        raise TransferError(f"no dask scheduler answers at {address} ({reason}): start one, or leave out --cluster") from error
    with client:
        _refuse_others(client, address)
        yield from _done(client, iter(jobs), address)


def _refuse_others(client: Any, address: str) -> None:
    """Refuse workers that run another version of the program, and a scheduler without workers."""
    try:
        versions = client.run(program, on_error="return")
    except Exception as error:
        raise TransferError(f"the workers of {address} do not answer ({type(error).__name__}: {error})") from error
    if not versions:
        raise UsageError(f"the scheduler at {address} has no workers: start one with 'dask worker {address}'")
    others = [worker for worker, version in versions.items() if version != program()]
    if others:
        raise UsageError(f"the worker {others[0]} does not run this version of annotator: install the same one there")


def _done(client: Any, jobs: Iterator[tuple[str, bytes]], address: str) -> Iterator[tuple[str, str]]:
    """Keep some tasks under way and yield what they give."""
    from distributed import as_completed

    from annotator.products.survey.measuring import measure_bytes

    threads = sum(client.nthreads().values())
    under_way: dict[Any, str] = {}
    waiting = as_completed(loop=client.loop)
    run = program()
    try:
        while True:
            while len(under_way) < A_THREAD * threads and (job := next(jobs, None)) is not None:
                digest, data = job
                future = client.submit(measure_bytes, data, key=f"annotator-{run}-{digest}", pure=False, retries=RETRIES)
                under_way[future] = digest
                waiting.add(future)
            if not under_way:
                return
            future = next(waiting)
            if future.status == "lost":  # its worker died with the record not yet fetched: the scheduler has it worked out again
                waiting.add(future)
                continue
            yield under_way.pop(future), _record(future, address)
    finally:
        client.cancel(list(under_way), force=True)


def _record(future: Any, address: str) -> str:
    """Return the record that a task gave, or one that says why there is none."""
    if future.cancelled():
        raise TransferError(f"the scheduler at {address} went away: what was read so far is kept; start it and call again")
    if future.status == "error":
        error = future.exception()
        return fault_record(f"on the cluster, {type(error).__name__}: {error}")
    record: str = future.result()
    return record
