"""What can be asked for: one table of options, the words it takes, what comes with the program (scores to try it on, styles)."""

from __future__ import annotations

from pathlib import Path

from annotator.errors import MissingError
from annotator.options.option import nearest

__version__ = "0.1.0"


def folder(name: str) -> Path:
    """Return the folder of the shipped ``examples`` or ``styles``: in the package, or beside it in a checkout."""
    package = Path(__file__).parents[1]
    return package / name if (package / name).is_dir() else package.parent / name


def example(name: str = "sonatina-at-the-open-gate") -> Path:
    """Return where a score that comes with the program lies.

    >>> example("lamps-on-the-water").name
    'lamps-on-the-water.musicxml'
    """
    path = folder("examples") / f"{name}.musicxml"
    if not path.is_file():
        there = sorted(each.stem for each in folder("examples").glob("*.musicxml"))
        raise MissingError(f"there is no example {name!r}: {nearest(name, there) or 'there are ' + ', '.join(there)}")
    return path
