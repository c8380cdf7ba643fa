"""The page of a survey: one self-contained HTML file with a scatter, a bar chart and a sortable table.

Conventions
-----------
* ``page.html`` says what stands where; without the script all is there to read, and sorting, finding, and going from a dot to its row are
  what the script adds. Rows come ranked as the survey has them; the number of a row, and of its dot, is its rank, from 0.
* In the scatter, effort against share of pattern, one dot a score, lengths are units of the picture's own ``viewBox``, which is about as
  wide as a page column is in pixels; up is harder. Dots stand in order of share, so that the arrow keys move from left to right.

Rule of its labels: as many titles as fit without lying over another title, a dot or the frame, those of the loneliest dots first; a title
that is too long ends with an ellipsis. What is left without a title tells it when pointed at.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from rich.cells import cell_len

from annotator.products.html_page import html_page
from annotator.products.survey.effort import FACTORS
from annotator.products.survey.measures import HandMeasures, Measured, Survey
from annotator.products.survey.tables import COLUMNS, count_words, drills_words, shortened, title_of
from annotator.words.labels import kind_name
from annotator.words.phrases import effort_words, key_words, number, survey_word

_BY_KEY = {column.key: column for column in COLUMNS}
NUMBERS = [_BY_KEY[key] for key in ("effort", "share", "notes", "to-read", "bars", "density", "signs", "odd")]
"""The columns of numbers that the page has, from left to right."""

WIDTH, HEIGHT = 760, 480
LEFT, RIGHT, TOP, BOTTOM = 56, 744, 14, 430
"""The edges of the scatter's frame."""
SIZE = 12  # of labels
LINE = 15  # the height a label takes
LONGEST = 28  # letters of a title
MOST = 40  # titles on the picture
NEAR = 40  # who is as near as that is company

Box = tuple[float, float, float, float]
Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Dot:
    """One score: its ``rank`` (from 0), title, effort (0 to 100) and share of grey notes (0 to 1)."""

    rank: int
    title: str
    effort: float
    share: float


def survey_page(survey: Survey, language: str = "en") -> str:
    """Return the page of a survey as HTML text; ``language`` is one of ``settings.LANGUAGES``."""
    scores = survey.scores
    dots = [Dot(rank, title_of(score), score.effort, score.measures.share) for rank, score in enumerate(scores)]
    return html_page(
        __package__,
        language=language,
        survey_word=partial(survey_word, language=language),
        number=lambda value: number(value, 0, language),
        summary=count_words(survey, language),
        rows=[_row(score, language) for score in scores],
        numbers=NUMBERS,
        scatter=scatter(dots) if dots else None,
        kinds=[(kind_name(kind, language), notes) for kind, notes in notes_by_kind(scores)],
        what_effort=effort_words([(factor.word, factor.weight) for factor in FACTORS], language),
        failed=[f"{one.path}: {one.message}" for one in survey.failed],
        left_out=[f"{one.path}: {one.reason}" for one in survey.left_out],
    )


def notes_by_kind(scores: Iterable[Measured]) -> list[tuple[str, int]]:
    """Return each kind found with the notes that its figures hold in all scores together, the most first, equals by machine name."""
    found: Counter[str] = Counter()
    for score in scores:
        for one in score.measures.kinds:
            found[one.kind] += one.notes
    return sorted(found.items(), key=lambda item: (-item[1], item[0]))


def _row(score: Measured, language: str) -> dict[str, Any]:
    """Return what the table tells of a score in words, and what it is found by."""
    measures, say = score.measures, partial(survey_word, language=language)
    count = partial(number, places=0, language=language)
    title, composer = title_of(score), " ".join(measures.composer.split())
    names = [kind_name(one.kind, language) for one in measures.kinds]
    return {
        "score": score,
        "title": title,
        "composer": composer,
        "drills": drills_words(score, language),
        "found_by": "\n".join([title, composer, score.path, *names]),
        "points": ", ".join(f"{say(factor.word)}: {count(factor.points(measures))}/{factor.weight}" for factor in FACTORS),
        "figures": [
            say("figure").format(kind=name, figures=count(one.figures), notes=count(one.notes))
            for name, one in zip(names, measures.kinds, strict=True)
        ],
        "in_keys": [say("key").format(key=key_words(key.tonic, key.minor, language), bars=count(key.bars)) for key in measures.keys],
        "right": _hand(measures.right, language),
        "left": _hand(measures.left, language),
    }


def _hand(hand: HandMeasures, language: str) -> str:
    if not hand.notes:
        return survey_word("silent", language)
    return survey_word("hand", language).format(compass=hand.compass, reach=hand.reach, lines=hand.ledger_lines)


def radius(count: int) -> float:
    """Return the radius of a dot where there are so many."""
    return 5 if count <= 150 else 4 if count <= 600 else 3


def scatter(dots: Sequence[Dot]) -> dict[str, Any]:
    """Return the picture for the template: dots with their places, in the order of share, their titles, and the lines of the grid."""
    top = max(20, 10 * math.ceil((max(dot.effort for dot in dots) + 4) / 10))
    places = [(place(dot.effort, dot.share, top), dot) for dot in sorted(dots, key=lambda dot: (dot.share, dot.effort, dot.rank))]
    efforts = range(0, top + 1, 10 if top <= 60 else 20)
    return {
        "dots": places,
        "labels": labels(places),
        "radius": radius(len(dots)),
        "efforts": [(place(effort, 0, top)[1], effort) for effort in efforts],
        "shares": [(place(0, share / 100, top)[0], share) for share in range(0, 101, 20)],
        **{"width": WIDTH, "height": HEIGHT, "left": LEFT, "right": RIGHT, "top": TOP, "bottom": BOTTOM},
    }


def place(effort: float, share: float, top: float) -> Place:
    """Return where the middle of a dot stands; ``top`` is the effort at the upper edge."""
    across, upward = RIGHT - LEFT, BOTTOM - TOP
    return LEFT + across * min(max(share, 0), 1), TOP + upward * (1 - min(max(effort, 0), top) / top)


def labels(places: Sequence[tuple[Place, Dot]]) -> list[tuple[str, float, float]]:
    """Return the titles that find room, at most ``MOST``, each with its left end and its baseline."""
    size = radius(len(places))
    taken = {cell for (x, y), _ in places for cell in _cells((x - size, y - size, x + size, y + size))}
    near = Counter(cell for (x, y), _ in places for cell in _cells((x - NEAR, y - NEAR, x + NEAR, y + NEAR), NEAR))
    found: list[tuple[str, float, float]] = []
    for (x, y), dot in sorted(places, key=lambda item: (near[int(item[0][0] // NEAR), int(item[0][1] // NEAR)], item[1].rank)):
        text = shortened(dot.title, LONGEST)
        room = next((box for box in _rooms(x, y, size, text_width(text)) if taken.isdisjoint(_cells(box))), None)
        if room is not None and len(found) < MOST:
            taken.update(_cells(room))
            found.append((text, room[0], room[3] - 4))
    return found


def text_width(text: str) -> float:
    """Return about how wide a text is at the size of labels, on the safe side for any sans-serif face."""
    return 0.58 * SIZE * cell_len(text)


def _rooms(x: float, y: float, size: float, width: float) -> Iterator[Box]:
    """Yield the places a title of this width may take beside a dot, the best first, those that leave the frame left out."""
    away = size + 4
    for left, upper in (
        (x + away, y - LINE / 2),
        (x - away - width, y - LINE / 2),
        (x - width / 2, y - away - LINE),
        (x - width / 2, y + away),
    ):
        if left > LEFT and left + width < RIGHT and upper > TOP and upper + LINE < BOTTOM:
            yield left, upper, left + width, upper + LINE


def _cells(box: Box, size: int = 1) -> Iterator[tuple[int, int]]:
    """Yield the cells of a size that a box lies over."""
    left, upper, right, lower = (int(edge // size) for edge in box)
    return ((column, row) for column in range(left, right + 1) for row in range(upper, lower + 1))
