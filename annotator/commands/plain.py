"""``annotator plain``: the marks taken out again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from annotator.commands.options import (
    Debug,
    Force,
    Jobs,
    Out,
    Quiet,
    Scores,
    Verbose,
    given_flags,
)
from annotator.commands.streams import standard_input, standard_output
from annotator.running import MARKED_COPIES, Shown, each_score


def plain(
    scores: Scores,
    out: Out = None,
    force: Force = False,
    jobs: Jobs = None,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,
) -> None:
    """Take the marks out again: everything else as it was."""
    each_score(scores, _plain_one, given_flags(locals()), Shown(quiet, verbose, debug), folders=MARKED_COPIES)


def _plain_one(source: str, settings: dict[str, Any]) -> list[str]:
    """Write the plain copy of one score; return the lines to say about it."""
    from annotator import copies

    if source == "-":
        data, document = copies.plain_bytes(standard_input())
        standard_output().buffer.write(data)
        return list(document.notices)
    out = settings.get("out")
    target, notices = copies.plain_copy(Path(source), out and Path(out), settings.get("force", False))
    return [*notices, f"wrote {target}"]
