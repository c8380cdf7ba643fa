"""The bar chart of a survey: how many notes of the library belong to figures of each kind, drawn as SVG text when the page is made.

Conventions: lengths are units of the picture's own ``viewBox``. The kind with the most notes comes first; equals go by machine name.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from html import escape

from annotator.products.survey.measures import Measured
from annotator.words import kind_name
from annotator.words.survey import number, survey_word

WIDTH = 420
NAME = 168  # room for the names
COUNT = 64  # room for the numbers
ROW, BAR = 24, 14


def notes_by_kind(scores: Iterable[Measured]) -> list[tuple[str, int]]:
    """Return each kind found with the notes that its figures hold in all scores together, the most first."""
    found: Counter[str] = Counter()
    for score in scores:
        for one in score.measures.kinds:
            found[one.kind] += one.notes
    return sorted(found.items(), key=lambda item: (-item[1], item[0]))


def kinds_chart(kinds: Sequence[tuple[str, int]], language: str) -> str:
    """Return the picture as one SVG element; empty where no kind was found."""
    if not kinds:
        return ""
    most = max(notes for _, notes in kinds) or 1
    height = ROW * len(kinds) + 4
    parts = [f'<svg id="kinds" viewBox="0 0 {WIDTH} {height}" role="group" aria-label="{escape(survey_word("kinds", language))}">']
    for row, (kind, notes) in enumerate(kinds):
        middle = ROW * row + ROW / 2 + 2
        long = (WIDTH - NAME - COUNT) * notes / most
        parts.append(
            f'<g class="kind"><text class="end" x="{NAME - 8}" y="{middle + 4:g}">{escape(kind_name(kind, language))}</text>'
            f'<rect class="bar" x="{NAME}" y="{middle - BAR / 2:g}" width="{max(long, 1):.1f}" height="{BAR}" rx="2"/>'
            f'<text class="count" x="{NAME + max(long, 1) + 6:.1f}" y="{middle + 4:g}">{number(notes, 0, language)}</text></g>'
        )
    return "\n".join([*parts, "</svg>"])
