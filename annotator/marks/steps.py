"""A practice series: copies of one score with less help from step to step, each step as what it shows.

Conventions
-----------
1. All marks, as in any marked copy.
2. Brackets with their names. Nothing is grey, nor are there note names beside the notes to read.
3. Brackets to be named: room to write in place of the words.
4. The plain score.

Rule: no step gives back what an earlier one took away. A style that is worded or greyed less to begin with keeps what it lacks.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from annotator.errors import UsageError
from annotator.marks.report import Report
from annotator.marks.style import WORDLESS, Style
from annotator.options.settings import MOST_STEPS
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
    """Return the first ``steps`` (1 to 4) of the series."""
    if not 1 <= steps <= MOST_STEPS:
        raise UsageError(f"a series has 1 to {MOST_STEPS} steps, not {steps}")
    language = report.language
    named = replace(style, greying=False, note_names_on_anchors=False)
    to_name = named if style.labels in WORDLESS else replace(named, labels="blank")
    shown = ((report, style), (report, named), (report, to_name), (replace(report, figures=()), named))
    return tuple(
        Step(
            f"marked-step-{number}",
            what,
            look,
            step_words(number, steps, language) if steps > 1 else "",
            heading("foot-step-4", language) if number == MOST_STEPS else "",
        )
        for number, (what, look) in enumerate(shown[:steps], 1)
    )
