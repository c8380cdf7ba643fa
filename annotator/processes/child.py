"""Our own code in a process of its own, for libraries that a stranger's file can bring down or send astray: a job in, an answer out.

Conventions
-----------
Times are seconds, memory is megabytes. A job and its answer are JSON objects, one line each, on the child's stdin and stdout. The answer is
``{"ok": true, ...}`` or ``{"ok": false, "why": ...}``. Whatever goes wrong is a ``ChildFailed``; its text goes on after the name of what
the child is ("broke down on this score (signal 11)").

Rule: every job has its bounds, which the child sets itself and the parent's clock holds it to. A child that failed is ended; one that
answered well may be asked again. With the program it ends too: its input is closed.
"""

from __future__ import annotations

import atexit
import json
import os
import re
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from tempfile import TemporaryFile
from threading import Timer
from typing import Any

_waiting: list[Child] = []
"""Those that may be asked again."""


class ChildFailed(Exception):
    """There is no answer; the text says why."""


class ChildRefused(ChildFailed):
    """The child says itself why it did not do the job."""


def ask(command: Sequence[str], job: dict[str, Any], seconds: float, megabytes: int) -> dict[str, Any]:
    """Have a job done by the child that a command starts, one that waits if there is one, and keep it for the next."""
    child = next((each for each in _waiting if each.command == tuple(command)), None)
    if child is not None:
        _waiting.remove(child)
    if child is not None and not child.ready:
        child.end()
        child = None
    child = child or Child(command)
    try:
        answer = child.ask(job, seconds, megabytes)
    except BaseException:
        child.end()
        raise
    _waiting.append(child)
    return answer


def start_ahead(command: Sequence[str]) -> None:
    """Begin to start a child, if none waits, so that it is ready when it is asked; ``ask`` meets what goes wrong."""
    if not any(each.command == tuple(command) for each in _waiting):
        try:
            _waiting.append(Child(command))
        except ChildFailed:
            return


@atexit.register
def _end_all() -> None:
    """End those that wait; one at work is ended where its work ends badly."""
    for child in _waiting:
        child.end()


class Child:
    """One process."""

    def __init__(self, command: Sequence[str]) -> None:
        """Start it. Raises ``ChildFailed``."""
        self.command, self._home, pipe = tuple(command), os.getpid(), subprocess.PIPE
        self._said = TemporaryFile()  # noqa: SIM115 - what it says on the side, as long as it lives
        try:
            self._process = subprocess.Popen(self.command, stdin=pipe, stdout=pipe, stderr=self._said)
        except OSError as error:
            self._said.close()
            raise ChildFailed(f"cannot be started ({error}): check the Python installation") from error

    @property
    def ready(self) -> bool:
        """Whether it is still there, and a child of this process: one that was forked off it has no part in the talk."""
        return self._home == os.getpid() and self._process.poll() is None

    def ask(self, job: dict[str, Any], seconds: float, megabytes: int) -> dict[str, Any]:
        """Return the answer to a job. Raises ``ChildFailed``."""
        line = self._answer(json.dumps(job | {"seconds": seconds, "megabytes": megabytes}).encode() + b"\n", seconds)
        try:
            answer = json.loads(line)
        except (ValueError, UnicodeDecodeError) as error:
            raise ChildFailed("gave an answer that cannot be read") from error
        if not isinstance(answer, dict) or not answer.get("ok"):
            raise ChildRefused(str((answer.get("why") if isinstance(answer, dict) else "") or "no reason given"))
        return answer

    def _answer(self, job: bytes, seconds: float) -> bytes:
        """Return the line it answers, within so many seconds."""
        assert self._process.stdin is not None and self._process.stdout is not None
        clock = Timer(max(seconds, 0.0), self._process.kill)
        clock.daemon = True  # an interrupt may come before the clock is stopped below, and the program must not wait for it to run down
        try:
            clock.start()
            self._process.stdin.write(job)
            self._process.stdin.flush()
            line = self._process.stdout.readline()
        except OSError:  # it ended before it had heard all
            line = b""
        finally:
            late = clock.finished.is_set()
            clock.cancel()
        if late:
            raise ChildFailed(f"took longer than {seconds:.0f} seconds over this score")
        if not line:
            raise ChildFailed(self._why_it_ended())
        return line

    def _why_it_ended(self) -> str:
        code = self._process.wait()
        if code < 0:
            return f"broke down on this score (signal {-code})"
        self._said.seek(0)
        lines = [line for line in self._said.read().decode("utf-8", "replace").splitlines() if line.strip()] or ["no reason given"]
        missing = re.search(r"No module named '(\w+)'", lines[-1])
        if missing is not None:
            return f"is not installed (pip install {missing[1]})"
        return f"failed: {lines[-1][:200]}" if code else "gave an answer that cannot be read"

    def end(self) -> None:
        """End it."""
        self._said.close()
        if self._home != os.getpid():
            return
        self._process.kill()
        self._process.wait()
        for stream in (self._process.stdin, self._process.stdout):
            try:
                if stream is not None:
                    stream.close()
            except OSError:  # what it was to hear cannot be delivered any more
                continue


def serve(answer: Callable[[dict[str, Any]], dict[str, Any]]) -> None:
    """Be the child: answer job after job until stdin is closed. What a library prints meanwhile is no answer and goes to stderr."""
    said, sys.stdout = sys.stdout.buffer, sys.stderr
    for line in sys.stdin.buffer:
        job = json.loads(line)
        limit(float(job.pop("seconds")), int(job.pop("megabytes")))
        said.write(json.dumps(answer(job)).encode() + b"\n")
        said.flush()


def limit(seconds: float, megabytes: int) -> None:
    """Bound this process's processor time from now on and its memory, where the system can."""
    try:
        import resource
    except ImportError:  # Windows: the parent's clock is all there is
        return
    whole = max(1, int(time.process_time() + seconds) + 1)
    size = megabytes * 1024 * 1024
    for what, most in ((resource.RLIMIT_CPU, whole), (resource.RLIMIT_AS, size), (resource.RLIMIT_CORE, 0)):
        try:
            resource.setrlimit(what, (most, resource.getrlimit(what)[1]))
        except (ValueError, OSError):  # a lower limit is in force, or the system knows none
            continue
