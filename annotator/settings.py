"""The options of a run, as one frozen value that every stage may read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

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
    Lists and what is typed on a command line are taken, too. Raises ``UsageError`` for a value that is none; kinds are looked up where
    figures are looked for.

    >>> options = Options(kinds="scale-run,arpeggio", bars="5-12", language="de")
    >>> options.kinds, options.bars
    (('scale-run', 'arpeggio'), ('5', '12'))
    >>> Options(hand="rigth")
    Traceback (most recent call last):
    annotator.errors.UsageError: there is no hand 'rigth': did you mean 'right'?
    """

    kinds: tuple[str, ...] | None = None
    without: tuple[str, ...] = ()
    hand: str = "both"
    bars: tuple[str, str] | None = None
    shortest: int = 5
    language: str = "en"
    parts: tuple[str, ...] | None = None

    def __post_init__(self) -> None:
        """Make tuples of lists and of text, and refuse what is no value."""
        for name in ("kinds", "without", "parts"):
            given = getattr(self, name)
            if given is not None:
                object.__setattr__(self, name, words_of(given))
        if self.bars is not None:
            object.__setattr__(self, "bars", parse_bars(self.bars if isinstance(self.bars, str) else "-".join(map(str, self.bars))))
        checked_choice("hand", self.hand, HANDS)
        checked_choice("language", self.language, LANGUAGES)


def options_of(given: Mapping[str, Any]) -> Options:
    """Return options from their fields by name, those of a user: unknown names and runs too short to be named are refused."""
    known(given, Options.__slots__)
    shortest = given.get("shortest", FEWEST_OF_A_RUN)
    if not isinstance(shortest, int) or shortest < FEWEST_OF_A_RUN:
        raise UsageError(f"a run has at least {FEWEST_OF_A_RUN} notes: shortest = {shortest} is too few")
    return Options(**given)


def known(given: Iterable[str], names: Iterable[str]) -> None:
    """Raise a ``UsageError`` for a name that is no setting, with the one that was probably meant."""
    settings = list(names)
    for name in given:
        if name not in settings:
            raise UsageError(f"there is no setting {name!r}: {nearest(name, settings) or 'they are ' + ', '.join(settings)}")


def words_of(given: str | Iterable[str]) -> tuple[str, ...]:
    """Return words given as a list, or as text with commas.

    >>> words_of("trill, turn"), words_of(["trill"])
    (('trill', 'turn'), ('trill',))
    """
    return tuple(word.strip() for word in given.split(",") if word.strip()) if isinstance(given, str) else tuple(given)


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
