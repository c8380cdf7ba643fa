"""What is wanted of a library, as data."""

from __future__ import annotations

from dataclasses import dataclass

from annotator.survey.measures import Measured


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
