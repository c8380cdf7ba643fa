"""Choosing from a survey: which scores are wanted, and in which order.

Conventions
-----------
* Shares and efforts are compared as the table shows them: what is shown as 50 is 50. Equals stand in the order of their paths.
* Without a wish the scores that follow from patterns the most come first.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from annotator.errors import UsageError
from annotator.products.survey.columns import columns_of
from annotator.products.survey.likeness import alike
from annotator.products.survey.measures import Measured, Survey
from annotator.products.survey.wishes import Wish


def choose(survey: Survey, wish: Wish) -> Survey:
    """Return the survey with the scores wanted, in the order wanted."""
    scores = [score for score in survey.scores if _wanted(score, wish)]
    scores.sort(key=lambda score: score.path)
    scores.sort(key=_order(wish))
    return replace(survey, scores=tuple(reversed(scores) if wish.reverse else scores))


def _wanted(score: Measured, wish: Wish) -> bool:
    measures = score.measures
    return (
        (not wish.kinds or measures.share_of(*wish.kinds) > 0)
        and (wish.share is None or round(100 * measures.share) >= wish.share)
        and (wish.effort is None or round(score.effort, 1) in wish.effort)
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
    if wish.kinds:
        return lambda score: -score.measures.share_of(*wish.kinds)
    return lambda score: -score.measures.share


def _by_column(wish: Wish) -> Callable[[Measured], float | str]:
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
