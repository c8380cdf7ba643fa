"""The commands that look something up and print it: ``figures``, ``styles``, ``settings``."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from annotator.errors import MissingError, OutputError, UsageError
from annotator.options.settings import Options
from annotator.shell.configuration import KEYS, in_force
from annotator.shell.running import Given, each_score, folder_of
from annotator.shell.streams import plain_letters, standard_input, standard_output


def figures(score: str | None, given: Given) -> None:
    """List the figures of a score, with the notes left to read."""
    if given.get("explain"):
        from annotator.marks.explaining import explained

        options = Options(**given)
        _print(explained(str(options.explain), options.language))
    elif score is None:
        raise UsageError("missing argument 'SCORE': annotator figures -h says what there is")
    else:
        each_score([score], _report_one, given)


def styles(words: Sequence[str]) -> None:
    """List the looks there are, and print one to copy."""
    from annotator.marks.style import available, style_text

    if not words:
        standard_output().writelines(f"{style.name:14} {style.description}\n" for style in available())
    elif words[0] == "show" and len(words) == 2:
        standard_output().write(style_text(words[1]))
    else:
        raise UsageError("styles lists the styles there are, 'styles show NAME' prints one")


def settings(score: str | None, given: Given) -> None:
    """Say what options are in force for a score, and from where.

    An option that is typed wins over the project file, and that over what the program does of itself.
    """
    source = score or "-"
    if source != "-" and not Path(source).exists():
        raise MissingError(f"{source}: no such file")
    holds = in_force(Path(source) if Path(source).is_dir() else folder_of(source), given)
    for row in KEYS.values():
        standard_output().write(f"{row.key:9} {row.text(holds.options):26} {holds.whence(row)}\n")


def _report_one(source: str, options: Options) -> list[str]:
    """Print the report of one score; return the lines to say about it."""
    from annotator.marks.corrections import find_corrected
    from annotator.reading import read

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


def _write_corrections(source: str, options: Options) -> list[str]:
    """Write a file of corrections with every figure as a comment; return the lines to say about it."""
    from annotator.marks.corrections import listing, place_of
    from annotator.marks.finding import find_figures
    from annotator.musicxml.files import write_file
    from annotator.reading import read

    if source == "-":
        raise UsageError("a file of corrections is named after its score: save the score to a file and name that")
    place = place_of(Path(source))
    if place.is_file():
        raise OutputError(f"{place} is there already and may hold your corrections: put it elsewhere to begin anew")
    report = find_figures(read(Path(source)), options)
    write_file(place, listing(report, Path(source).name).encode())
    return [f"{len(report.figures)} figures: wrote {place.name}; a figure whose lines lose their # is dropped"]


def _print(text: str) -> None:
    """Print what people read, which may have come out of a file."""
    standard_output().write("\n".join(map(plain_letters, text.split("\n"))))
