"""The engraver's own process: jobs in on stdin, answers out on stdout, one line each, until stdin is closed.

Rule
----
The engraver is native code that some well-formed scores kill or send astray, so it never runs in the program's own process. A job is one
JSON object, ``{"job": "import" | "pages" | "filled", "text": ..., "options": {...}, "seconds": ..., "megabytes": ...}``. The answer
is one too: ``{"ok": true, "mei": ..., "strip": ...}`` for an import (``strip``: the score as one long system), ``{"ok": true, "pages":
[...]}`` for pages, or ``{"ok": false, "why": ...}``. Each job gets a toolkit of its own, so that no answer depends on the jobs before.

``filled`` asks for pages only if they are well filled and at most ``most``, for drawing takes as long as finding that out. It gives the ids
of the bars that begin ``systems``, and is answered how many systems each page has, and the pages or none.

Source: the engraver's documentation of its toolkit; that it can die on valid files was measured.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from typing import Any

from annotator.pages.breaks import even_pages
from annotator.processes.bounds import limit


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
    count = toolkit.getPageCount()
    pages = range(1, count + 1)
    if job["job"] == "pages":
        return {"ok": True, "pages": [toolkit.renderToSVG(page) for page in pages]}
    on_page = Counter(toolkit.getPageWithElement(bar) for bar in job["systems"])
    systems = tuple(on_page[page] for page in pages)
    wanted = count <= job["most"] and even_pages(systems) == systems
    return {"ok": True, "systems": systems, "pages": [toolkit.renderToSVG(page) for page in pages if wanted]}


def main() -> None:
    """Get ready, then answer job after job."""
    import verovio  # noqa: F401 - it takes longest, and there may be no job yet

    for line in sys.stdin.buffer:
        job = json.loads(line)
        limit(float(job["seconds"]), int(job["megabytes"]))
        sys.stdout.buffer.write(json.dumps(answer(job)).encode("utf-8") + b"\n")
        sys.stdout.buffer.flush()


if __name__ == "__main__":
    main()
