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
    "read": "annotator.pipeline",
    **dict.fromkeys(("Bar", "Key", "Note", "Part", "Pitch", "Score", "Time"), "annotator.score"),
}


def mark(path: Path | str, out: Path | str | None = None, style: Path | str = "default", **settings: Any) -> Report:
    """Write the marked MusicXML and PDF of a score and return the report.

    ``out`` is a folder (None: the score's own), made if it is not there; ``style`` a style's name or file. The other settings:

    * those of ``Options``: ``kinds``, ``without``, ``hand``, ``bars``, ``shortest``, ``language``, ``parts``;
    * ``paper``: ``a4``, ``letter``, ``a4-landscape`` or ``tablet``; ``formats``: ``svg``, ``png`` besides; ``breaks``: ``even`` or
      ``source``; ``force``: write over files that this program did not make;
    * ``steps``: a practice series of 1 to 3 copies.

    Raises an ``AnnotatorError``, a ``UsageError`` for a setting that is none.

    >>> from tempfile import TemporaryDirectory
    >>> from annotator import example
    >>> with TemporaryDirectory() as folder:
    ...     report = mark(example("letter-by-the-window"), folder, style="light", bars="1-4", paper="letter")
    ...     print(*sorted(path.name for path in Path(folder).iterdir()))
    letter-by-the-window-marked.musicxml letter-by-the-window-marked.pdf
    >>> report.headline
    '44 notes, 19 to read'
    >>> mark("piece.musicxml", langauge="de")
    Traceback (most recent call last):
    annotator.errors.UsageError: there is no setting 'langauge': did you mean 'language'?
    """
    from annotator.copies import Copying, mark_copy, mark_series
    from annotator.figures.registry import check_kinds
    from annotator.settings import Options, known, options_of, words_of
    from annotator.style import load_style

    of_options, of_copying = Options.__slots__, ("paper", "formats", "force", "breaks")
    known(settings, (*of_options, *of_copying, "steps"))
    if "formats" in settings:
        settings["formats"] = words_of(settings["formats"])
    options = options_of({name: value for name, value in settings.items() if name in of_options})
    check_kinds(options)
    chosen = {name: value for name, value in settings.items() if name in of_copying}
    copying = Copying(None if out is None else Path(out), load_style(str(style)), **chosen)
    if settings.get("steps") is not None:
        return mark_series(Path(path), options, copying, settings["steps"]).report
    return mark_copy(Path(path), options, copying).report


def __getattr__(name: str) -> Any:
    """Load a public name from its room on first use."""
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'annotator' has no attribute {name!r}")


def __dir__() -> list[str]:
    """Return all names, those too that are not loaded yet."""
    return sorted({*globals(), *__all__})
