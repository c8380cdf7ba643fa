"""The owner's own levels of scores: a CSV file with the columns ``file`` and ``level``, shown beside the effort.

Conventions
-----------
* ``file`` is a path, from the folder of the CSV file where it does not begin at the root; or the bare name of a file, with its ending or
  without, which then stands for every file of that name. A path goes before a name.
* A level is any word or number. A line without one says nothing.
"""

from __future__ import annotations

import csv
import os
from collections.abc import Iterable, Mapping
from pathlib import Path

from annotator.errors import MissingError, SettingsError
from annotator.products.survey.measures import Measured

COLUMNS = ("file", "level")


def levels_of(path: Path, scores: Iterable[Measured]) -> dict[str, str]:
    """Return the levels of scores by their paths. Raises ``MissingError``, or ``SettingsError`` for a file that is no such table."""
    told = _read(path)
    found = {score.path: _level(score.path, told, path.parent) for score in scores}
    return {place: level for place, level in found.items() if level}


def _read(path: Path) -> dict[str, str]:
    """Return the levels that a file tells, by file as it is written there."""
    try:
        rows = csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines(), strict=True)
        missing = [column for column in COLUMNS if column not in (rows.fieldnames or ())]
        if missing:
            raise SettingsError(f"{path}: the column {missing[0]!r} is missing: the first line is file,level")
        return {row["file"].strip(): (row["level"] or "").strip() for row in rows}
    except OSError as error:
        raise MissingError(f"{path}: cannot be read: {error.strerror or error}") from error
    except (UnicodeDecodeError, csv.Error) as error:
        raise SettingsError(f"{path}: this is no CSV file ({error}): its first line is file,level") from error


def _level(score: str, told: Mapping[str, str], folder: Path) -> str:
    """Return the level of a score, or nothing."""
    place = os.path.realpath(score)
    for said, level in told.items():
        if os.path.realpath(folder / said) == place:
            return level
    name = Path(score)
    return told.get(name.name) or told.get(name.stem) or ""
