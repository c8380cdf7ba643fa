"""The scores that come with the program, wherever it is installed: to try it on, and for the examples in the documentation."""

from __future__ import annotations

from pathlib import Path

from annotator.errors import MissingError
from annotator.option import nearest


def folder() -> Path:
    """Return the folder of the shipped scores: in the package, or beside it in a checkout."""
    inside = Path(__file__).parent / "examples"
    return inside if inside.is_dir() else Path(__file__).parent.parent / "examples"


def example(name: str = "sonatina-at-the-open-gate") -> Path:
    """Return where a score that comes with the program lies.

    >>> example("lamps-on-the-water").name
    'lamps-on-the-water.musicxml'
    """
    path = folder() / f"{name}.musicxml"
    if not path.is_file():
        there = sorted(each.stem for each in folder().glob("*.musicxml"))
        raise MissingError(f"there is no example {name!r}: {nearest(name, there) or 'there are ' + ', '.join(there)}")
    return path
