"""A survey on a terminal: a table with as many columns as there is room for, or the few pieces for today.

Conventions: the title and the composer take what room is left; a column that does not fit gives way to those of lower rank
(``survey.columns``). Numbers stand to the right.
"""

from __future__ import annotations

import os
from typing import TextIO

from rich import box
from rich.cells import cell_len
from rich.console import Console
from rich.table import Table
from rich.text import Text

from annotator.survey.columns import Column, columns_of, printable, title_of
from annotator.survey.measures import Survey
from annotator.survey.tables import summary
from annotator.survey.wishes import Wish
from annotator.words import kind_name
from annotator.words.survey import column_heading, number, survey_word

TITLE = (30, 44)
"""Least and most room for a title, in characters."""
LONGEST = {"composer": 22, "keys": 26, "drills": 18, "file": 60}
GAP = 2  # between two columns
MAIN = 3  # kinds of figures named for a piece to play


def print_table(survey: Survey, wish: Wish, language: str, stream: TextIO) -> None:
    """Print the table, fitted to the terminal that the stream is."""
    console = Console(file=stream, highlight=False)
    rows = {column.key: [column.text(score, language) for score in survey.scores] for column in columns_of(wish)}
    columns = [column for column in columns_of(wish) if column.rank == 0 or any(_says(cell) for cell in rows[column.key])]
    widths = {column.key: _width(column, rows[column.key], language) for column in columns}
    kept = _fitting(columns, widths, console.width)
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0), show_edge=False, header_style=_strong())
    for column in kept:
        heading = Text(column_heading(column.key, language))
        side = "left" if column.places is None else "right"
        table.add_column(heading, justify=side, no_wrap=True, overflow="ellipsis", width=widths[column.key])  # type: ignore[arg-type]
    for place in range(len(survey.scores)):
        table.add_row(*(Text(rows[column.key][place]) for column in kept))
    if survey.scores:
        console.print(table)
    console.print(Text(summary(survey, language)))


def print_pieces(survey: Survey, language: str, stream: TextIO) -> None:
    """Print a few pieces to play, each with what one wants to know before one opens it, and where it lies."""
    console = Console(file=stream, highlight=False)
    for score in survey.scores:
        effort, grey = number(score.effort, 0, language), number(100 * score.measures.share, 0, language)
        facts = [survey_word("dot", language).format(effort=effort, share=grey)]
        facts += [kind_name(kind.kind, language) for kind in score.measures.kinds[:MAIN]]
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


def _width(column: Column, cells: list[str], language: str) -> int:
    """Return how wide a column would be; a title may be given less."""
    most = max([cell_len(column_heading(column.key, language)), *map(cell_len, cells)])
    return min(most, TITLE[1] if column.key == "title" else LONGEST.get(column.key, most))


def _fitting(columns: list[Column], widths: dict[str, int], room: int) -> list[Column]:
    """Return the columns there is room for, and let the title have what is left."""
    title = widths["title"]
    least = min(title, TITLE[0])
    left = room - least
    kept = {"title"}
    for column in sorted(columns, key=lambda column: column.rank):
        if column.key != "title":
            if widths[column.key] + GAP > left:
                break
            left -= widths[column.key] + GAP
            kept.add(column.key)
    widths["title"] = min(title, least + max(left, 0))
    return [column for column in columns if column.key in kept]
