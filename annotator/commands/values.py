"""Readers of option values: what was typed becomes a value, or one line says what the option takes."""

from __future__ import annotations

from collections.abc import Callable

import typer


def whole(least: int, most: int | None = None) -> Callable[[str], int]:
    """Return a reader of whole numbers from ``least`` to ``most`` (None: no limit).

    >>> whole(1, 3)("2")
    2
    """
    allowed = f"from {least} on" if most is None else f"from {least} to {most}"

    def number(typed: str) -> int:
        """Read one number."""
        try:
            value = int(typed)
        except ValueError:
            value = least - 1
        if value < least or (most is not None and value > most):
            raise typer.BadParameter(f"{typed!r} is wrong: it takes a whole number {allowed}.")
        return value

    return number


def file(typed: str) -> str:
    """Read the name of a file, whatever it is: the help names an argument's kind after its reader."""
    return typed


def name(typed: str) -> str:
    """Read a name, whatever it is."""
    return typed
