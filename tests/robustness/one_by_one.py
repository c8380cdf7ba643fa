"""Runs the program many times, each time in a process of its own with limits, without starting Python anew: a script, not a test.

Conventions
-----------
* Standard input holds a JSON list of jobs ``{"words": [...], "folder": ..., "seconds": ..., "drawn": ...}``; standard output gets a list
  of ``{"code", "seconds", "megabytes", "stderr"}``. A code below 0 is the signal that ended the process. Where ``drawn`` is false, no
  pages are made of a score that the engraver would be given, which is nine tenths of the time.
* More that a job may ask for: ``pages`` (a file of ready pages, a JSON list, in place of the engraver's), ``slow`` (seconds that each
  file takes to reach the disk), ``kill`` (seconds, and the signal sent after them), ``user`` (a number to run as), ``file_bytes``
  (the most a file may hold), ``environment``, ``patience`` (the engraver's seconds).
* Everything heavy is imported once; each job is a fork of that state. Megabytes are the peak of the job and of the processes it started.
* Python's sockets raise in a job: whoever opens one ends with 70.
"""

from __future__ import annotations

import contextlib
import gc
import io
import json
import os
import resource
import signal
import socket
import sys
import tempfile
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

MOST_SECONDS = 5
MOST_BYTES = 2_000 << 20  # of address space, libraries included


def do(job: dict[str, Any]) -> dict[str, Any]:
    """Run one job and say how it ended."""
    with tempfile.TemporaryFile() as said:
        start = time.perf_counter()
        child = os.fork()
        if child == 0:
            _be_the_program(job, said.fileno())
        orders = sorted([(job["seconds"], signal.SIGKILL), *([tuple(job["kill"])] if "kill" in job else [])])
        while True:
            done, status, usage = os.wait4(child, os.WNOHANG)
            if done:
                break
            if orders and time.perf_counter() - start > orders[0][0]:
                os.kill(child, orders.pop(0)[1])
            time.sleep(0.001)
        seconds = time.perf_counter() - start
        said.seek(0)
        text = said.read().decode("utf-8", "replace")
    code = os.waitstatus_to_exitcode(status)
    return {"code": code, "seconds": seconds, "megabytes": usage.ru_maxrss / 1024, "stderr": text}


def _be_the_program(job: dict[str, Any], said: int) -> None:
    """Be the program in a fork; never returns."""
    code = 1
    try:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        os.chdir(job["folder"])
        nothing = os.open(os.devnull, os.O_RDWR)
        os.dup2(nothing, 0)
        os.dup2(nothing, 1)
        os.dup2(said, 2)
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
        resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
        for name in ("socket", "create_connection", "getaddrinfo", "create_server"):
            setattr(socket, name, _no_socket)
        _prepare(job)
        sys.argv = ["annotator", *job["words"]]
        from annotator.shell.cli import run

        run()
        code = 0
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else int(end.code is not None)
    except BaseException:
        import traceback

        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def _prepare(job: dict[str, Any]) -> None:
    """Make the world as the job wants it."""
    from annotator.pages import engraver, engraving, mei
    from annotator.pages.render_copy import render_copy
    from annotator.products import marked_copies as copies

    os.environ.update(job.get("environment", {}))
    engraver.BASE_SECONDS = job.get("patience", engraver.BASE_SECONDS)
    drawn = job.get("drawn", True)
    if "pages" in job or not drawn:
        pages = tuple(json.loads(Path(job["pages"]).read_text(encoding="utf-8"))) if drawn else ()
        mei.Import = lambda document, *_more: SimpleNamespace(copy=render_copy(document))  # type: ignore[assignment,misc]
        engraving.engrave = lambda *_more, **_named: SimpleNamespace(pages=pages)  # type: ignore[assignment]
    if not drawn:
        copies._pictures = lambda *_more: iter(())
    if "slow" in job:
        os.fsync = lambda _stream: time.sleep(job["slow"])  # type: ignore[assignment]
    if "file_bytes" in job:
        resource.setrlimit(resource.RLIMIT_FSIZE, (job["file_bytes"], job["file_bytes"]))
    if "user" in job and os.getuid() == 0:
        os.setuid(job["user"])


def _no_socket(*_words: object, **_more: object) -> None:
    raise AssertionError("a socket was opened")


def main() -> None:
    """Do all jobs."""
    import annotator.pages.engraving
    import annotator.pages.pdf
    import annotator.products.marked_copies
    import annotator.shell.copies  # noqa: F401
    from annotator.shell.cli import run

    sys.argv = ["annotator", "styles"]  # one command done at home: what it loads is there for all jobs
    with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):
        run()
    gc.freeze()
    jobs = json.loads(sys.stdin.read())
    print(json.dumps([do(job) for job in jobs]))


if __name__ == "__main__":
    main()
