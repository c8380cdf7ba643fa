"""``annotator plain``: the marks taken out again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from annotator.commands.options import (
    Debug,
    DryRun,
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
    dry_run: DryRun = False,
    jobs: Jobs = None,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,
) -> None:
    """Take the marks out of each score again and leave everything else as it was.

    A score without marks comes out unchanged.
    """
    each_score(scores, _plain_one, given_flags(locals()), Shown(quiet, verbose, debug), folders=MARKED_COPIES)


def _plain_one(source: str, settings: dict[str, Any]) -> list[str]:
    """Write the plain copy of one score; return the lines to say about it."""
    from annotator import copies

    if source == "-":
        data, document = copies.plain_bytes(standard_input())
        if "dry_run" in settings:
            return [*document.notices, "would write the plain score to standard output"]
        standard_output().buffer.write(data)
        return list(document.notices)
    out = settings.get("out")
    place, force = out and Path(out), settings.get("force", False)
    if "dry_run" in settings:
        from annotator.rehearsal import rehearse_plain

        return rehearse_plain(Path(source), place, force)
    target, notices = copies.plain_copy(Path(source), place, force)
    return [*notices, f"wrote {target}"]
