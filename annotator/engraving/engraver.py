"""The engraver, asked from outside: text in, text out, and nothing it says is believed unchecked.

Conventions
-----------
Times are seconds, memory is megabytes. Every failure (not installed, killed, too slow, too much memory, an answer that makes no sense)
is an ``EngraverError``: the marked score can still be written, only the pages cannot.

Source: limits are ours: one page takes some tenths of a second on an old machine.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from typing import Any

from annotator.errors import EngraverError

BASE_SECONDS = 30.0
SECONDS_A_PAGE = 2.0
NOTES_A_PAGE = 250
"""Fewer than a full page holds, so that the time limit is generous."""

BASE_MEGABYTES = 2048
MEGABYTES_A_PAGE = 8

CHILD = (sys.executable, "-m", "annotator.engraving.child")
"""The command that runs the engraver."""


def ask(job: str, text: str, options: dict[str, Any], notes: int, command: Sequence[str] = CHILD) -> dict[str, Any]:
    """Run one job (``import`` or ``pages``) in a process of its own and return its answer.

    ``notes`` is the size of the score, from which the limits follow.
    """
    sheets = 1 + notes // NOTES_A_PAGE
    seconds = BASE_SECONDS + SECONDS_A_PAGE * sheets
    order = {
        "job": job,
        "text": text,
        "options": options,
        "seconds": seconds,
        "megabytes": BASE_MEGABYTES + MEGABYTES_A_PAGE * sheets,
    }
    try:
        done = subprocess.run(
            list(command), input=json.dumps(order).encode(), capture_output=True, timeout=seconds, check=False
        )
    except subprocess.TimeoutExpired as error:
        raise EngraverError(f"the engraver took longer than {seconds:.0f} seconds over this score") from error
    except OSError as error:
        raise EngraverError(f"the engraver cannot be started ({error}): check the Python installation") from error
    return _checked(job, done)


def _checked(job: str, done: subprocess.CompletedProcess[bytes]) -> dict[str, Any]:
    if done.returncode < 0:
        raise EngraverError(f"the engraver broke down on this score (signal {-done.returncode})")
    if done.returncode > 0:
        raise EngraverError(f"the engraver failed: {_last_line(done.stderr)}")
    try:
        answer = json.loads(done.stdout)
    except (ValueError, UnicodeDecodeError) as error:
        raise EngraverError("the engraver's answer cannot be read") from error
    if not isinstance(answer, dict) or not answer.get("ok"):
        why = answer.get("why") if isinstance(answer, dict) else None
        raise EngraverError(f"the engraver failed: {why or 'no reason given'}")
    wanted = {"import": ("mei", "strip"), "pages": ("pages",)}[job]
    if not all(answer.get(name) for name in wanted):
        raise EngraverError("the engraver drew no page of this score")
    if not all(isinstance(text, str) for text in (answer["pages"] if job == "pages" else (answer["mei"], answer["strip"]))):
        raise EngraverError("the engraver's answer cannot be read")
    return answer


def _last_line(stderr: bytes) -> str:
    lines = [line for line in stderr.decode("utf-8", "replace").splitlines() if line.strip()]
    last = lines[-1] if lines else "no reason given"
    if "No module named 'verovio'" in last:
        return "it is not installed (pip install verovio)"
    return last[:200]
