"""Choosing from a survey: which scores are wanted, and in which order.

Conventions
-----------
* Shares are 0 to 1. Equals stand in the order of their paths.
* Without a wish the scores that follow from patterns the most come first.
* *Alike* are two scores as far as they spend their notes on the same figures: the notes of each are split by kind of figure, with those
  of no figure as one more kind, into shares that add up to 1; the likeness is the sum of the smaller share of each kind. It is 1 for the
  same mix, 0 for nothing in common; how long or how hard a piece is does not come into it.

Source: the sum of the smaller shares is known as the overlap of two histograms (Swain and Ballard, 1991).

>>> round(likeness({"scale-run": 0.5, "": 0.5}, {"scale-run": 0.25, "trill": 0.25, "": 0.5}), 2)
0.75
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from annotator.errors import UsageError
from annotator.survey.measures import Measured, Measures, Survey

NO_FIGURE = ""


@dataclass(frozen=True, slots=True)
class Wish:
    """What is wanted of a library.

    ``kind``: scores that drill it, those with the greatest part of their notes in it first. ``like``: scores with the same mix of figures
    as this one, the most alike first, itself left out. ``share``: at least this part of the notes grey. ``easiest``: least effort first.
    ``sort`` names a column, which then decides the order; ``reverse`` turns the order round.
    """

    kind: str | None = None
    like: Measured | None = None
    share: float | None = None
    easiest: bool = False
    sort: str | None = None
    reverse: bool = False


def choose(survey: Survey, wish: Wish) -> Survey:
    """Return the survey with the scores wanted, in the order wanted."""
    scores = [score for score in survey.scores if _wanted(score, wish)]
    scores.sort(key=lambda score: score.path)
    scores.sort(key=_order(wish))
    return replace(survey, scores=tuple(reversed(scores) if wish.reverse else scores))


def mix(measures: Measures) -> dict[str, float]:
    """Return which part of the notes each kind of figure has; ``NO_FIGURE`` stands for the notes of none."""
    parts = {one.kind: measures.share_of(one.kind) for one in measures.kinds}
    whole = max(1.0, sum(parts.values()))  # a note of two figures counts for both
    mixed = {kind: part / whole for kind, part in parts.items()}
    mixed[NO_FIGURE] = 1 - sum(mixed.values())
    return mixed


def likeness(one: Mapping[str, float], other: Mapping[str, float]) -> float:
    """Return how alike two mixes are, from 0 to 1."""
    return sum(min(part, other.get(kind, 0.0)) for kind, part in one.items())


def alike(score: Measured, like: Measured) -> float:
    """Return how alike the mixes of two scores are, from 0 to 1."""
    return likeness(mix(score.measures), mix(like.measures))


def _wanted(score: Measured, wish: Wish) -> bool:
    measures = score.measures
    return (
        (wish.kind is None or measures.drilled(wish.kind).figures > 0)
        and (wish.share is None or measures.share >= wish.share)
        and (wish.like is None or score.digest != wish.like.digest)
    )


def _order(wish: Wish) -> Callable[[Measured], float | str]:
    """Return what the order goes by, least first."""
    if wish.sort is not None:
        return _by_column(wish)
    if wish.easiest:
        return lambda score: score.effort
    if (like := wish.like) is not None:
        return lambda score: -round(alike(score, like), 9)
    if (kind := wish.kind) is not None:
        return lambda score: -score.measures.share_of(kind)
    return lambda score: -score.measures.share


def _by_column(wish: Wish) -> Callable[[Measured], float | str]:
    from annotator.survey.columns import columns_of

    columns = {column.key: column for column in columns_of(wish)}
    key = (wish.sort or "").strip().casefold().replace("_", "-").replace(" ", "-")
    if key not in columns:
        raise UsageError(f"there is no column {wish.sort!r}: the columns are {', '.join(columns)}")
    value = columns[key].value

    def place(score: Measured) -> float | str:
        """Return what a score is sorted by, words whatever their case."""
        found = value(score)
        return found.casefold() if isinstance(found, str) else found

    return place
