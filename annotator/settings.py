"""The options of a run, as one frozen value that every stage may read."""

from __future__ import annotations

from dataclasses import dataclass

LANGUAGES = ("en", "de", "fr", "it")
HANDS = ("right", "left", "both")


@dataclass(frozen=True, slots=True)
class Options:
    """What to look for and where.

    ``kinds`` names the figure kinds wanted (None: all that are on by default), ``without`` those not wanted. ``hand`` is ``right``,
    ``left`` or ``both``. ``bars`` is a pair of printed bar numbers, first and last, or None for the whole piece. ``shortest`` is the
    fewest notes of a run. ``language`` is one of ``LANGUAGES``. ``parts`` is None (keyboard parts), ``("all",)`` or part names.
    """

    kinds: tuple[str, ...] | None = None
    without: tuple[str, ...] = ()
    hand: str = "both"
    bars: tuple[str, str] | None = None
    shortest: int = 5
    language: str = "en"
    parts: tuple[str, ...] | None = None
