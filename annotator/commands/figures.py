"""``annotator figures``: what is in a piece, as a table or for other programs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from annotator.commands.options import (
    Bars,
    Debug,
    Hand,
    Kinds,
    Language,
    OneScore,
    Parts,
    Quiet,
    Shortest,
    Verbose,
    Without,
    given_flags,
    run_options,
)
from annotator.commands.streams import standard_input, standard_output
from annotator.running import Shown, each_score
from annotator.telling import plain_letters


def figures(
    score: OneScore,
    json: Annotated[bool, typer.Option("--json", help="Print the whole report as JSON.")] = False,
    csv: Annotated[bool, typer.Option("--csv", help="Print one line a figure, with commas.")] = False,
    language: Language = None,
    kinds: Kinds = None,
    without: Without = None,
    hand: Hand = None,
    bars: Bars = None,
    shortest: Shortest = None,
    parts: Parts = None,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,
) -> None:
    """List the figures of a score: bar, hand, label, notes, notes left to read."""
    flags = given_flags(locals())
    each_score([score], _report_one, flags, Shown(quiet, verbose, debug))


def _report_one(source: str, settings: dict[str, Any]) -> list[str]:
    """Print the report of one score; return the lines to say about it."""
    from annotator.pipeline import find_figures, read

    score = read(standard_input() if source == "-" else Path(source))
    report = find_figures(score, run_options(settings))
    if settings.get("json"):
        standard_output().write(report.to_json())
    elif settings.get("csv"):
        standard_output().write(report.to_csv())
    else:
        standard_output().write("\n".join(map(plain_letters, report.to_table().split("\n"))))
    return list(score.repairs)
