"""The project file: every option of a run can stand in ``annotator.toml``, or in a ``[tool.annotator]`` table of a ``pyproject.toml``.

Conventions: it is looked for from the score's folder upwards; the nearest one counts. Flags win over it, it wins over the defaults. An
unknown key is an error that names the key meant, a value that a key does not take one that says what it takes: both are the file's fault
(78), not the command line's. ``out``, and ``style`` where it names a file, start from the folder of the project file.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from annotator.errors import MissingError, SettingsError, UsageError
from annotator.settings import BREAKS, FEWEST_OF_A_RUN, FORMATS, HANDS, LANGUAGES, MOST_STEPS, PAPERS, nearest, parse_bars

KEYS: dict[str, type] = {
    "out": str,
    "style": str,
    "paper": str,
    "language": str,
    "kinds": list,
    "without": list,
    "hand": str,
    "bars": str,
    "shortest": int,
    "steps": int,
    "parts": list,
    "formats": list,
    "breaks": str,
    "facing": bool,
    "title": str,
    "class": str,
    "jobs": int,
}
"""The keys a project file may hold, and what each takes."""

NUMBERS: dict[str, tuple[int, int | None]] = {"shortest": (FEWEST_OF_A_RUN, None), "steps": (1, MOST_STEPS), "jobs": (1, None)}
"""The least and the most (None: no limit) of the keys that take a number."""


def _kinds() -> tuple[str, ...]:
    """Return the kinds of figures. They are loaded only where a file names some."""
    from annotator.figures.registry import KINDS_BY_NAME

    return tuple(KINDS_BY_NAME)


WORDS: dict[str, Callable[[], tuple[str, ...]]] = {
    "paper": lambda: PAPERS,
    "language": lambda: LANGUAGES,
    "hand": lambda: HANDS,
    "breaks": lambda: BREAKS,
    "formats": lambda: FORMATS,
    "kinds": _kinds,
    "without": _kinds,
}
"""The words among which the value of a key, or each word of its list, must be."""


def project_settings(folder: Path) -> dict[str, Any]:
    """Return the settings of the nearest project file at or above a folder; none: an empty dict."""
    return _nearest(folder)[1]


def project_file(folder: Path) -> Path | None:
    """Return the nearest project file at or above a folder."""
    return _nearest(folder)[0]


def _nearest(folder: Path) -> tuple[Path | None, dict[str, Any]]:
    """Return the nearest project file at or above a folder and its settings; none: an empty dict."""
    folder = Path(os.path.realpath(folder))  # which a circle of links does not upset
    for place in (folder, *folder.parents):
        own = place / "annotator.toml"
        if own.is_file():
            return own, _checked(_load(own), own)
        shared = place / "pyproject.toml"
        if shared.is_file():
            tools = _load(shared).get("tool")
            table = tools.get("annotator") if isinstance(tools, dict) else None
            if table is not None:
                return shared, _checked(table, shared)
    return None, {}


def _load(path: Path) -> dict[str, Any]:
    """Read one TOML file."""
    import tomllib

    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, RecursionError, tomllib.TOMLDecodeError) as error:
        raise SettingsError(f"{path}: not a readable TOML file ({error}): mend or remove it") from error


def _checked(table: Any, path: Path) -> dict[str, Any]:
    """Return a table whose keys and values are sound; a string stands for a list of its comma-separated words."""
    if not isinstance(table, dict):
        raise SettingsError(f"{path}: annotator is a table of settings, not {table!r}")
    checked: dict[str, Any] = {}
    for key, value in table.items():
        if key == "force":
            raise SettingsError(f"{path}: force is no setting of a file: give --force where it is meant")
        if key not in KEYS:
            raise SettingsError(f"{path}: there is no setting {key!r}; {nearest(key, KEYS) or 'the keys are ' + ', '.join(KEYS)}")
        checked[key] = _sound(key, _of_its_type(key, value, path), path)
    return checked


def _of_its_type(key: str, value: Any, path: Path) -> Any:
    """Return a value that is text, a list of words, a number or a truth value as its key wants it."""
    wanted = KEYS[key]
    if wanted is list and isinstance(value, str):
        value = [word.strip() for word in value.split(",") if word.strip()]
    if not isinstance(value, wanted) or (wanted is int and isinstance(value, bool)):
        kind = {str: "text in quotes", list: "a list of words", int: "a whole number", bool: "true or false"}[wanted]
        raise SettingsError(f"{path}: {key} takes {kind}, not {value!r}")
    if isinstance(value, list) and not all(isinstance(word, str) for word in value):
        raise SettingsError(f"{path}: {key} takes a list of words, not {value!r}")
    return value


def _sound(key: str, value: Any, path: Path) -> Any:
    """Return a value that its key takes; a place named in it starts from the file's folder."""
    if key in NUMBERS:
        least, most = NUMBERS[key]
        if value < least or (most is not None and value > most):
            allowed = f"a whole number from {least} on" if most is None else f"a whole number from {least} to {most}"
            raise SettingsError(f"{path}: {key} = {value} is wrong: it takes {allowed}")
    elif key in WORDS:
        _known(key, value if isinstance(value, list) else [value], path)
    elif key == "bars":
        try:
            parse_bars(value)
        except UsageError as error:
            raise SettingsError(f"{path}: {key}: {error}") from error
    elif key == "out":
        return _folder_within(value, path)
    elif key == "style":
        return _style(value, path)
    return value


def _folder_within(value: str, path: Path) -> str:
    """Return a folder for output inside that of the project file; no file may send copies elsewhere."""
    folder = path.parent / Path(value)
    if not Path(os.path.realpath(folder)).is_relative_to(os.path.realpath(path.parent)):
        raise SettingsError(f"{path}: out = {value!r} lies outside the folder of this file: give it with --out")
    return str(folder)


def _known(key: str, words: list[str], path: Path) -> None:
    """Refuse a word that is none of those a key takes."""
    known = WORDS[key]()
    for word in words:
        if word not in known:
            meant = nearest(word, known)
            question = f" ({meant})" if meant else ""
            raise SettingsError(f"{path}: {key} = {word!r} is wrong: it takes {', '.join(known)}{question}")


def _style(value: str, path: Path) -> str:
    """Return a style's name, or where its file is."""
    from annotator.style import load_style, names

    place = value if value in names() or not _is_a_file(value) else str(path.parent / Path(value).expanduser())
    try:
        load_style(place)
    except (SettingsError, MissingError) as error:
        raise SettingsError(f"{path}: style: {error}") from error
    return place


def _is_a_file(value: str) -> bool:
    """Return whether the value of ``style`` names a file rather than one of the program's styles."""
    return value.lower().endswith(".toml") or Path(value).name != value
