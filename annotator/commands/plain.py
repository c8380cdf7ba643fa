"""``annotator plain``: the marks taken out again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from annotator.commands.options import (
    Debug,
    Force,
    Out,
    Quiet,
    Scores,
    Verbose,
    given_flags,
)
from annotator.commands.streams import standard_input, standard_output
from annotator.running import Shown, each_score


def plain(
    scores: Scores,
    out: Out = None,
    force: Force = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,
) -> None:
    """Take the marks out again: everything else as it was."""
    each_score(scores, _plain_one, given_flags(locals()), Shown(quiet, verbose, debug))


def _plain_one(source: str, settings: dict[str, Any]) -> list[str]:
    """Write the plain copy of one score; return the lines to say about it."""
    from annotator import copies

    if source == "-":
        standard_output().buffer.write(copies.plain_bytes(standard_input()))
        return []
    out = settings.get("out")
    return [f"wrote {copies.plain_copy(Path(source), out and Path(out), settings.get('force', False))}"]
