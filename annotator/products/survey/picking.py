"""The pieces for today: a varied few from a library, from easy to hard, not those of the last time.

Conventions
-----------
* A day is an ISO date (``2026-11-25``). Pieces are drawn by chance, but the chance comes from the day: the same day, library and practice
  log of the days before give the same pieces, so asking again on one day gives them again.
* Copies of one content are one piece.

Rule
----
The pieces of the last day in the log stay out, and so does what is shorter than ``SHORTEST`` bars. The others are put in order of effort
and cut into as many stretches as pieces are wanted; one is drawn from each: rather one that was not suggested lately, then one whose main
figure is not in the set yet, then one whose composer is not, then by chance. Where the library is too small, what stayed out fills up.

*Rising*, a step harder from day to day: the pieces are drawn from the next ones above the middle effort of the last day, twice as many as
are wanted; on the first day from the easiest, and at the top from the hardest.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise
from random import Random
from statistics import fmean

from annotator.errors import UsageError
from annotator.products.survey.measures import Measured

SHORTEST = 8  # bars of a piece
LATELY = 7  # days in which a piece is rather not drawn again, in a library that is large enough


@dataclass(slots=True)
class Drawn:
    """The pieces drawn so far, and what they drill and who wrote them."""

    scores: list[Measured] = field(default_factory=list)
    kinds: Counter[tuple[str, ...]] = field(default_factory=Counter)
    composers: Counter[str] = field(default_factory=Counter)

    def take(self, score: Measured) -> None:
        """Take one more piece."""
        self.scores.append(score)
        self.kinds[_main(score)] += 1
        self.composers[score.measures.composer.casefold()] += bool(score.measures.composer)


def day_of(seed: str) -> date:
    """Return the day that a seed names."""
    try:
        return date.fromisoformat(seed.strip())
    except ValueError:
        raise UsageError(f"a seed is a day, written 2026-11-25, not {seed!r}") from None


def pick(scores: Sequence[Measured], count: int, day: date, log: Mapping[str, date], rising: bool = False) -> list[Measured]:
    """Return so many pieces for a day, easy ones first. ``log`` tells on which earlier day each path was last suggested.

    ``rising``: they are a step harder than those of the last day.
    """
    unlike = {score.digest: score for score in sorted(scores, key=lambda one: one.path, reverse=True)}
    pieces = sorted(unlike.values(), key=lambda one: one.path)
    chance = Random(f"annotator {day.isoformat()}")
    chance.shuffle(pieces)
    last = max(log.values(), default=None)
    out = [score for score in pieces if (last is not None and log.get(score.path) == last) or score.measures.bars < SHORTEST]
    fresh = [score for score in pieces if score not in out]
    if rising:
        fresh = _next_above([score for score in out if log.get(score.path) == last], fresh, 2 * count)
    if len(fresh) < count:
        out.sort(key=lambda score: score.measures.bars < SHORTEST)
        return sorted([*fresh, *out[: count - len(fresh)]], key=_by_effort)
    drawn = Drawn()
    days = min(LATELY, len(fresh) // (2 * count))  # so that half the library is left to draw from
    lately = {path for path, before in log.items() if (day - before).days <= days}
    for stretch in _stretches(fresh, count):
        drawn.take(min(stretch, key=lambda score: _place(score, drawn, lately)))
    return sorted(drawn.scores, key=_by_effort)


def _next_above(before: Sequence[Measured], pieces: Sequence[Measured], count: int) -> list[Measured]:
    """Return the pieces that come next above the middle effort of those of the last day; at the top, the hardest."""
    reached = fmean(score.effort for score in before) if before else 0.0
    ranked = sorted(pieces, key=_by_effort)
    above = sum(score.effort <= reached for score in ranked)
    return ranked[max(0, min(above, len(ranked) - count)) :][:count]


def _stretches(pieces: Sequence[Measured], count: int) -> list[list[Measured]]:
    """Return the pieces cut by effort into stretches of about one length, each in the order of chance."""
    order = {score.path: place for place, score in enumerate(pieces)}
    ranked = sorted(pieces, key=_by_effort)
    edges = [round(place * len(ranked) / count) for place in range(count + 1)]
    return [sorted(ranked[start:stop], key=lambda one: order[one.path]) for start, stop in pairwise(edges)]


def _by_effort(score: Measured) -> tuple[float, str]:
    return score.effort, score.path


def _main(score: Measured) -> tuple[str, ...]:
    """Return the kind that a piece drills most; none: nothing."""
    return score.measures.drills[:1]


def _place(score: Measured, drawn: Drawn, lately: Set[str]) -> tuple[bool, int, int]:
    """Return what a piece is drawn by, least first; of equals the first in the order of chance is drawn."""
    return score.path in lately, drawn.kinds[_main(score)], drawn.composers[score.measures.composer.casefold()]
