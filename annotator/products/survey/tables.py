"""A survey as tables: its columns, and the shapes for programs and people: JSON, CSV, a table, the few pieces for today.

Conventions
-----------
* There is one list of columns, ``COLUMNS``; a wish may ask for more (``choosing``). ``value`` is the exact number or the text for programs,
  ``text`` what people read. Shares are shown in 100. ``rank`` is how long a column stays when there is no room: the least stay longest.
* JSON holds the columns under their names, with an underscore for a hyphen and ``path`` for the file. ``kinds`` counts the figures of each
  kind, ``kind_notes`` their struck notes.
* CSV has one line a score under a line of the same names. A text that a spreadsheet would take for a formula gets an apostrophe before it.
* For a pipe or a file the table holds every column in full. On a terminal each row has a title and its file, which take what room is left;
  columns that say nothing, or for which there is no room, are left out. Where the paths are long, they are shown from the folder on that
  all lie in, and that folder is named below. What is too long for its column is shortened.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePath
from shutil import get_terminal_size
from typing import Any, TextIO

from rich.cells import cell_len, set_cell_size

from annotator.marks.report import harmless
from annotator.products.survey.measures import Measured, Measures, Survey
from annotator.words.labels import kind_name
from annotator.words.phrases import column_heading, key_words, number, survey_word

FORMAT = 1
LEAST = {"title": 5, "file": 3}
"""The least room for a title and a file, as a fraction of the terminal's: one in so many."""
WORD = 14  # characters of a text that are worth a column
MOST = {"title": 44, "composer": 22, "keys": 26, "drills": 28, "file": 60}
"""The most room for a column of texts, in characters."""
GAP = 2  # between two columns
NAMED = 3  # kinds of figures named for a piece to play

Value = float | str | tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """One column. ``value`` is an empty text or list where a score has none.

    ``places`` are the decimals of a number, None for a text; ``shown_as`` makes the text for people from a score.
    """

    key: str
    rank: int
    value: Callable[[Measured], Value]
    places: int | None = None
    factor: float = 1
    shown_as: Callable[[Measured, str], str] | None = None

    @property
    def name(self) -> str:
        """What it is called in CSV and JSON."""
        return self.key.replace("-", "_")

    def text(self, score: Measured, language: str = "en") -> str:
        """Return what people read."""
        if self.shown_as is not None:
            return self.shown_as(score, language)
        value = self.value(score)
        return number(self.factor * value, self.places or 0, language) if isinstance(value, int | float) else printable(str(value))


def printable(text: str) -> str:
    """Return a text in one line, with a question mark for what steers a terminal or cannot be seen."""
    return "".join(sign if sign.isprintable() else "?" for sign in " ".join(text.split()))


def title_of(score: Measured) -> str:
    """Return the title in one line; a score without one is called by its file's name."""
    return " ".join(score.measures.title.split()) or PurePath(score.path).stem


def drills_words(score: Measured, language: str) -> str:
    """Return the names of the kinds that a score really drills, nothing where there is none."""
    return ", ".join(kind_name(kind, language) for kind in score.measures.drills)


def _keys(score: Measured, language: str) -> str:
    """Return the home key and those that are in force in a tenth of the bars or more."""
    keys = score.measures.keys
    told = [key for key in keys if key is keys[0] or 10 * key.bars >= score.measures.bars]
    return ", ".join(key_words(key.tonic, key.minor, language) for key in told)


def _measure(key: str, rank: int, value: Callable[[Measures], float], places: int = 0, factor: float = 1) -> Column:
    """Return the column of a measure, exact to four places."""
    return Column(key, rank, lambda score: round(value(score.measures), 4), places, factor)


COLUMNS: tuple[Column, ...] = (
    Column("title", 0, title_of),
    Column("composer", 8, lambda score: " ".join(score.measures.composer.split())),
    Column("effort", 1, lambda score: score.effort, 1),
    Column("effort-in-all", 4, lambda score: score.effort_in_all, 0),
    _measure("share", 2, lambda measures: measures.share, factor=100),
    Column("drills", 3, lambda score: score.measures.drills, shown_as=lambda *told: drills_words(*told) or "–"),
    _measure("bars", 6, lambda measures: measures.bars),
    _measure("notes", 4, lambda measures: measures.notes),
    _measure("to-read", 5, lambda measures: measures.to_read),
    _measure("density", 7, lambda measures: measures.density, 1),
    _measure("odd", 10, lambda measures: measures.in_100(measures.odd), 1),
    _measure("signs", 9, lambda measures: measures.in_100(measures.signs)),
    Column("keys", 12, lambda score: tuple([key.name for key in score.measures.keys]), shown_as=_keys),
    _measure("right-compass", 13, lambda measures: measures.right.compass),
    _measure("left-compass", 14, lambda measures: measures.left.compass),
    _measure("right-reach", 15, lambda measures: measures.right.reach),
    _measure("left-reach", 16, lambda measures: measures.left.reach),
    _measure("right-ledger", 17, lambda measures: measures.right.ledger_lines),
    _measure("left-ledger", 18, lambda measures: measures.left.ledger_lines),
    Column("file", 0, lambda score: score.path),
)
"""The columns of every survey, from left to right."""


def to_json(survey: Survey, columns: Sequence[Column]) -> str:
    """Return a survey as JSON text with a line end; the same survey gives the same bytes."""
    told = {
        "format": FORMAT,
        "scores": [_score(score, columns) for score in survey.scores],
        "failed": [{"path": one.path, "message": one.message} for one in survey.failed],
        "left_out": [{"path": one.path, "reason": one.reason} for one in survey.left_out],
    }
    return json.dumps(told, ensure_ascii=False, indent=2) + "\n"


def _score(score: Measured, columns: Sequence[Column]) -> dict[str, Any]:
    """Return what a survey knows of one score as plain data."""
    return {
        "path": score.path,
        **{column.name: column.value(score) for column in columns if column.key != "file"},
        "kinds": {one.kind: one.figures for one in score.measures.kinds},
        "kind_notes": {one.kind: one.notes for one in score.measures.kinds},
    }


def to_csv(survey: Survey, columns: Sequence[Column]) -> str:
    """Return a survey as lines with commas; a list is one text, with semicolons."""
    import csv
    import io

    columns = sorted(columns, key=lambda column: column.key != "file")  # the file first: it names the line
    text = io.StringIO()
    lines = csv.writer(text, lineterminator="\n")
    lines.writerow([column.name for column in columns])
    for score in survey.scores:
        values = [column.value(score) for column in columns]
        lines.writerow([harmless("; ".join(value) if isinstance(value, tuple) else value) for value in values])
    return text.getvalue()


def print_table(survey: Survey, columns: Sequence[Column], language: str, stream: TextIO) -> None:
    """Print the table, fitted to the terminal where the stream is one, and the line that sums it up."""
    room = get_terminal_size().columns if stream.isatty() else None
    cells = {column.key: [column.text(score, language) for score in survey.scores] for column in columns}
    where = []
    if room is not None:
        columns = [column for column in columns if column.rank == 0 or not {"", "–"}.issuperset(cells[column.key])]
        if (folder := _folder(cells["file"])) and max(map(cell_len, cells["file"])) > room // LEAST["file"]:
            cells["file"] = [path.removeprefix(folder) for path in cells["file"]]
            where = [survey_word("files", language).format(folder=folder.rstrip("/\\"))]
    texts = {column.key: [column_heading(column.key, language), *cells[column.key]] for column in columns}
    widths = {key: max(map(cell_len, column)) for key, column in texts.items()}
    if room is not None:
        widths = _fitting(columns, {key: min(width, MOST.get(key, width)) for key, width in widths.items()}, room, language)
        columns = [column for column in columns if column.key in widths]
    rows = [[_cell(texts[one.key][place], widths[one.key], one) for one in columns] for place in range(len(survey.scores) + 1)]
    heading, *lines = [(" " * GAP).join(row).rstrip() for row in rows]
    if survey.scores:
        _print_strong(heading, stream)
        stream.writelines(f"{line}\n" for line in [*lines, ""])
    stream.write(" · ".join([summary(survey, language), *where]) + "\n")


def print_pieces(survey: Survey, language: str, stream: TextIO) -> None:
    """Print a few pieces to play, each with what one wants to know before one opens it, and where it lies."""
    for score in survey.scores:
        effort, grey = number(score.effort, 0, language), number(100 * score.measures.share, 0, language)
        facts = [survey_word("dot", language).format(effort=effort, share=grey)]
        facts += [kind_name(kind.kind, language) for kind in score.measures.kinds if not kind.copies][:NAMED]
        composer = printable(score.measures.composer)
        _print_strong(printable(title_of(score)), stream, f"  {composer}" if composer else "")
        stream.write(f"   {' · '.join(facts)}\n   {printable(score.path)}\n\n")
    if not survey.scores:
        stream.write(summary(survey, language) + "\n")


def summary(survey: Survey, language: str) -> str:
    """Return the line that sums a survey up, with what failed and what is left out."""
    if not survey.scores:
        return survey_word("nothing", language)
    line = count_words(survey, language)
    for word, some in (("failed", survey.failed), ("left-out", survey.left_out)):
        if some:
            line += " · " + survey_word(word, language).format(count=number(len(some), 0, language))
    return line


def count_words(survey: Survey, language: str) -> str:
    """Return how many scores and notes there are, and how many notes in 100 are grey."""
    notes = sum(score.measures.notes for score in survey.scores)
    grey = notes - sum(score.measures.to_read for score in survey.scores)
    counts = {"scores": len(survey.scores), "notes": notes, "grey": 100 * grey / notes if notes else 0}
    return survey_word("summary", language).format(**{name: number(count, 0, language) for name, count in counts.items()})


def shortened(text: str, room: int, ending: int = 0) -> str:
    """Return a text that fits into so much room: of one that is too long, the beginning and so much of its end.

    >>> shortened("Burgmüller/op100-arabesque.mxl", 16, ending=10), shortened("a.mxl", 16)
    ('Burgm…besque.mxl', 'a.mxl')
    """
    if cell_len(text) <= room:
        return text
    end = set_cell_size(text[::-1], ending)[::-1].strip()
    return f"{set_cell_size(text, room - 1 - ending).rstrip()}…{end}"


def _cell(text: str, room: int, column: Column) -> str:
    """Return what stands in a cell of the table: a path keeps its end, which tells more; numbers stand to the right."""
    text = shortened(text, room, 2 * room // 3 if column.key == "file" else 0)
    return set_cell_size(text, room) if column.places is None else " " * (room - cell_len(text)) + text


def _print_strong(text: str, stream: TextIO, more: str = "") -> None:
    """Print a heading, bold on a terminal, and what stands behind it."""
    if stream.isatty() and "NO_COLOR" not in os.environ:
        from rich.console import Console
        from rich.text import Text

        Console(file=stream, highlight=False).print(Text(text, "bold").append(more, "not bold"), soft_wrap=True)
    else:
        stream.write(f"{text}{more}\n")


def _folder(paths: Sequence[str]) -> str:
    """Return the folder that all paths lie in, with the stroke behind it; nothing where there is none."""
    try:
        common = os.path.commonpath([os.path.dirname(path) for path in paths])  # noqa: PTH120 - texts, of any name
    except ValueError:  # none at all, or on several drives
        return ""
    return os.path.join(common, "") if common else ""  # noqa: PTH118


def _fitting(columns: Sequence[Column], widths: Mapping[str, int], room: int, language: str) -> dict[str, int]:
    """Return the columns there is room for with their widths; the title, then the file, have what is left."""
    kept = {key: min(widths[key], max(room // part, 8)) for key, part in LEAST.items()}
    left = room - sum(kept.values()) - GAP
    for column in sorted(columns, key=lambda column: column.rank):
        if column.key not in LEAST:
            width = widths[column.key]
            if column.places is None and left >= max(WORD, cell_len(column_heading(column.key, language))) + GAP:
                width = min(width, left - GAP)
            if width + GAP > left:
                break
            kept[column.key] = width
            left -= width + GAP
    for key in LEAST:
        more = max(min(widths[key] - kept[key], left), 0)
        kept[key] += more
        left -= more
    return kept
