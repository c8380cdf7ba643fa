"""Marks the figures a pianist can take in at a glance: runs, broken chords, accompaniments, repeats, both hands the same.

``read`` a score, ``find_figures`` in it, ``mark`` a copy, show an ``excerpt``. What these return is frozen data; see the class each one
names. Names are loaded when they are first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from annotator.errors import AnnotatorError
    from annotator.excerpts.marked import MarkedExcerpt, excerpt
    from annotator.figures.figure import Figure
    from annotator.pipeline import find_figures, read
    from annotator.report import Report
    from annotator.score import Bar, Key, Note, Part, Pitch, Score, Time
    from annotator.settings import Options

__all__ = [
    "AnnotatorError",
    "Bar",
    "Figure",
    "Key",
    "MarkedExcerpt",
    "Note",
    "Options",
    "Part",
    "Pitch",
    "Report",
    "Score",
    "Time",
    "excerpt",
    "find_figures",
    "mark",
    "read",
]

__version__ = "0.1.0"

_HOMES = {
    "AnnotatorError": "annotator.errors",
    "Figure": "annotator.figures.figure",
    "MarkedExcerpt": "annotator.excerpts.marked",
    "Options": "annotator.settings",
    "Report": "annotator.report",
    "excerpt": "annotator.excerpts.marked",
    "find_figures": "annotator.pipeline",
    "read": "annotator.pipeline",
    **dict.fromkeys(("Bar", "Key", "Note", "Part", "Pitch", "Score", "Time"), "annotator.score"),
}


def mark(path: Path | str, out: Path | str | None = None, style: str = "default", **settings: Any) -> Report:
    """Write the marked MusicXML and PDF of a score and return the report.

    ``out`` is a folder (None: the score's own), ``style`` a style's name or file. ``settings`` are fields of ``Options`` and of
    ``annotator.copies.Copying``; ``steps`` (1 to 3) makes a practice series. Raises an ``AnnotatorError``.
    """
    from annotator.copies import Copying, mark_copy, mark_series
    from annotator.settings import Options
    from annotator.style import load_style

    of_options = {name: settings.pop(name) for name in Options.__slots__ if name in settings}
    steps: int | None = settings.pop("steps", None)
    copying = Copying(out=None if out is None else Path(out), style=load_style(style), **settings)
    if steps is not None:
        return mark_series(Path(path), Options(**of_options), copying, steps).report
    return mark_copy(Path(path), Options(**of_options), copying).report


def __getattr__(name: str) -> Any:
    """Load a public name from its room on first use."""
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'annotator' has no attribute {name!r}")
