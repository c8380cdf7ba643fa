"""What the shell offers for the value of an option: names that are there, found only when it asks.

Conventions: a function gets what has been typed so far and returns the whole words that begin so. In a list with commas it is the last
word that is completed. Where nothing fits, a shell goes on to offer files.
"""

from __future__ import annotations

from collections.abc import Iterable

from annotator.settings import BREAKS, HANDS, LANGUAGES, MOST_STEPS, PAPERS


def beginning(typed: str, words: Iterable[str]) -> list[str]:
    """Return the words that begin as typed.

    >>> beginning("a4", ("a4", "letter", "a4-landscape"))
    ['a4', 'a4-landscape']
    """
    return [word for word in words if word.startswith(typed)]


def continuing(typed: str, words: Iterable[str]) -> list[str]:
    """Return the lists with commas that go on from what was typed, by a word that is not in it yet.

    >>> continuing("trill,tr", ("trill", "tremolo", "turn"))
    ['trill,tremolo']
    """
    *before, last = typed.split(",")
    return [",".join([*before, word]) for word in beginning(last, words) if word not in before]


def style_names(incomplete: str) -> list[str]:
    """Offer the styles that come with the program."""
    from annotator.style import names

    return beginning(incomplete, names())


def kind_names(incomplete: str) -> list[str]:
    """Offer the kinds of figures, one or a list of them."""
    from annotator.figures.registry import KINDS_BY_NAME

    return continuing(incomplete, KINDS_BY_NAME)


def paper_names(incomplete: str) -> list[str]:
    """Offer the papers."""
    return beginning(incomplete, PAPERS)


def language_names(incomplete: str) -> list[str]:
    """Offer the languages."""
    return beginning(incomplete, LANGUAGES)


def hand_names(incomplete: str) -> list[str]:
    """Offer the hands."""
    return beginning(incomplete, HANDS)


def breaks_names(incomplete: str) -> list[str]:
    """Offer the ways of breaking lines."""
    return beginning(incomplete, BREAKS)


def format_names(incomplete: str) -> list[str]:
    """Offer the pictures there can be besides MusicXML and PDF."""
    return continuing(incomplete, ("svg", "png"))


def part_names(incomplete: str) -> list[str]:
    """Offer the one word that is no name of a part."""
    return beginning(incomplete, ("all",))


def step_numbers(incomplete: str) -> list[str]:
    """Offer the lengths of a practice series."""
    return beginning(incomplete, (str(number) for number in range(1, MOST_STEPS + 1)))
