"""The scatter of a survey: effort against share of pattern, one dot a score, drawn as SVG text when the page is made.

Conventions: lengths are units of the picture's own ``viewBox``, which is about as wide as a page column is in pixels; up is harder. Dots
stand in order of share, so that the arrow keys move from left to right. Dot and row of a score carry the same number, its rank.

Rule of the labels: as many titles as fit without lying over another title, a dot or the frame, those of the loneliest dots first; a title
longer than its room ends at a word, with an ellipsis. What is left without a title tells it when pointed at.
"""

from __future__ import annotations

import math
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape

from annotator.words.survey import number, survey_word

WIDTH, HEIGHT = 760, 480
LEFT, RIGHT, TOP, BOTTOM = 56, 16, 14, 50
SIZE = 12  # of labels
LINE = 15  # the height a label takes
LONGEST = 28  # letters of a title
MOST = 40  # titles on the picture
RADII = ((150, 5.0), (600, 4.0))  # up to how many dots, how large
SMALLEST = 3.0
CELL = 40  # of the grid that tells who is near

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Dot:
    """One score: its ``rank`` (from 0), title, effort (0 to 100) and share of grey notes (0 to 1)."""

    rank: int
    title: str
    effort: float
    share: float


@dataclass(frozen=True, slots=True)
class Label:
    """A title on the picture: its text, the left end and the baseline of it."""

    text: str
    x: float
    y: float


def radius(count: int) -> float:
    """Return the radius of a dot where there are so many."""
    return next((size for most, size in RADII if count <= most), SMALLEST)


def scatter(dots: Sequence[Dot], language: str) -> str:
    """Return the picture as one SVG element."""
    top = max(20, 10 * math.ceil((max(dot.effort for dot in dots) + 4) / 10)) if dots else 100
    ordered = sorted(dots, key=lambda dot: (dot.share, dot.effort, dot.rank))
    places = [(place(dot, top), dot) for dot in ordered]
    parts = [
        f'<svg id="scatter" viewBox="0 0 {WIDTH} {HEIGHT}" role="group" aria-label="{escape(survey_word("scatter", language))}">',
        *_frame(top, language),
        '<g class="titles" aria-hidden="true">',
        *(f'<text x="{label.x:.1f}" y="{label.y:.1f}">{escape(label.text)}</text>' for label in labels(places)),
        "</g>",
        *(_dot(at, dot, radius(len(dots)), language, first=place == 0) for place, (at, dot) in enumerate(places)),
        '<g id="tip" aria-hidden="true" visibility="hidden"><rect rx="4"/><text class="tip-title"/><text class="tip-line"/></g>',
        "</svg>",
    ]
    return "\n".join(parts)


def place(dot: Dot, top: float) -> tuple[float, float]:
    """Return where the middle of a dot stands; ``top`` is the effort at the upper edge."""
    across, upward = WIDTH - LEFT - RIGHT, HEIGHT - TOP - BOTTOM
    return LEFT + across * min(max(dot.share, 0), 1), TOP + upward * (1 - min(max(dot.effort, 0), top) / top)


def labels(places: Sequence[tuple[tuple[float, float], Dot]]) -> list[Label]:
    """Return the titles that find room, at most ``MOST``."""
    taken: dict[tuple[int, int], list[Box]] = {}
    crowd = Counter(_cell(*at) for at, _ in places)
    size = radius(len(places))
    for (x, y), _ in places:
        _claim(taken, (x - size, y - size, x + size, y + size))
    found: list[Label] = []
    for (x, y), dot in sorted(places, key=lambda item: (_company(crowd, item[0]), item[1].rank)):
        text = shortened(dot.title)
        for box in _rooms(x, y, size, text_width(text)):
            if _free(taken, box):
                _claim(taken, box)
                found.append(Label(text, box[0], box[3] - 4))
                break
        if len(found) == MOST:
            break
    return found


def shortened(title: str) -> str:
    """Return a title cut at a word so that it is not too long.

    >>> shortened("La Candeur"), shortened("The Well-Tempered Clavier, Book One, Prelude One")
    ('La Candeur', 'The Well-Tempered Clavier…')
    """
    if len(title) <= LONGEST:
        return title
    head = title[:LONGEST]
    return (head.rpartition(" ")[0] or head).rstrip(" ,;:-–") + "…"


def text_width(text: str) -> float:
    """Return about how wide a text is at the size of labels, on the safe side for any sans-serif face."""
    return sum(SIZE * (1.05 if unicodedata.east_asian_width(sign) in "WF" else 0.58) for sign in text)


def _frame(top: float, language: str) -> Iterator[str]:
    """Yield grid lines, their numbers, and the words of both axes."""
    bottom, right = HEIGHT - BOTTOM, WIDTH - RIGHT
    step = 10 if top <= 60 else 20
    for effort in range(0, int(top) + 1, step):
        y = place(Dot(0, "", effort, 0), top)[1]
        yield f'<path class="grid" d="M{LEFT} {y:.1f}H{right}"/><text class="tick end" x="{LEFT - 8}" y="{y + 4:.1f}">{effort}</text>'
    for share in range(0, 101, 20):
        x = LEFT + (right - LEFT) * share / 100
        yield f'<path class="grid" d="M{x:.1f} {TOP}V{bottom}"/><text class="tick middle" x="{x:.1f}" y="{bottom + 18}">{share}</text>'
    across, upward = (LEFT + right) / 2, (TOP + bottom) / 2
    yield f'<text class="axis middle" x="{across:.1f}" y="{HEIGHT - 8}">{escape(survey_word("share-axis", language))}</text>'
    turned = f'transform="translate(16 {upward:.1f}) rotate(-90)"'
    yield f'<text class="axis middle" {turned}>{escape(survey_word("effort-axis", language))}</text>'


def _dot(at: tuple[float, float], dot: Dot, size: float, language: str, first: bool) -> str:
    line = survey_word("dot", language).format(effort=number(dot.effort, 0, language), share=number(100 * dot.share, 0, language))
    title, line = escape(dot.title), escape(line)
    return (
        f'<circle class="dot" id="dot-{dot.rank}" data-rank="{dot.rank}" cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="{size:g}" role="button" '
        f'tabindex="{0 if first else -1}" aria-pressed="false" aria-label="{title}: {line}" data-title="{title}" data-line="{line}"/>'
    )


def _rooms(x: float, y: float, size: float, width: float) -> Iterator[Box]:
    """Yield the places a title of this width may take beside a dot, the best first, those that leave the frame left out."""
    away = size + 4
    for left, upper in (
        (x + away, y - LINE / 2),
        (x - away - width, y - LINE / 2),
        (x - width / 2, y - away - LINE),
        (x - width / 2, y + away),
    ):
        if left > LEFT and left + width < WIDTH - RIGHT and upper > TOP and upper + LINE < HEIGHT - BOTTOM:
            yield left, upper, left + width, upper + LINE


def _cell(x: float, y: float) -> tuple[int, int]:
    return int(x // CELL), int(y // CELL)


def _company(crowd: Counter[tuple[int, int]], at: tuple[float, float]) -> int:
    """Return how many dots stand in the cells around a place."""
    column, row = _cell(*at)
    return sum(crowd[column + across, row + down] for across in (-1, 0, 1) for down in (-1, 0, 1))


def _cells(box: Box) -> Iterable[tuple[int, int]]:
    (left, upper), (right, lower) = _cell(box[0], box[1]), _cell(box[2], box[3])
    return ((column, row) for column in range(left, right + 1) for row in range(upper, lower + 1))


def _claim(taken: dict[tuple[int, int], list[Box]], box: Box) -> None:
    for cell in _cells(box):
        taken.setdefault(cell, []).append(box)


def _free(taken: dict[tuple[int, int], list[Box]], box: Box) -> bool:
    """Tell whether nothing that is taken lies under a box."""
    return not any(
        box[0] < other[2] and other[0] < box[2] and box[1] < other[3] and other[1] < box[3]
        for cell in _cells(box)
        for other in taken.get(cell, ())
    )
