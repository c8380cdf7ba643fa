"""Marks the figures a pianist can take in at a glance: runs, broken chords, accompaniments, repeats, both hands the same.

``read`` a score, ``find_figures`` in it, ``mark`` a copy, show an ``excerpt``. What these return is frozen data; see the class each one
names. Names are loaded when they are first used, so that importing the package costs nothing.

>>> import annotator
>>> score = annotator.read(annotator.example("letter-by-the-window"))
>>> report = annotator.find_figures(score)
>>> report.headline
'263 notes, 115 to read'
>>> print(report.rows()[0].bar, report.rows()[0].label)
1–8 Alberti bass: G

Whatever a user can cause or meet is an ``AnnotatorError``, and its text is one line that says what to do.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from annotator.copies import mark
    from annotator.errors import AnnotatorError
    from annotator.excerpts.marked import MarkedExcerpt, excerpt
    from annotator.figures.figure import Figure
    from annotator.pipeline import find_figures, read
    from annotator.report import Report
    from annotator.score import Bar, Key, Note, Part, Pitch, Score, Time
    from annotator.settings import Options
    from annotator.shipped import example

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
    "example",
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
    "example": "annotator.shipped",
    "excerpt": "annotator.excerpts.marked",
    "find_figures": "annotator.pipeline",
    "mark": "annotator.copies",
    "read": "annotator.pipeline",
    **dict.fromkeys(("Bar", "Key", "Note", "Part", "Pitch", "Score", "Time"), "annotator.score"),
}


def __getattr__(name: str) -> Any:
    """Load a public name from its room on first use."""
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'annotator' has no attribute {name!r}")


def __dir__() -> list[str]:
    """Return all names, those too that are not loaded yet."""
    return sorted({*globals(), *__all__})
