"""The engraver (Verovio) in a process of its own: what it is asked, and how it answers.

Conventions
-----------
Times are seconds, memory is megabytes. Every failure (not installed, killed, too slow, too much memory, no answer or no page)
is an ``EngraverError``: the marked score can still be written, only the pages cannot.

Rule
----
The engraver is native code that some well-formed scores kill or send astray, so it never runs in the program's own process; this module is
both ends of the talk, and run by itself it is the child. A job is ``{"job": "import" | "pages" | "filled", "text": ...,
"options": ...}``. ``import`` is answered by the engraver's own document (``mei``) and the score as one long system (``strip``), ``pages``
by ``pages``.
``filled`` asks for pages only if they are well filled and at most ``most``, for drawing takes as long as finding that out; it gives the ids
of the bars that begin ``systems``, and is answered how many systems each page has, and the pages or none. Starting takes longer than
drawing a page, so a child that answered well is kept; each job gets a toolkit of its own, so that no answer depends on the jobs before.

Pages are filled from the first, but where the last would be less than seven tenths full (it is not spread over its height then), the last
three share their systems evenly, or the last two where three cannot.

Source: the engraver's documentation of its toolkit; that it can die on valid files was measured. Limits are ours: one page takes some
tenths of a second on an old machine.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from annotator.errors import EngraverError
from annotator.processes import child

BASE_SECONDS = 30.0
SECONDS_A_PAGE = 2.0
NOTES_A_PAGE = 250
"""Fewer than a full page holds, so that the time limit is generous."""

BASE_MEGABYTES = 2048
MEGABYTES_A_PAGE = 8

CHILD = (sys.executable, "-m", "annotator.pages.engraver")
"""The command that runs the engraver."""

ANSWERS: dict[str, dict[str, type]] = {"import": {"mei": str, "strip": str}, "pages": {"pages": list}, "filled": {"systems": list}}
"""What is answered to each job. A library that broke down may answer less: there are no pages then, and the program goes on."""


def ask(
    job: str, text: str, options: dict[str, Any], notes: int, command: Sequence[str] = CHILD, more: Mapping[str, Any] = MappingProxyType({})
) -> dict[str, Any]:
    """Have one job (``import``, ``pages`` or ``filled``) done by the engraver's process and return its answer.

    ``notes`` is the size of the score, from which the limits follow; ``more`` is what only some jobs are told.
    """
    sheets = 1 + notes // NOTES_A_PAGE
    order = {"job": job, "text": text, "options": options, **more}
    try:
        answer = child.ask(command, order, BASE_SECONDS + SECONDS_A_PAGE * sheets, BASE_MEGABYTES + MEGABYTES_A_PAGE * sheets)
    except child.ChildRefused as error:
        raise EngraverError(f"the engraver failed: {error}") from error
    except child.ChildFailed as error:
        raise EngraverError(f"the engraver {error}") from error
    if not all(isinstance(answer.get(name), kind) and answer[name] for name, kind in ANSWERS[job].items()):
        raise EngraverError("the engraver drew no page of this score")
    return answer


def start_ahead() -> None:
    """Begin to start the engraver, so that it is ready when it is asked."""
    child.start_ahead(CHILD)


def even_pages(systems: Sequence[int]) -> tuple[int, ...]:
    """Return how many systems each page should have, given how many it has when pages are filled from the first.

    >>> even_pages([6, 6, 6, 1])
    (6, 5, 4, 4)
    >>> even_pages([6, 6, 5]), even_pages([3, 6, 2])
    ((6, 6, 5), (3, 4, 4))
    """
    if len(systems) < 2 or 10 * systems[-1] >= 7 * systems[-2]:
        return tuple(systems)
    for count in (3, 2):
        full, shared = systems[:-count], systems[-count:]
        each, more = divmod(sum(shared), len(shared))
        spread = [each + (index < more) for index in range(len(shared))]
        if all(wanted <= there for wanted, there in zip(spread[:-1], shared[:-1], strict=True)):
            return (*full, *spread)
    return tuple(systems)


def done(job: dict[str, Any]) -> dict[str, Any]:
    """Do one job with a fresh toolkit, in the child."""
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(job["options"])
    if not toolkit.loadData(job["text"]):
        return {"ok": False, "why": "it cannot read the score"}
    if job["job"] == "import":
        return {"ok": True, "mei": toolkit.getMEI(), "strip": toolkit.renderToSVG(1)}
    pages = range(1, toolkit.getPageCount() + 1)
    if job["job"] == "pages":
        return {"ok": True, "pages": [toolkit.renderToSVG(page) for page in pages]}
    on_page = Counter(toolkit.getPageWithElement(bar) for bar in job["systems"])
    systems = tuple(on_page[page] for page in pages)
    wanted = len(pages) <= job["most"] and even_pages(systems) == systems
    return {"ok": True, "systems": systems} | ({"pages": [toolkit.renderToSVG(page) for page in pages]} if wanted else {})


if __name__ == "__main__":
    import verovio  # noqa: F401 - it takes longest, and there may be no job yet

    child.serve(done)
