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

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from annotator.errors import AnnotatorError
    from annotator.figures.figure import Figure
    from annotator.marks.finding import find_figures, read
    from annotator.marks.report import Report
    from annotator.music.score import Bar, Key, Note, Part, Pitch, Score, Time
    from annotator.options import __version__ as __version__
    from annotator.options.settings import Options
    from annotator.options.shipped import example
    from annotator.products.compare.comparison import compare
    from annotator.products.excerpts.snippet import MarkedExcerpt, excerpt
    from annotator.products.handout.making import handout
    from annotator.products.marked_copies import mark, plain
    from annotator.products.survey.measures import Survey
    from annotator.products.survey.surveying import survey

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

_HOMES = {
    "__version__": "annotator.options",
    "AnnotatorError": "annotator.errors",
    "Figure": "annotator.figures.figure",
    "MarkedExcerpt": "annotator.products.excerpts.snippet",
    "Options": "annotator.options.settings",
    "Report": "annotator.marks.report",
    "Survey": "annotator.products.survey.measures",
    "compare": "annotator.products.compare.comparison",
    "example": "annotator.options.shipped",
    "excerpt": "annotator.products.excerpts.snippet",
    "find_figures": "annotator.marks.finding",
    "handout": "annotator.products.handout.making",
    "mark": "annotator.products.marked_copies",
    "plain": "annotator.products.marked_copies",
    "read": "annotator.marks.finding",
    "survey": "annotator.products.survey.surveying",
    **dict.fromkeys(("Bar", "Key", "Note", "Part", "Pitch", "Score", "Time"), "annotator.music.score"),
}


def __getattr__(name: str) -> Any:
    """Load a public name from its room on first use."""
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'annotator' has no attribute {name!r}")


def __dir__() -> list[str]:
    """Return all names, those too that are not loaded yet."""
    return sorted({*globals(), *__all__})
