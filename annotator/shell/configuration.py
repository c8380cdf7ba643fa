"""What is in force for a score: what was typed, over what its project file says, over the defaults.

Conventions: the project file is an ``annotator.toml``, or a ``[tool.annotator]`` table of a ``pyproject.toml``. It is looked for from the
score's folder upwards; the nearest one counts. An unknown key is an error that names the key meant, a value that a key does not take one
that says what it takes: both are the file's fault (78), not the command line's. ``out``, and ``style`` where it names a file, start from
the folder of the project file. ``force``, and an ``out`` outside that folder, are not taken from it: somebody else may have written it.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from annotator.errors import AnnotatorError, SettingsError
from annotator.options.option import Row, known, text_in, toml_of, value_of
from annotator.options.settings import ROWS, Options, levels

KEYS = {row.key: row for row in ROWS if row.in_file}
"""The rows of the options that a project file may set, by their keys."""


def words_of(row: Row) -> Iterable[str]:
    """Return the words that an option takes. Kinds and styles are looked up only where somebody names some."""
    if row.takes.of == "kinds":
        from annotator.figures.registry import KINDS_BY_NAME

        return KINDS_BY_NAME
    if row.takes.of == "styles":
        from annotator.marks.style import names

        return names()
    return row.takes.words


class InForce(NamedTuple):
    """The options that hold for the scores of a folder, and where they are from: the names typed, the project file and those it sets."""

    options: Options
    typed: tuple[str, ...] = ()
    file: Path | None = None
    in_file: tuple[str, ...] = ()

    def whence(self, row: Row) -> str:
        """Return where the value of an option is from: its flag, the path of a file, its level, or ``default``."""
        if row.name in self.typed:
            return f"--{row.key}"
        if row.name in self.in_file:
            return str(self.file)
        by_level = self.options.level is not None and row.key in levels()[str(self.options.level)]
        return f"level {self.options.level}" if by_level else "default"

    def told(self) -> str:
        """Return the line that says which options were set for a score, by its project file and by flags."""
        rows = [row for row in ROWS if row.name in {*self.typed, *self.in_file} - {"quiet", "verbose", "debug"}]
        said = [f"{row.key} = {row.text(self.options)!r} ({self.whence(row)})" for row in rows]
        return f"settings: {', '.join(said) or 'the defaults'}"


def in_force(folder: Path, typed: Mapping[str, Any]) -> InForce:
    """Return what holds for the scores of a folder. ``typed`` are values by the names of their fields. Raises ``SettingsError``."""
    file, said = project_file(folder)
    return InForce(Options(**{**said, **typed}), tuple(typed), file, tuple(said))


def read_value(row: Row, given: object, file: Path | None = None) -> Any:
    """Return the value of an option as it was typed, or as a project ``file`` gives it: a place named in that starts from its folder.

    Raises a ``UsageError``; of a style, what loading it raises; a ``SettingsError`` for a file that sends output out of its folder.
    """
    if row.takes.of == "kinds":
        from annotator.words.labels import kinds_taken

        return kinds_taken(row.name, given, typed=file is None)
    value = value_of(row, given, typed=file is None)
    if row.takes.of == "styles":
        return _style(value, file)
    return _folder_within(value, file) if file is not None and isinstance(value, Path) else value


def project_file(folder: Path) -> tuple[Path | None, dict[str, Any]]:
    """Return the nearest project file at or above a folder, and its values by the names of their fields; none: None and nothing."""
    folder = Path(os.path.realpath(folder))  # which a circle of links does not upset
    for place in (folder, *folder.parents):
        own = place / "annotator.toml"
        if own.is_file():
            return own, _checked(toml_of(text_in(own), str(own)), own)
        shared = place / "pyproject.toml"
        if shared.is_file():
            tools = toml_of(text_in(shared), str(shared)).get("tool")
            table = tools.get("annotator") if isinstance(tools, dict) else None
            if table is not None:
                return shared, _checked(table, shared)
    return None, {}


def _checked(table: Any, path: Path) -> dict[str, Any]:
    """Return the values of a table whose keys and values are sound."""
    if not isinstance(table, dict):
        raise SettingsError(f"{path}: annotator is a table of settings, not {table!r}")
    if "force" in table:
        raise SettingsError(f"{path}: force is not taken from a file: give --force where it is meant")
    try:
        known(table, KEYS)
        return {KEYS[key].name: read_value(KEYS[key], given, path) for key, given in table.items()}
    except AnnotatorError as error:
        raise SettingsError(f"{path}: {error}") from error


def _folder_within(value: Path, path: Path) -> Path:
    """Return a folder for output inside that of the project file; no file may send copies elsewhere."""
    folder = path.parent / value
    if not Path(os.path.realpath(folder)).is_relative_to(os.path.realpath(path.parent)):
        raise SettingsError(f"out = {str(value)!r} lies outside the folder of this file: give it with --out")
    return folder


def _style(value: str, file: Path | None) -> str:
    """Return a style's name, or where its file is."""
    from annotator.marks.style import load_style, names

    is_a_file = value.lower().endswith(".toml") or Path(value).name != value
    place = str(file.parent / Path(value).expanduser()) if file is not None and is_a_file and value not in names() else value
    load_style(place)
    return place
