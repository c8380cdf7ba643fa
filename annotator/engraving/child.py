"""The engraver's own process: one job in on stdin, one answer out on stdout, and then it ends.

Rule
----
The engraver is native code that some well-formed scores kill or send astray, so it never runs in the program's own process. A job is one
JSON object, ``{"job": "import" | "pages", "text": ..., "options": {...}, "seconds": ..., "megabytes": ...}``; the answer is one too:
``{"ok": true, "mei": ..., "strip": ...}`` for an import (``strip``: the whole score as one long system),
``{"ok": true, "pages": [...]}`` for pages, or ``{"ok": false, "why": ...}``.

Source: the engraver's documentation of its toolkit; that it can die on valid files was measured.
"""

from __future__ import annotations

import json
import sys
from typing import Any


def limit(seconds: float, megabytes: int) -> None:
    """Bound this process's processor time and memory, where the system can."""
    try:
        import resource
    except ImportError:  # Windows: the parent's clock is all there is
        return
    whole = max(1, int(seconds) + 1)
    size = megabytes * 1024 * 1024
    for what, most in ((resource.RLIMIT_CPU, whole), (resource.RLIMIT_AS, size), (resource.RLIMIT_CORE, 0)):
        try:
            resource.setrlimit(what, (most, most))
        except (ValueError, OSError):  # a lower limit is in force, or the system knows none
            continue


def answer(job: dict[str, Any]) -> dict[str, Any]:
    """Do one job with a fresh toolkit."""
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(job["options"])
    if not toolkit.loadData(job["text"]):
        return {"ok": False, "why": "it cannot read the score"}
    if job["job"] == "import":
        return {"ok": True, "mei": toolkit.getMEI(), "strip": toolkit.renderToSVG(1)}
    return {"ok": True, "pages": [toolkit.renderToSVG(page) for page in range(1, toolkit.getPageCount() + 1)]}


def main() -> None:
    """Read the job, answer it."""
    job = json.loads(sys.stdin.buffer.read().decode("utf-8"))
    limit(float(job["seconds"]), int(job["megabytes"]))
    sys.stdout.buffer.write(json.dumps(answer(job)).encode("utf-8"))


if __name__ == "__main__":
    main()
