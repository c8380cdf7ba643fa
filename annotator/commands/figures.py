"""``annotator figures``: what is in a piece, as a table or for other programs; what a kind of figure is, and why a note is grey."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from annotator.commands.options import Given, file
from annotator.commands.streams import standard_input, standard_output
from annotator.errors import UsageError
from annotator.running import each_score
from annotator.settings import Call
from annotator.telling import plain_letters

MaybeScore = Annotated[
    str | None,
    typer.Argument(help="A score: MusicXML, ABC, kern, MEI or MIDI; - reads standard input.", metavar="SCORE", parser=file),
]


def figures(given: Given, score: MaybeScore = None) -> None:
    """List the figures of a score: bar, hand, label, notes, notes left to read."""
    if given.get("explain"):
        from annotator.explaining import explained

        options = Call(**given)
        _print(explained(str(options.explain), options.language))
    elif score is None:
        raise UsageError("missing argument 'SCORE': annotator figures -h says what there is")
    else:
        each_score([score], _report_one, given)


def _report_one(source: str, options: Call) -> list[str]:
    """Print the report of one score; return the lines to say about it."""
    from annotator.pipeline import find_figures, read

    score = read(standard_input() if source == "-" else Path(source))
    report = find_figures(score, options)
    if options.why is not None:
        from annotator.explaining import reasons_in_bar

        _print(reasons_in_bar(report, options.why))
    elif options.json or options.csv:
        standard_output().write(report.to_json() if options.json else report.to_csv())
    else:
        _print(report.to_table())
    return list(score.repairs)


def _print(text: str) -> None:
    """Print what people read, which may have come out of a file."""
    standard_output().write("\n".join(map(plain_letters, text.split("\n"))))
