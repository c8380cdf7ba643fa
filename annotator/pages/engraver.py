"""The engraver, asked from outside: text in, text out, and nothing it says is believed unchecked.

Conventions
-----------
Times are seconds, memory is megabytes. Every failure (not installed, killed, too slow, too much memory, an answer that makes no sense)
is an ``EngraverError``: the marked score can still be written, only the pages cannot.

Rule: starting the engraver takes longer than drawing a page, so a process that answered well is kept for the next job; one that failed is
ended. With the program, the process ends too: its input is closed.

Source: limits are ours: one page takes some tenths of a second on an old machine.
"""

from __future__ import annotations

import atexit
import json
import os
import subprocess
import sys
from collections import deque
from collections.abc import Mapping, Sequence
from threading import Thread, Timer
from types import MappingProxyType
from typing import Any

from annotator.errors import EngraverError

BASE_SECONDS = 30.0
SECONDS_A_PAGE = 2.0
NOTES_A_PAGE = 250
"""Fewer than a full page holds, so that the time limit is generous."""

BASE_MEGABYTES = 2048
MEGABYTES_A_PAGE = 8

CHILD = (sys.executable, "-m", "annotator.pages.child")
"""The command that runs the engraver."""

ANSWERS: dict[str, dict[str, type]] = {"import": {"mei": str, "strip": str}, "pages": {"pages": list}, "filled": {"systems": list}}
"""What is answered to each job."""

_kept: list[_Child] = []
"""The process that waits for the next job, if there is one."""

_living: set[_Child] = set()
"""All processes that have not been ended."""


def ask(
    job: str, text: str, options: dict[str, Any], notes: int, command: Sequence[str] = CHILD, more: Mapping[str, Any] = MappingProxyType({})
) -> dict[str, Any]:
    """Have one job (``import``, ``pages`` or ``filled``) done by the engraver's process and return its answer.

    ``notes`` is the size of the score, from which the limits follow; ``more`` is what only some jobs are told.
    """
    sheets = 1 + notes // NOTES_A_PAGE
    seconds = BASE_SECONDS + SECONDS_A_PAGE * sheets
    order = dict(more) | {
        "job": job,
        "text": text,
        "options": options,
        "seconds": seconds,
        "megabytes": BASE_MEGABYTES + MEGABYTES_A_PAGE * sheets,
    }
    child = _taken(tuple(command))
    try:
        answer = _checked(job, child.answer(json.dumps(order).encode(), seconds))
    except BaseException:
        child.end()
        raise
    _kept.append(child)
    return answer


def start_ahead() -> None:
    """Begin to start the engraver, if none is waiting, so that it is ready when it is asked; ``ask`` meets what goes wrong."""
    if not _kept:
        try:
            _kept.append(_Child(CHILD))
        except EngraverError:
            return


@atexit.register
def let_go() -> None:
    """End the process that waits, and one that is still at work for nobody."""
    _kept.clear()
    for child in list(_living):
        child.end()


class _Child:
    """The engraver's process."""

    def __init__(self, command: tuple[str, ...]) -> None:
        """Start it. Raises an ``EngraverError`` if that cannot be done."""
        self.command, self._home = command, os.getpid()
        pipe = subprocess.PIPE
        try:
            self._process = subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=pipe)
        except OSError as error:
            raise EngraverError(f"the engraver cannot be started ({error}): check the Python installation") from error
        self._said: deque[bytes] = deque(maxlen=50)
        self._listener = Thread(target=self._listen, daemon=True)
        self._listener.start()
        _living.add(self)

    def _listen(self) -> None:
        """Take in what it says on the side, lest it waits to be heard; the last lines tell why it failed."""
        assert self._process.stderr is not None
        self._said.extend(self._process.stderr)

    @property
    def ready(self) -> bool:
        """Whether it is still there, and a child of this process: one that was forked off it has no part in the talk."""
        return self._home == os.getpid() and self._process.poll() is None

    def answer(self, order: bytes, seconds: float) -> bytes:
        """Return the line it answers to an order. Raises an ``EngraverError`` if it ends or takes too long."""
        process = self._process
        assert process.stdin is not None and process.stdout is not None
        clock = Timer(max(seconds, 0.0), process.kill)
        clock.daemon = True  # an interrupt may come before the clock is stopped below, and the program must not wait for it to run down
        try:
            clock.start()
            process.stdin.write(order + b"\n")
            process.stdin.flush()
            line = process.stdout.readline()
        except OSError:  # it ended before it had heard all
            line = b""
        finally:
            late = clock.finished.is_set()
            clock.cancel()
        if late:
            raise EngraverError(f"the engraver took longer than {seconds:.0f} seconds over this score")
        if not line:
            raise EngraverError(self._why_it_ended())
        return line

    def _why_it_ended(self) -> str:
        code = self._process.wait()
        self._listener.join()
        if code < 0:
            return f"the engraver broke down on this score (signal {-code})"
        return f"the engraver failed: {_last_line(self._said)}" if code else "the engraver's answer cannot be read"

    def end(self) -> None:
        """End it."""
        _living.discard(self)
        if self._home != os.getpid():
            return
        self._process.kill()
        self._process.wait()
        self._listener.join()
        for pipe in (self._process.stdin, self._process.stdout, self._process.stderr):
            try:
                if pipe is not None:
                    pipe.close()
            except OSError:  # what it was to hear cannot be delivered any more
                continue


def _taken(command: tuple[str, ...]) -> _Child:
    """Return the process that waits, or a new one."""
    while _kept:
        child = _kept.pop()
        if child.ready and child.command == command:
            return child
        child.end()
    return _Child(command)


def _checked(job: str, line: bytes) -> dict[str, Any]:
    try:
        answer = json.loads(line)
    except (ValueError, UnicodeDecodeError) as error:
        raise EngraverError("the engraver's answer cannot be read") from error
    if not isinstance(answer, dict) or not answer.get("ok"):
        why = answer.get("why") if isinstance(answer, dict) else None
        raise EngraverError(f"the engraver failed: {why or 'no reason given'}")
    wanted = ANSWERS[job]
    if not all(answer.get(name) for name in wanted):
        raise EngraverError("the engraver drew no page of this score")
    sound = all(isinstance(answer[name], kind) for name, kind in wanted.items())
    pages = answer.get("pages", [])
    if not sound or not isinstance(pages, list) or not all(isinstance(page, str) for page in pages):
        raise EngraverError("the engraver's answer cannot be read")
    return answer


def _last_line(said: Sequence[bytes]) -> str:
    lines = [line for line in b"".join(said).decode("utf-8", "replace").splitlines() if line.strip()]
    last = lines[-1] if lines else "no reason given"
    if "No module named 'verovio'" in last:
        return "it is not installed (pip install verovio)"
    return last[:200]
