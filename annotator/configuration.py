"""The project file: every option of a run can stand in ``annotator.toml``, or in a ``[tool.annotator]`` table of a ``pyproject.toml``.

It is looked for from the score's folder upwards; the nearest one counts. Flags win over it, it wins over the defaults. An unknown key is
an error that names the key meant.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from annotator.errors import SettingsError

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
    "force": bool,
    "title": str,
    "class": str,
    "jobs": int,
}
"""The keys a project file may hold, and what each takes."""


def project_settings(folder: Path) -> dict[str, Any]:
    """Return the settings of the nearest project file at or above a folder; none: an empty dict."""
    folder = Path(os.path.realpath(folder))  # which a circle of links does not upset
    for place in (folder, *folder.parents):
        own = place / "annotator.toml"
        if own.is_file():
            return _checked(_load(own), own)
        shared = place / "pyproject.toml"
        if shared.is_file():
            tools = _load(shared).get("tool")
            table = tools.get("annotator") if isinstance(tools, dict) else None
            if table is not None:
                return _checked(table, shared)
    return {}


def _load(path: Path) -> dict[str, Any]:
    """Read one TOML file."""
    import tomllib

    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise SettingsError(f"{path}: not a readable TOML file ({error}): mend or remove it") from error


def _checked(table: Any, path: Path) -> dict[str, Any]:
    """Return a table whose keys and kinds of value are known; a string stands for a list of its comma-separated words."""
    checked: dict[str, Any] = {}
    if not isinstance(table, dict):
        raise SettingsError(f"{path}: annotator is a table of settings, not {table!r}")
    for key, value in table.items():
        wanted = KEYS.get(key)
        if wanted is None:
            from difflib import get_close_matches

            near = get_close_matches(key, KEYS, 1)
            hint = f"did you mean {near[0]!r}?" if near else f"the keys are {', '.join(KEYS)}"
            raise SettingsError(f"{path}: there is no setting {key!r}; {hint}")
        if wanted is list and isinstance(value, str):
            value = [word.strip() for word in value.split(",") if word.strip()]
        if not isinstance(value, wanted) or (wanted is int and isinstance(value, bool)):
            kind = {str: "text in quotes", list: "a list of words", int: "a whole number", bool: "true or false"}[wanted]
            raise SettingsError(f"{path}: {key} takes {kind}, not {value!r}")
        if isinstance(value, list) and not all(isinstance(word, str) for word in value):
            raise SettingsError(f"{path}: {key} takes a list of words, not {value!r}")
        checked[key] = value
    return checked
