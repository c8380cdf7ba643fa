"""``annotator figures``: what is in a piece, as a table or for other programs."""

from __future__ import annotations

from pathlib import Path

from annotator.commands.options import Given, OneScore
from annotator.commands.streams import standard_input, standard_output
from annotator.running import each_score
from annotator.settings import Call
from annotator.telling import plain_letters


def figures(score: OneScore, given: Given) -> None:
    """List the figures of a score: bar, hand, label, notes, notes left to read."""
    each_score([score], _report_one, given)


def _report_one(source: str, options: Call) -> list[str]:
    """Print the report of one score; return the lines to say about it."""
    from annotator.pipeline import find_figures, read

    score = read(standard_input() if source == "-" else Path(source))
    report = find_figures(score, options)
    if options.json or options.csv:
        standard_output().write(report.to_json() if options.json else report.to_csv())
    else:
        standard_output().write("\n".join(map(plain_letters, report.to_table().split("\n"))))
    return list(score.repairs)
