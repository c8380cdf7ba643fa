"""Marks the figures a pianist can take in at a glance: runs, broken chords, accompaniments, repeats, both hands the same.

``read`` a score, ``find_figures`` in it, show an ``excerpt``; ``mark`` a copy, ``plain``, ``compare``, ``handout`` and ``survey`` are what
the commands of these names do. What they return is frozen data; see the class each one names. Names are loaded when they are first used,
so that importing the package costs nothing.

>>> import annotator
>>> annotator.read(annotator.example("letter-by-the-window"))
<Score 'A Letter by the Window': 1 part, 24 bars, 263 notes>
>>> report = annotator.find_figures(annotator.example("letter-by-the-window"))
>>> report.headline
'263 notes, 120 to read'
>>> print(report.rows()[0].bar, report.rows()[0].label)
1–8 Alberti bass: G

Whatever a user can cause or meet is an ``AnnotatorError``, and its text is one line that says what to do.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from annotator.compare.comparison import compare
    from annotator.copies import mark, plain
    from annotator.errors import AnnotatorError
    from annotator.excerpts.marked import MarkedExcerpt, excerpt
    from annotator.figures.figure import Figure
    from annotator.handout.making import handout
    from annotator.pipeline import find_figures, read
    from annotator.report import Report
    from annotator.score import Bar, Key, Note, Part, Pitch, Score, Time
    from annotator.settings import Options
    from annotator.shipped import example
    from annotator.survey.asking import survey
    from annotator.survey.measures import Survey

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
    "Survey",
    "Time",
    "compare",
    "example",
    "excerpt",
    "find_figures",
    "handout",
    "mark",
    "plain",
    "read",
    "survey",
]

__version__ = "0.1.0"

_HOMES = {
    "AnnotatorError": "annotator.errors",
    "Figure": "annotator.figures.figure",
    "MarkedExcerpt": "annotator.excerpts.marked",
    "Options": "annotator.settings",
    "Report": "annotator.report",
    "Survey": "annotator.survey.measures",
    "compare": "annotator.compare.comparison",
    "example": "annotator.shipped",
    "excerpt": "annotator.excerpts.marked",
    "find_figures": "annotator.pipeline",
    "handout": "annotator.handout.making",
    "mark": "annotator.copies",
    "plain": "annotator.copies",
    "read": "annotator.pipeline",
    "survey": "annotator.survey.asking",
    **dict.fromkeys(("Bar", "Key", "Note", "Part", "Pitch", "Score", "Time"), "annotator.score"),
}


class _Package(ModuleType):
    """The package: ``compare``, ``handout`` and ``survey`` in it are functions, though the rooms that make them bear these names too."""

    def __setattr__(self, name: str, value: Any) -> None:
        """Set a name, but leave a public one what it is when the room of that name has been loaded."""
        if not (name in _HOMES and isinstance(value, ModuleType)):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Package


def __getattr__(name: str) -> Any:
    """Load a public name from its room on first use."""
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'annotator' has no attribute {name!r}")


def __dir__() -> list[str]:
    """Return all names, those too that are not loaded yet."""
    return sorted({*globals(), *__all__})
