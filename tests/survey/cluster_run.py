"""A scheduler and workers on this machine for the tests, and a run of the work that kills a worker midway.

``python cluster_run.py ADDRESS FOLDER VICTIM``: has the scores of a folder read by the cluster, kills the process group VICTIM once three
are done, and prints the records by digest as JSON.
"""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from hashlib import blake2b
from pathlib import Path


@contextlib.contextmanager
def cluster(folder: Path, workers: int) -> Iterator[tuple[str, list[int]]]:
    """Give the address of a running scheduler and the process groups of its workers."""
    file = folder / "scheduler.json"
    here = [sys.executable, "-m", "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard"]
    processes = [_start([*here, "--scheduler-file", str(file)], folder)]
    try:
        there = [sys.executable, "-m", "distributed.cli.dask_worker", "--scheduler-file", str(file), "--host", "127.0.0.1"]
        there += ["--nthreads", "1", "--no-dashboard", "--local-directory", str(folder / "work"), "--memory-limit", "0"]
        processes += [_start(there, folder) for _ in range(workers)]
        limit = time.monotonic() + 60
        while not file.exists() or not file.read_text():
            if time.monotonic() > limit or processes[0].poll() is not None:
                raise RuntimeError("the scheduler did not start")
            time.sleep(0.05)
        yield json.loads(file.read_text())["address"], [process.pid for process in processes[1:]]
    finally:
        for process in reversed(processes):
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()


def wait_for_workers(address: str, count: int) -> None:
    """Wait until so many workers are there."""
    from distributed import Client

    with Client(address, set_as_default=False) as client:
        client.wait_for_workers(count, timeout=60)


def _start(command: list[str], folder: Path) -> subprocess.Popen[bytes]:
    with (folder / "log.txt").open("ab") as log:
        return subprocess.Popen(command, stdout=log, stderr=log, start_new_session=True)


def main(address: str, folder: Path, victim: int) -> None:
    """Have the scores read and kill a worker meanwhile."""
    from annotator.products.survey.cluster import records

    wait_for_workers(address, 2)
    contents = [path.read_bytes() for path in sorted(folder.glob("*.xml"))]
    jobs = [(blake2b(data, digest_size=16).hexdigest(), data) for data in contents]
    found = {}
    for count, (digest, record) in enumerate(records(jobs, address), 1):
        found[digest] = record
        if count == 3:
            os.killpg(victim, signal.SIGKILL)
    print(json.dumps(found, sort_keys=True))


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]), int(sys.argv[3]))
