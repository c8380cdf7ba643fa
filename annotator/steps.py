"""A practice series: copies of one score with less and less help, each step as what it shows.

Conventions
-----------
1. All marks, as in any marked copy.
2. Brackets without words. Nothing is grey, for grey notes follow from the words; nor are there note names beside the notes to read.
3. Of each kind only the first bracket, in time, with its words and its grey notes; all else is plain.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from annotator.errors import UsageError
from annotator.figures.figure import Figure
from annotator.report import Report
from annotator.settings import MOST_STEPS
from annotator.style import Style
from annotator.words import heading, step_words


@dataclass(frozen=True, slots=True)
class Step:
    """One copy of a series.

    ``word`` is what its file's name gets, ``report`` and ``style`` are what it shows and how, ``head`` is the line that says which copy
    it is, ``legend`` what its page foot says in place of the usual; both empty where there is nothing special to say.
    """

    word: str
    report: Report
    style: Style
    head: str = ""
    legend: str = ""


def only_step(report: Report, style: Style) -> Step:
    """Return the one marked copy that is no part of a series."""
    return Step("marked", report, style)


def series(report: Report, style: Style, steps: int) -> tuple[Step, ...]:
    """Return the first ``steps`` (1 to 3) of the series."""
    if not 1 <= steps <= MOST_STEPS:
        raise UsageError(f"a series has 1 to {MOST_STEPS} steps, not {steps}")
    language = report.language
    wordless = replace(style, labels="none", greying=False, note_names_on_anchors=False)
    shown = ((report, style), (report, wordless), (first_of_each_kind(report), style))
    return tuple(
        Step(
            f"marked-step-{number}",
            what,
            look,
            step_words(number, steps, language) if steps > 1 else "",
            heading(f"foot-step-{number}", language) if number > 1 else "",
        )
        for number, (what, look) in enumerate(shown[:steps], 1)
    )


def first_of_each_kind(report: Report) -> Report:
    """Return the report with only the first figure of each kind."""
    first: dict[str, tuple[str, Figure]] = {}
    for name, figure in report.figures:
        first.setdefault(figure.kind, (name, figure))
    return Report(report.score, report.counted, tuple(first.values()), report.language)
