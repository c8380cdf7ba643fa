"""``annotator figures``: what is in a piece, as a table or for other programs; what a kind of figure is, and why a note is grey."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from annotator.errors import OutputError, UsageError
from annotator.options.settings import Call
from annotator.shell.commands.options import Given, file
from annotator.shell.commands.streams import standard_input, standard_output
from annotator.shell.running import each_score
from annotator.shell.telling import plain_letters

MaybeScore = Annotated[
    str | None,
    typer.Argument(help="A score: MusicXML, ABC, kern, MEI or MIDI; - reads standard input.", metavar="SCORE", parser=file),
]


def figures(given: Given, score: MaybeScore = None) -> None:
    """List the figures of a score: bar, hand, label, notes, notes left to read."""
    if given.get("explain"):
        from annotator.marks.explaining import explained

        options = Call(**given)
        _print(explained(str(options.explain), options.language))
    elif score is None:
        raise UsageError("missing argument 'SCORE': annotator figures -h says what there is")
    else:
        each_score([score], _report_one, given)


def _report_one(source: str, options: Call) -> list[str]:
    """Print the report of one score; return the lines to say about it."""
    from annotator.marks.corrections.applying import find_corrected
    from annotator.marks.finding import read

    if options.corrections:
        return _write_corrections(source, options)
    score = read(standard_input() if source == "-" else Path(source))
    report, told = find_corrected(score, options)
    if options.why is not None:
        from annotator.marks.explaining import reasons_in_bar

        _print(reasons_in_bar(report, options.why))
    elif options.json or options.csv:
        standard_output().write(report.to_json() if options.json else report.to_csv())
    else:
        _print(report.to_table())
    return [*score.repairs, *told]


def _write_corrections(source: str, options: Call) -> list[str]:
    """Write a file of corrections with every figure as a comment; return the lines to say about it."""
    from annotator.marks.corrections.file import place_of
    from annotator.marks.corrections.listing import listing
    from annotator.marks.finding import find_figures, read
    from annotator.musicxml.files import may_write, write_file

    if source == "-":
        raise UsageError("a file of corrections is named after its score: save the score to a file and name that")
    place = place_of(Path(source))
    if place.is_file():
        raise OutputError(f"{place} is there already and may hold your corrections: put it elsewhere to begin anew")
    report = find_figures(read(Path(source)), options)
    data = listing(report, Path(source).name).encode()
    may_write(place, data)
    write_file(place, data)
    return [f"{len(report.figures)} figures: wrote {place.name}; a figure whose lines lose their # is dropped"]


def _print(text: str) -> None:
    """Print what people read, which may have come out of a file."""
    standard_output().write("\n".join(map(plain_letters, text.split("\n"))))
