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
    from annotator.errors import AnnotatorError as AnnotatorError
    from annotator.figures.figure import Figure as Figure
    from annotator.marks.finding import find_figures as find_figures
    from annotator.marks.report import Report as Report
    from annotator.music.score import Bar as Bar
    from annotator.music.score import Key as Key
    from annotator.music.score import Note as Note
    from annotator.music.score import Part as Part
    from annotator.music.score import Pitch as Pitch
    from annotator.music.score import Score as Score
    from annotator.music.score import Time as Time
    from annotator.options import __version__ as __version__
    from annotator.options import example as example
    from annotator.options.settings import Options as Options
    from annotator.products.compare.comparison import compare as compare
    from annotator.products.excerpts.excerpt import MarkedExcerpt as MarkedExcerpt
    from annotator.products.excerpts.excerpt import excerpt as excerpt
    from annotator.products.handout.making import handout as handout
    from annotator.products.marked_copies import mark as mark
    from annotator.products.marked_copies import plain as plain
    from annotator.products.survey.measures import Survey as Survey
    from annotator.products.survey.surveying import survey as survey
    from annotator.reading.reader import read as read

HOMES = {
    "annotator.errors": "AnnotatorError",
    "annotator.figures.figure": "Figure",
    "annotator.marks.finding": "find_figures",
    "annotator.marks.report": "Report",
    "annotator.music.score": "Bar Key Note Part Pitch Score Time",
    "annotator.options": "__version__ example",
    "annotator.options.settings": "Options",
    "annotator.products.compare.comparison": "compare",
    "annotator.products.excerpts.excerpt": "MarkedExcerpt excerpt",
    "annotator.products.handout.making": "handout",
    "annotator.products.marked_copies": "mark plain",
    "annotator.products.survey.measures": "Survey",
    "annotator.products.survey.surveying": "survey",
    "annotator.reading.reader": "read",
}
"""The public names, by the module that has them."""

_HOME_OF = {name: home for home, names in HOMES.items() for name in names.split()}
__all__ = sorted({*_HOME_OF} - {"__version__"})


def __getattr__(name: str) -> Any:
    """Load a public name from its room on first use."""
    if name in _HOME_OF:
        return getattr(import_module(_HOME_OF[name]), name)
    raise AttributeError(f"module 'annotator' has no attribute {name!r}")


def __dir__() -> list[str]:
    """Return all names, those too that are not loaded yet."""
    return sorted({*globals(), *__all__})
