"""``annotator settings``: which options are in force for a score, and where each is from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from annotator.errors import MissingError
from annotator.shell.commands.options import Given, file
from annotator.shell.commands.streams import standard_output
from annotator.shell.configuration import KEYS, in_force
from annotator.shell.running import folder_of, guarded

ScoreOrFolder = Annotated[
    str | None,
    typer.Argument(help="A score, or a folder of scores. Default: this folder.", metavar="SCORE", parser=file, show_default=False),
]


def settings(score: ScoreOrFolder = None, *, given: Given) -> None:
    """Say which options are in force for a score: the value of each, and where it is from.

    An option that is typed wins over the project file, and that over what the program does of itself.
    """
    guarded(lambda: _print(score or "-", given))


def _print(source: str, given: Given) -> None:
    """Print a line for each option."""
    if source != "-" and not Path(source).exists():
        raise MissingError(f"{source}: no such file")
    holds = in_force(Path(source) if Path(source).is_dir() else folder_of(source), given)
    for row in KEYS.values():
        standard_output().write(f"{row.key:9} {row.text(holds.options):26} {holds.whence(row)}\n")
