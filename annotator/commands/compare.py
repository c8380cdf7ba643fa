"""``annotator compare``: plain and marked side by side, for paper and for the screen."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from annotator.commands.options import (
    Bars,
    Breaks,
    Debug,
    DryRun,
    Force,
    Hand,
    Jobs,
    Kinds,
    Language,
    Out,
    Paper,
    Parts,
    Quiet,
    Scores,
    Shortest,
    StyleName,
    Verbose,
    Without,
    given_flags,
    run_copying,
    run_options,
)
from annotator.running import SCORES, Shown, each_score

Facing = Annotated[
    bool,
    typer.Option(
        "--facing",
        help="In the PDF, plain on left pages and marked on right ones. Print on both sides, turned over the long edge.",
    ),
]


def compare(
    scores: Scores,
    facing: Facing = False,
    out: Out = None,
    style: StyleName = None,
    paper: Paper = None,
    breaks: Breaks = None,
    language: Language = None,
    kinds: Kinds = None,
    without: Without = None,
    hand: Hand = None,
    bars: Bars = None,
    shortest: Shortest = None,
    parts: Parts = None,
    force: Force = False,
    dry_run: DryRun = False,
    jobs: Jobs = None,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,
) -> None:
    """Set plain and marked side by side: a PDF, and a page for the browser on which the marks fade in and out.

    In the PDF each plain system has its marked twin below it. Copying printed music may need permission: the law of your country decides.
    """
    flags = given_flags(locals())
    each_score(scores, _compare_one, flags, Shown(quiet, verbose, debug), folders=SCORES)


def _compare_one(source: str, settings: dict[str, Any]) -> list[str]:
    """Compare plain and marked of one score; return the lines to say about it."""
    from annotator.compare.comparison import compare_copy
    from annotator.errors import UsageError

    if source == "-":
        raise UsageError("compare writes two files and needs a file to name them after: save the score first")
    copying = run_copying(settings)
    if "dry_run" in settings:
        from annotator.rehearsal import rehearse_named

        return rehearse_named(Path(source), run_options(settings), copying, (("compare", ".pdf"), ("compare", ".html")))
    copy = compare_copy(Path(source), run_options(settings), copying, settings.get("facing", False))
    return [*copy.notices, f"{copy.report.headline}: wrote {', '.join(path.name for path in copy.files)}"]
