"""A survey as tables: its columns, and the shapes for programs and pipes, JSON, CSV and a plain table.

Conventions
-----------
* There is one list of columns, ``COLUMNS``; a wish may ask for more (``choosing``). ``value`` is the exact number or the text for programs,
  ``text`` what people read. Shares are shown in 100. ``rank`` is how long a column stays when there is no room: the least stay longest.
* JSON holds exact numbers, rounded to four places. ``kinds`` counts the figures of each kind, ``kind_notes`` their struck notes.
* CSV has one line a score under a line of column names (English, with underscores). A text that a spreadsheet would take for a formula
  gets an apostrophe before it.
* The plain table holds every column in full, for pipes and files; the one for a terminal is in ``terminal``.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import PurePath
from typing import Any

from annotator.marks.report import harmless
from annotator.products.survey.measures import KeyUsed, Measured, Survey
from annotator.words import kind_name
from annotator.words.phrases import column_heading, key_words, number, survey_word

FORMAT = 1


@dataclass(frozen=True, slots=True)
class Column:
    """One column. ``places`` are the decimals of a number, None for a text; ``shown_as`` makes the text for people from a score."""

    key: str
    rank: int
    value: Callable[[Measured], float | str]
    places: int | None = None
    factor: float = 1
    shown_as: Callable[[Measured, str], str] | None = None

    def text(self, score: Measured, language: str = "en") -> str:
        """Return what people read."""
        if self.shown_as is not None:
            return self.shown_as(score, language)
        value = self.value(score)
        return printable(value) if isinstance(value, str) else number(self.factor * value, self.places or 0, language)


def printable(text: str) -> str:
    """Return a text in one line, with a question mark for what steers a terminal or cannot be seen."""
    return "".join(sign if sign.isprintable() else "?" for sign in " ".join(text.split()))


def title_of(score: Measured) -> str:
    """Return the title in one line; a score without one is called by its file's name."""
    return " ".join(score.measures.title.split()) or PurePath(score.path).stem


def key_name(key: KeyUsed) -> str:
    """Return the name of a key for programs: ``Bb major``."""
    return f"{key.tonic} {'minor' if key.minor else 'major'}"


def drills_words(score: Measured, language: str) -> str:
    """Return the names of the kinds that a score really drills, nothing where there is none."""
    return ", ".join(kind_name(kind, language) for kind in score.measures.drills)


def _keys(score: Measured, language: str) -> str:
    """Return the home key and those that are in force in a tenth of the bars or more."""
    keys = score.measures.keys
    told = [key for key in keys if key is keys[0] or 10 * key.bars >= score.measures.bars]
    return ", ".join(key_words(key.tonic, key.minor, language) for key in told)


COLUMNS: tuple[Column, ...] = (
    Column("title", 0, title_of),
    Column("composer", 8, lambda score: " ".join(score.measures.composer.split())),
    Column("effort", 1, lambda score: score.effort, 1),
    Column("effort-in-all", 4, lambda score: score.effort_in_all, 0),
    Column("share", 2, lambda score: round(score.measures.share, 4), 0, 100),
    Column("drills", 3, lambda score: "; ".join(score.measures.drills), shown_as=lambda *told: drills_words(*told) or "–"),
    Column("bars", 6, lambda score: score.measures.bars, 0),
    Column("notes", 4, lambda score: score.measures.notes, 0),
    Column("to-read", 5, lambda score: score.measures.to_read, 0),
    Column("density", 7, lambda score: round(score.measures.density, 3), 1),
    Column("odd", 10, lambda score: round(score.measures.odd_in_100, 3), 1),
    Column("signs", 9, lambda score: round(score.measures.signs_in_100, 3), 0),
    Column("keys", 12, lambda score: "; ".join(key_name(key) for key in score.measures.keys), shown_as=_keys),
    Column("right-compass", 13, lambda score: score.measures.right.compass, 0),
    Column("left-compass", 14, lambda score: score.measures.left.compass, 0),
    Column("right-reach", 15, lambda score: score.measures.right.reach, 0),
    Column("left-reach", 16, lambda score: score.measures.left.reach, 0),
    Column("right-ledger", 17, lambda score: score.measures.right.ledger_lines, 0),
    Column("left-ledger", 18, lambda score: score.measures.left.ledger_lines, 0),
    Column("file", 0, lambda score: score.path),
)
"""The columns of every survey, from left to right."""


def to_json(survey: Survey, columns: Sequence[Column]) -> Iterator[str]:
    """Yield a survey as JSON text with a line end, piece by piece; the same survey gives the same bytes."""
    yield f'{{\n  "format": {FORMAT},\n  "scores": ['
    asked = [column for column in columns if column not in COLUMNS]
    yield from _items(_score(score, asked) for score in survey.scores)
    yield '],\n  "failed": ['
    yield from _items({"path": one.path, "message": one.message} for one in survey.failed)
    yield '],\n  "left_out": ['
    yield from _items({"path": one.path, "reason": one.reason} for one in survey.left_out)
    yield "]\n}\n"


def _items(items: Iterable[dict[str, Any]]) -> Iterator[str]:
    """Yield the items of a list, each indented below it."""
    before = ""
    for item in items:
        text = json.dumps(item, ensure_ascii=False, indent=2).replace("\n", "\n    ")
        yield f"{before}\n    {text}"
        before = ","
    if before:
        yield "\n  "


def to_csv(survey: Survey, columns: Sequence[Column]) -> str:
    """Return a survey as lines with commas."""
    import csv
    import io

    columns = sorted(columns, key=lambda column: column.key != "file")  # the file first: it names the line
    text = io.StringIO()
    lines = csv.writer(text, lineterminator="\n")
    lines.writerow([column.key.replace("-", "_") for column in columns])
    lines.writerows([harmless(column.value(score)) for column in columns] for score in survey.scores)
    return text.getvalue()


def to_table(survey: Survey, columns: Sequence[Column], language: str) -> str:
    """Return a survey as a plain table, all columns in full, and the line that sums it up."""
    from rich.cells import cell_len

    rows = [[column_heading(column.key, language) for column in columns]]
    rows += [[column.text(score, language) for column in columns] for score in survey.scores]
    widths = [max(map(cell_len, cells)) for cells in zip(*rows, strict=True)]
    lines = []
    for row in rows:
        cells = zip(row, widths, columns, strict=True)
        lines.append("  ".join(_padded(cell, width - cell_len(cell), column) for cell, width, column in cells).rstrip())
    table = "\n".join(lines) + "\n\n" if survey.scores else ""
    return table + summary(survey, language) + "\n"


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


def _padded(cell: str, room: int, column: Column) -> str:
    return cell + " " * room if column.places is None else " " * room + cell


def _score(score: Measured, asked: Sequence[Column]) -> dict[str, Any]:
    """Return what a survey knows of one score as plain data."""
    measures = score.measures
    return {
        "path": score.path,
        "title": measures.title,
        "composer": measures.composer,
        "bars": measures.bars,
        "beats": measures.beats,
        "notes": measures.notes,
        "to_read": measures.to_read,
        "share": round(measures.share, 4),
        "effort": score.effort,
        "effort_in_all": score.effort_in_all,
        **{column.key: column.text(score) if column.key == "level" else column.value(score) for column in asked},
        "drills": list(measures.drills),
        "kinds": {one.kind: one.figures for one in measures.kinds},
        "kind_notes": {one.kind: one.notes for one in measures.kinds},
        "density": round(measures.density, 4),
        "odd_in_100": round(measures.odd_in_100, 4),
        "signs_in_100": round(measures.signs_in_100, 4),
        "keys": [{"key": key_name(key), "bars": key.bars} for key in measures.keys],
        "right": {**asdict(measures.right), "compass": measures.right.compass},
        "left": {**asdict(measures.left), "compass": measures.left.compass},
        "rhythm": asdict(measures.rhythm),
        "texture": asdict(measures.texture),
    }
