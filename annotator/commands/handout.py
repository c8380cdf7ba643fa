"""``annotator handout``: for a teacher, the look-through page with the marked score, the worksheet and its answers."""

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
from annotator.errors import UsageError
from annotator.running import SCORES, Shown, each_score

PERMISSION = "copying printed music may need permission: the law where you live decides"


def handout(
    scores: Scores,
    title: Annotated[str | None, typer.Option(help="A title in place of the score's.", metavar="TEXT")] = None,
    group: Annotated[str | None, typer.Option("--class", help="Whom it is for: 'Grade 3, week 2'.", metavar="TEXT")] = None,
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
    """Write three PDFs for a lesson: a handout, a worksheet and its answers.

    The handout has a look-through page, the marked score and a legend with examples from the piece. With --bars or --hand all of it is made
    of that excerpt. Copying printed music may need permission: the law where you live decides.
    """
    flags = given_flags(locals())
    if "group" in flags:
        flags["class"] = flags.pop("group")
    each_score(scores, _hand_out_one, flags, Shown(quiet, verbose, debug), folders=SCORES)


def _hand_out_one(source: str, settings: dict[str, Any]) -> list[str]:
    """Write the handout of one score; return the lines to say about it."""
    if source == "-":
        raise UsageError("a handout is named after its score: save the score to a file and name that")
    from annotator.handout.making import Lesson, hand_out

    options, copying, lesson = run_options(settings), run_copying(settings), Lesson(settings.get("title"), settings.get("class"))
    if "dry_run" in settings:
        from annotator.rehearsal import rehearse_handout

        return rehearse_handout(Path(source), options, copying, lesson)
    made = hand_out(Path(source), options, copying, lesson)
    return [*made.notices, f"{made.report.headline}: wrote {', '.join(path.name for path in made.files)}", PERMISSION]
