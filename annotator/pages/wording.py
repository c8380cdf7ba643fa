"""Which of its three wordings a bracket can carry, and where along the bracket its words stand.

Conventions
-----------
x and widths are in the page's drawing units, all heights relative to the bracket's line. ``row`` 0 is on the line, in a gap of it; 1 and 2
are outside of it, away from the staff.

Rule
----
The longest wording that leaves a bit of line on both sides is taken, one size throughout and never squeezed; it stands in the middle
of a short bracket and near the beginning of a long one. Where chord names stand at later notes, each stands at its note, and the label
has the stretch before the first of them. What does not fit on the line stands outside it. Where a pupil is to write the words in, the line
is left whole, to be written on, but for a gap before each note where another chord name belongs.

Source: the measures (margins in staff spaces) were tried out on pages.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

LONG = 2.2
"""From how many times the label's width on a bracket counts as long."""

TIERS = ("long", "medium", "short")
Measure = Callable[[str], float]


@dataclass(frozen=True, slots=True)
class Word:
    """A text on a bracket: what, from where, how wide, in which row, and whether it is the label (or a chord name)."""

    text: str
    left: float
    width: float
    row: int
    label: bool

    @property
    def right(self) -> float:
        """Where it ends."""
        return self.left + self.width


@dataclass(frozen=True, slots=True)
class Wording:
    """All words of one bracket and the length of the label that was taken (``long``, ``medium``, ``short``, ``outside``, ``none``)."""

    words: tuple[Word, ...]
    tier: str


@dataclass(frozen=True, slots=True)
class Fitting:
    """Room to keep: ``air`` at either side of a text on the line, ``rest`` the shortest bit of line left beside that."""

    air: float
    rest: float
    measure: Measure


def choose(labels: Sequence[str], tier: str) -> list[tuple[str, str]]:
    """Return the wordings to try, longest first, as (tier, text); ``tier`` is a style's wish (``fit`` or a length)."""
    start = TIERS.index(tier) if tier in TIERS else 0
    return list(zip(TIERS[start:], labels[start:], strict=True))


def word_bracket(
    left: float,
    right: float,
    wordings: Sequence[tuple[str, str]],
    changes: Sequence[tuple[float, str]],
    fitting: Fitting,
) -> Wording:
    """Return the words of a bracket from ``left`` to ``right``; ``changes`` are chord names at x, left to right."""
    names = _names(right, changes, fitting)
    on_line = [name.left for name in names if name.row == 0]
    end = min(on_line) - fitting.air if on_line else right
    if not wordings:
        return Wording(tuple(names), "none")
    for tier, text in wordings:
        width = fitting.measure(text)
        if width + 2 * (fitting.air + fitting.rest) <= end - left:
            return Wording((Word(text, _start(left, end, width, fitting), width, 0, True), *names), tier)
    return Wording((_outside(left, right, wordings, names, fitting), *names), "outside")


def room_to_write(left: float, right: float, changes: Sequence[tuple[float, str]], fitting: Fitting) -> Wording:
    """Return what a bracket says that is to be written on: nothing along all of it, and a gap before each note where its chord changes."""
    gaps = (Word("", x - 2 * fitting.air, 0.0, 0, False) for x, _ in changes if x - 4 * fitting.air > left)
    return Wording((Word("", left, right - left, 1, True), *gaps), "none")


def _start(left: float, end: float, width: float, fitting: Fitting) -> float:
    """In the middle of a short stretch; near the beginning of a long one, so that it is read before its notes are played."""
    middle = (left + end - width) / 2
    return middle if end - left <= LONG * width else min(middle, left + 2 * (fitting.air + fitting.rest))


def _names(right: float, changes: Sequence[tuple[float, str]], fitting: Fitting) -> list[Word]:
    """Set each chord name at its note: on the line if there is room up to the next one and the bracket's end, else further out."""
    placed: list[Word] = []
    reach = [float("-inf")] * 3
    for x, text in changes:
        width = fitting.measure(text)
        on_line = x + width + fitting.air + fitting.rest <= right and x - 2 * fitting.air >= reach[0]
        row = 0 if on_line else next((each for each in (1, 2) if x - fitting.air >= reach[each]), 2)
        start = x if row == 0 else max(x, reach[row] + fitting.air)
        placed.append(Word(text, start, width, row, False))
        reach[row] = start + width
    return placed


def _outside(
    left: float, right: float, wordings: Sequence[tuple[str, str]], names: Sequence[Word], fitting: Fitting
) -> Word:
    """Return the label outside the bracket: the longest that is no wider than it, else the shortest."""
    text = next((each for _, each in wordings if fitting.measure(each) <= right - left), wordings[-1][1])
    width = fitting.measure(text)
    row = 1 + max((name.row for name in names), default=0)
    return Word(text, (left + right - width) / 2, width, row, True)
