"""``annotator compare``: plain and marked side by side, for paper and for the screen."""

from __future__ import annotations

from pathlib import Path

from annotator.errors import UsageError
from annotator.options.settings import Call
from annotator.shell.commands.options import Given, Scores
from annotator.shell.running import SCORES, carried_out, each_score


def compare(scores: Scores, given: Given) -> None:
    """Set plain and marked side by side: a PDF, and a page for the browser on which the marks fade in and out.

    In the PDF each plain system has its marked twin below it. Copying printed music may need permission: the law of your country decides.
    """
    each_score(scores, _compare_one, given, folders=SCORES)


def _compare_one(source: str, options: Call) -> list[str]:
    """Compare plain and marked of one score; return the lines to say about it."""
    if source == "-":
        raise UsageError("compare writes two files and needs a file to name them after: save the score first")
    from annotator.products.compare.comparison import plan_comparison
    from annotator.products.marked_copies import copying_of

    return carried_out(plan_comparison(Path(source), options, copying_of(options), options.facing), options)
