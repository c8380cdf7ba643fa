"""A survey in the shapes it is given out in: a table for people, JSON and CSV for programs.

Conventions
-----------
* JSON holds exact numbers, rounded to four places. ``kinds`` counts the figures of each kind, ``kind_notes`` their struck notes.
* CSV has one line a score under a line of column names (English, with underscores). A text that a spreadsheet would take for a formula
  gets an apostrophe before it.
* The plain table holds every column in full, for pipes and files; the one for a terminal is in ``survey.terminal``.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict
from typing import Any

from annotator.marks.report import harmless
from annotator.products.survey.columns import Column, columns_of, key_name
from annotator.products.survey.measures import Measured, Survey
from annotator.products.survey.wishes import Wish
from annotator.words.survey import column_heading, survey_word

FORMAT = 1


def to_json(survey: Survey, wish: Wish) -> Iterator[str]:
    """Yield a survey as JSON text with a line end, piece by piece; the same survey gives the same bytes."""
    yield f'{{\n  "format": {FORMAT},\n  "scores": ['
    yield from _items(_score(score, wish) for score in survey.scores)
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


def to_csv(survey: Survey, wish: Wish) -> str:
    """Return a survey as lines with commas."""
    import csv
    import io

    columns = sorted(columns_of(wish), key=lambda column: column.key != "file")  # the file first: it names the line
    text = io.StringIO()
    lines = csv.writer(text, lineterminator="\n")
    lines.writerow([column.key.replace("-", "_") for column in columns])
    lines.writerows([harmless(column.value(score)) for column in columns] for score in survey.scores)
    return text.getvalue()


def to_table(survey: Survey, wish: Wish, language: str) -> str:
    """Return a survey as a plain table, all columns in full, and the line that sums it up."""
    from rich.cells import cell_len

    columns = columns_of(wish)
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
    """Return the line that sums a survey up."""
    from annotator.words.survey import number

    if not survey.scores:
        return survey_word("nothing", language)
    notes = sum(score.measures.notes for score in survey.scores)
    grey = notes - sum(score.measures.to_read for score in survey.scores)
    counts = {"scores": len(survey.scores), "notes": notes, "grey": 100 * grey / notes if notes else 0}
    line = survey_word("summary", language).format(**{name: number(count, 0, language) for name, count in counts.items()})
    for word, some in (("failed", survey.failed), ("left-out", survey.left_out)):
        if some:
            line += " · " + survey_word(word, language).format(count=number(len(some), 0, language))
    return line


def _padded(cell: str, room: int, column: Column) -> str:
    return cell + " " * room if column.places is None else " " * room + cell


def _score(score: Measured, wish: Wish) -> dict[str, Any]:
    """Return what a survey knows of one score as plain data."""
    measures = score.measures
    asked: Sequence[Column] = [column for column in columns_of(wish) if column.key in ("likeness", "drilled", "level")]
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
