r"""The practice log: which pieces were suggested on which day, as plain text that its owner may edit or delete.

Conventions
-----------
* One line a piece: the day, a tab, the path, a tab, the title. Lines that do not begin with a day are the owner's own and left alone.
* Lines are only ever added. A line taken out is forgotten; the piece may be suggested again.

>>> read_lines(["# mine", "2026-11-24\t/music/a.mxl\tA Tune", "played it twice"])
[(datetime.date(2026, 11, 24), '/music/a.mxl')]
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path

from annotator.errors import MissingError, OutputError
from annotator.products.survey.columns import title_of
from annotator.products.survey.folders import data_folder
from annotator.products.survey.measures import Measured

HEADING = "# Pieces that annotator suggested, day by day. Edit or delete this as you like: a piece without a line here may come again.\n"


def log_path() -> Path:
    """Return where the log lies."""
    return data_folder() / "practice-log.txt"


def read_lines(lines: Iterable[str]) -> list[tuple[date, str]]:
    """Return the day and the path of each line that has them."""
    found = []
    for line in lines:
        day, tab, rest = line.rstrip("\r\n").partition("\t")
        try:
            when = date.fromisoformat(day.strip())
        except ValueError:
            continue
        if tab and rest:
            found.append((when, rest.split("\t")[0]))
    return found


def suggested_before(day: date, scores: Sequence[Measured]) -> dict[str, date]:
    """Return on which day before ``day`` each of the scores was last suggested, by its path as the survey shows it."""
    names = {_place(score): score.path for score in scores}
    last: dict[str, date] = {}
    for when, place in read_lines(_lines()):
        if when < day and place in names:
            last[names[place]] = max(when, last.get(names[place], when))
    return last


def add(day: date, scores: Sequence[Measured]) -> None:
    """Add the pieces suggested on a day, but for those that already stand there. Raises an ``OutputError``."""
    lines = _lines()
    there = set(read_lines(lines))
    new = [f"{day.isoformat()}\t{_place(score)}\t{title_of(score)}\n" for score in scores if (day, _place(score)) not in there]
    start = "" if lines else HEADING
    if lines and not lines[-1].endswith("\n"):
        start = "\n"
    if not new:
        return
    path = log_path()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("a", encoding="utf-8") as stream:
            stream.write(start + "".join(new))
    except OSError as error:
        raise OutputError(f"{path} cannot be written, so tomorrow may bring the same pieces: {error.strerror or error}") from error


def _place(score: Measured) -> str:
    """Return the path that a score has in the log."""
    return " ".join(os.path.realpath(score.path).encode("utf-8", "replace").decode().split())


def _lines() -> list[str]:
    path = log_path()
    try:
        return path.read_text(encoding="utf-8", errors="replace").splitlines(keepends=True)
    except (FileNotFoundError, NotADirectoryError):
        return []
    except OSError as error:
        raise MissingError(f"{path}: the practice log cannot be read ({error.strerror or error}): mend or remove it") from error
