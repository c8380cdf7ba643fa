"""A survey on a terminal: a table with as many columns as there is room for, or the few pieces for today.

Conventions: every row has a title and its file, which take what room is left; a column that does not fit gives way to those of lower rank
(``tables``). Where the paths do not fit, they are shown from the folder on that all lie in, and that folder is named
below; what is still too long is shortened in the middle. Numbers stand to the right.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TextIO

from rich import box
from rich.cells import cell_len, set_cell_size
from rich.console import Console
from rich.table import Table
from rich.text import Text

from annotator.products.survey.measures import Survey
from annotator.products.survey.tables import Column, printable, summary, title_of
from annotator.words import kind_name
from annotator.words.phrases import column_heading, number, survey_word

LEAST = {"title": 5, "file": 3}
"""The least room for a title and a file, as a fraction of the terminal's: one in so many."""
WORD = 14  # characters of a text that are worth a column
MOST = {"title": 44, "composer": 22, "keys": 26, "drills": 28, "file": 60}
"""The most room for a column of texts, in characters."""
GAP = 2  # between two columns
MAIN = 3  # kinds of figures named for a piece to play


def print_table(survey: Survey, columns: Sequence[Column], language: str, stream: TextIO) -> None:
    """Print the table, fitted to the terminal that the stream is."""
    console = Console(file=stream, highlight=False)
    rows = {column.key: [column.text(score, language) for score in survey.scores] for column in columns}
    columns = [column for column in columns if column.rank == 0 or any(_says(cell) for cell in rows[column.key])]
    widths = {column.key: _width(column, rows[column.key], language) for column in columns}
    kept = _fitting(columns, widths, console.width, language)
    folder = ""
    if any(cell_len(path) > widths["file"] for path in rows["file"]):
        folder = _folder(rows["file"])
        rows["file"] = [path.removeprefix(folder) for path in rows["file"]]
        widths = {column.key: _width(column, rows[column.key], language) for column in columns}
        kept = _fitting(columns, widths, console.width, language)
        rows["file"] = [shortened(path, widths["file"]) for path in rows["file"]]
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0), show_edge=False, header_style=_strong())
    for column in kept:
        heading = Text(column_heading(column.key, language))
        side = "left" if column.places is None else "right"
        table.add_column(heading, justify=side, no_wrap=True, overflow="ellipsis", width=widths[column.key])  # type: ignore[arg-type]
    for place in range(len(survey.scores)):
        table.add_row(*(Text(rows[column.key][place]) for column in kept))
    if survey.scores:
        console.print(table)
    where = [survey_word("files", language).format(folder=folder.rstrip("/\\"))] if folder else []
    console.print(Text(" · ".join([summary(survey, language), *where])), soft_wrap=True)


def shortened(path: str, room: int) -> str:
    """Return a path with its middle left out, so that it fits; its end, which tells more, keeps two thirds.

    >>> shortened("Burgmüller/op100-arabesque.mxl", 16), shortened("a.mxl", 16)
    ('Burgm…besque.mxl', 'a.mxl')
    """
    if cell_len(path) <= room:
        return path
    begin = set_cell_size(path, (room - 1) // 3).rstrip()
    end = ""
    for sign in reversed(path):
        if cell_len(begin) + 1 + cell_len(end) + cell_len(sign) > room:
            break
        end = sign + end
    return f"{begin}…{end}"


def print_pieces(survey: Survey, language: str, stream: TextIO) -> None:
    """Print a few pieces to play, each with what one wants to know before one opens it, and where it lies."""
    console = Console(file=stream, highlight=False)
    for score in survey.scores:
        effort, grey = number(score.effort, 0, language), number(100 * score.measures.share, 0, language)
        facts = [survey_word("dot", language).format(effort=effort, share=grey)]
        facts += [kind_name(kind.kind, language) for kind in score.measures.kinds if not kind.copies][:MAIN]
        composer = printable(score.measures.composer)
        heading = Text(printable(title_of(score)), style=_strong())
        console.print(heading.append(f"  {composer}" if composer else "", style="not bold"), soft_wrap=True)
        console.print(Text("   " + " · ".join(facts)), soft_wrap=True)
        console.print(Text(f"   {printable(score.path)}\n"), soft_wrap=True)
    if not survey.scores:
        console.print(Text(summary(survey, language)))


def _strong() -> str:
    return "" if "NO_COLOR" in os.environ else "bold"


def _says(cell: str) -> bool:
    return cell not in ("", "–")


def _folder(paths: Sequence[str]) -> str:
    """Return the folder that all paths lie in, with the stroke behind it; nothing where there is none."""
    try:
        common = os.path.commonpath([os.path.dirname(path) for path in paths])  # noqa: PTH120 - texts, of any name
    except ValueError:  # none at all, or on several drives
        return ""
    return os.path.join(common, "") if common else ""  # noqa: PTH118


def _width(column: Column, cells: list[str], language: str) -> int:
    """Return how wide a column would be; title and file may be given less."""
    most = max([cell_len(column_heading(column.key, language)), *map(cell_len, cells)])
    return min(most, MOST.get(column.key, most))


def _fitting(columns: list[Column], widths: dict[str, int], room: int, language: str) -> list[Column]:
    """Return the columns there is room for, and let the title, then the file, have what is left."""
    least = {key: min(widths[key], max(room // part, 8)) for key, part in LEAST.items()}
    left = room - sum(least.values()) - GAP
    kept = {*least}
    for column in sorted(columns, key=lambda column: column.rank):
        if column.key not in least:
            if column.places is None and left >= max(WORD, cell_len(column_heading(column.key, language))) + GAP:
                widths[column.key] = min(widths[column.key], left - GAP)
            if widths[column.key] + GAP > left:
                break
            left -= widths[column.key] + GAP
            kept.add(column.key)
    for key, width in least.items():
        wanted = widths[key]
        widths[key] = min(wanted, width + max(left, 0))
        left -= widths[key] - width
    return [column for column in columns if column.key in kept]
