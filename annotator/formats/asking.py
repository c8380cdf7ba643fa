"""The converter, asked from outside: a source in, MusicXML text out, under limits of time and memory.

Conventions
-----------
Times are seconds, memory is megabytes. Every failure is a ``ScoreError``: this source cannot be read. Only where the converter is not
installed the message says so.

Source: limits are ours: a thousand notes take about a second on an old machine, and a source has ten bytes or more a note.
"""

from __future__ import annotations

import base64
import json
import subprocess
import sys
from collections.abc import Sequence
from typing import Any

from annotator.errors import ScoreError

BASE_SECONDS = 20.0
BYTES_A_SECOND = 2_500
MOST_SECONDS = 300.0
MEGABYTES = 1_500
LARGEST = 4 << 20
"""Bytes of a source in another format; a long sonata has a tenth of it."""

CHILD = (sys.executable, "-m", "annotator.formats.child")
"""The command that runs the converter."""


def ask(kind: str, data: bytes, command: Sequence[str] = CHILD) -> dict[str, Any]:
    """Convert the bytes of a source of this format in a process of its own and return its answer."""
    if len(data) > LARGEST:
        raise ScoreError(f"more than the limit of {LARGEST} bytes for a score to be converted")
    seconds = min(MOST_SECONDS, BASE_SECONDS + len(data) / BYTES_A_SECOND)
    order = {"format": kind, "data": base64.b64encode(data).decode(), "seconds": seconds, "megabytes": MEGABYTES}
    try:
        done = subprocess.run(list(command), input=json.dumps(order).encode(), capture_output=True, timeout=seconds, check=False)
    except subprocess.TimeoutExpired as error:
        raise ScoreError(f"the converter took longer than {seconds:.0f} seconds over it: save the score as MusicXML") from error
    except OSError as error:
        raise ScoreError(f"the converter cannot be started ({error}): check the Python installation") from error
    return _checked(done)


def _checked(done: subprocess.CompletedProcess[bytes]) -> dict[str, Any]:
    """Return the answer of a process that ended, or say why there is none."""
    if done.returncode:
        how = f"signal {-done.returncode}" if done.returncode < 0 else f"code {done.returncode}"
        raise ScoreError(f"the converter broke off over it ({how}): save the score as MusicXML")
    try:
        answer = json.loads(done.stdout)
    except (ValueError, UnicodeDecodeError) as error:
        raise ScoreError("the converter's answer cannot be read") from error
    if not isinstance(answer, dict) or not answer.get("ok"):
        why = answer.get("why") if isinstance(answer, dict) else None
        if "No module named 'music21'" in str(why):
            raise ScoreError("to read this format the converter is needed, which is not installed (pip install music21)")
        why = why or "the converter failed (no reason given)"
        raise ScoreError(f"{why}: save the score as MusicXML" if "(" in str(why) else str(why))
    kinds = {"text": str, "by": str, "hands": list, "told": list}
    if not all(isinstance(answer.get(name), kind) for name, kind in kinds.items()):
        raise ScoreError("the converter's answer cannot be read")
    return answer
