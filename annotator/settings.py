"""The options of a run, as one frozen value that every stage may read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from annotator.errors import UsageError

LANGUAGES = ("en", "de", "fr", "it")
HANDS = ("right", "left", "both")
PAPERS = ("a4", "letter", "a4-landscape", "tablet")
BREAKS = ("even", "source")
FORMATS = ("musicxml", "pdf", "svg", "png")
MOST_STEPS = 3  # copies of a practice series
FEWEST_OF_A_RUN = 4  # the least that ``Options.shortest`` may be: a shorter run costs more to read as a label than it saves


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


def checked_choice(what: str, value: str, allowed: Iterable[str]) -> str:
    """Return ``value`` if it is allowed; else raise a ``UsageError`` that names the nearest choice, or all of them."""
    choices = list(allowed)
    if value in choices:
        return value
    raise UsageError(f"there is no {what} {value!r}: {nearest(value, choices) or 'choose among ' + ', '.join(choices)}")


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the question for the known word that was probably meant, in whatever case it was written; none is near: nothing.

    >>> nearest("Scale-Runs", ("scale-run", "trill")), nearest("x", ("trill",))
    ("did you mean 'scale-run'?", '')
    """
    from difflib import get_close_matches

    near = get_close_matches(word.lower(), list(known), 1)
    return f"did you mean {near[0]!r}?" if near else ""


def parse_bars(text: str) -> tuple[str, str]:
    """Return the first and last printed bar number of ``5-12``, or of ``5`` alone.

    >>> parse_bars("5-12"), parse_bars("7")
    (('5', '12'), ('7', '7'))
    """
    first, dash, last = (word.strip() for word in text.partition("-"))
    if not first or (dash and not last):
        raise UsageError(f"bars {text!r} make no range: write them as 5-12")
    return first, last or first
