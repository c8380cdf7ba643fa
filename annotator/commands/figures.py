"""``annotator figures``: what is in a piece, as a table or for other programs."""

from __future__ import annotations

from pathlib import Path

from annotator.commands.options import Given, OneScore
from annotator.commands.streams import standard_input, standard_output
from annotator.running import each_score
from annotator.settings import Call


def figures(score: OneScore, given: Given) -> None:
    """List the figures of a score: bar, hand, label, notes, notes left to read."""
    each_score([score], _report_one, given)


def _report_one(source: str, options: Call) -> list[str]:
    """Print the report of one score; return the lines to say about it."""
    from annotator.pipeline import find_figures, read

    score = read(standard_input() if source == "-" else Path(source))
    report = find_figures(score, options)
    shape = report.to_json if options.json else report.to_csv if options.csv else report.to_table
    standard_output().write(shape())
    return list(score.repairs)
