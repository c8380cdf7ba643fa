"""What is wanted of a library, as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from annotator.options.option import Between
from annotator.products.survey.measures import Measured


@dataclass(frozen=True, slots=True)
class Wish:
    """What is wanted of a library.

    ``kinds``: scores that drill one of them, those with the greatest part of their notes in them first. ``like``: scores with the same mix
    of figures as this one and about its effort, the most alike first, itself left out. ``share``: at least so many notes in 100 grey.
    ``effort``: a bar of it takes so much. ``easiest``: least effort first. ``sort`` names a column, which then decides the order;
    ``reverse`` turns the order round. ``levels`` are the owner's own of the scores, by their paths; None: there is no such list.
    """

    kinds: tuple[str, ...] = ()
    like: Measured | None = None
    share: float | None = None
    effort: Between | None = None
    easiest: bool = False
    sort: str | None = None
    reverse: bool = False
    levels: Mapping[str, str] | None = None
