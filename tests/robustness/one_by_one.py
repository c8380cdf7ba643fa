"""Runs the program many times, each time in a process of its own with limits, without starting Python anew: a script, not a test.

Conventions
-----------
* Standard input holds a JSON list of jobs ``{"words": [...], "folder": ..., "seconds": ..., "drawn": ...}``; standard output gets a list
  of ``{"code", "seconds", "megabytes", "stderr"}``. A code below 0 is the signal that ended the process. Where ``drawn`` is false, no
  pages are made of a score that the engraver would be given, which is nine tenths of the time.
* Everything heavy is imported once; each job is a fork of that state. Megabytes are the peak of the job and of the processes it started.
* Python's sockets raise in a job: whoever opens one ends with 70.
"""

from __future__ import annotations

import json
import os
import resource
import signal
import socket
import sys
import tempfile
import time
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
        killer = {"at": start + job["seconds"]}
        while True:
            done, status, usage = os.wait4(child, os.WNOHANG)
            if done:
                break
            if time.perf_counter() > killer["at"]:
                os.killpg(child, signal.SIGKILL)
                killer["at"] = float("inf")
            time.sleep(0.002)
        seconds = time.perf_counter() - start
        said.seek(0)
        text = said.read().decode("utf-8", "replace")
    code = os.waitstatus_to_exitcode(status)
    return {"code": code, "seconds": seconds, "megabytes": usage.ru_maxrss / 1024, "stderr": text}


def _be_the_program(job: dict[str, Any], said: int) -> None:
    """Be the program in a fork; never returns."""
    code = 1
    try:
        os.setpgid(0, 0)
        os.chdir(job["folder"])
        nothing = os.open(os.devnull, os.O_RDWR)
        os.dup2(nothing, 0)
        os.dup2(nothing, 1)
        os.dup2(said, 2)
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
        resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
        for name in ("socket", "create_connection", "getaddrinfo", "create_server"):
            setattr(socket, name, _no_socket)
        if not job.get("drawn", True):
            _draw_nothing()
        sys.argv = ["annotator", *job["words"]]
        from annotator.cli import run

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


def _draw_nothing() -> None:
    """Ask for the copy that the engraver gets, as always, but not for pages."""
    from annotator import copies
    from annotator.engraving.render_copy import render_copy

    copies._pages = lambda document, *_more: (render_copy(document), ())[1]  # type: ignore[assignment]
    copies._pictures = lambda *_more: []  # type: ignore[assignment]


def _no_socket(*_words: object, **_more: object) -> None:
    raise AssertionError("a socket was opened")


def main() -> None:
    """Do all jobs."""
    import annotator.cli
    import annotator.copies
    import annotator.engraving.pages
    import annotator.engraving.pdf  # noqa: F401

    jobs = json.loads(sys.stdin.read())
    print(json.dumps([do(job) for job in jobs]))


if __name__ == "__main__":
    main()
