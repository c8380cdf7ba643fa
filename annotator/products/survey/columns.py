"""The columns of a survey: what each says of a score, in which order they give way when a terminal is narrow.

Conventions
-----------
* ``value`` is the exact number or the text for programs, ``text`` what people read. Shares are shown in 100.
* ``rank`` is how long a column stays when there is no room: the least stay longest.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import inf
from pathlib import PurePath

from annotator.products.survey.likeness import alike
from annotator.products.survey.measures import HandMeasures, KeyUsed, Measured
from annotator.products.survey.wishes import Wish
from annotator.words import kind_name
from annotator.words.survey import key_words, number


@dataclass(frozen=True, slots=True)
class Column:
    """One column. ``places`` are the decimals of a number, None for a text; ``shown_as`` makes the text for people from a score."""

    key: str
    rank: int
    value: Callable[[Measured], float | str]
    places: int | None = None
    factor: float = 1
    shown_as: Callable[[Measured, str], str] | None = None

    def text(self, score: Measured, language: str = "en") -> str:
        """Return what people read."""
        if self.shown_as is not None:
            return self.shown_as(score, language)
        value = self.value(score)
        return printable(value) if isinstance(value, str) else number(self.factor * value, self.places or 0, language)


def printable(text: str) -> str:
    """Return a text in one line, with a question mark for what steers a terminal or cannot be seen."""
    return "".join(sign if sign.isprintable() else "?" for sign in " ".join(text.split()))


def title_of(score: Measured) -> str:
    """Return the title in one line; a score without one is called by its file's name."""
    return " ".join(score.measures.title.split()) or PurePath(score.path).stem


def key_name(key: KeyUsed) -> str:
    """Return the name of a key for programs: ``Bb major``."""
    return f"{key.tonic} {'minor' if key.minor else 'major'}"


def drills_words(score: Measured, language: str) -> str:
    """Return the names of the kinds that a score really drills, nothing where there is none."""
    return ", ".join(kind_name(kind, language) for kind in score.measures.drills)


def level_of(levels: Mapping[str, str]) -> Column:
    """Return the column of the owner's own levels: of numbers, where all of them are numbers."""
    numbers = all(level.replace(".", "", 1).isdecimal() for level in levels.values())

    def value(score: Measured) -> float | str:
        """Return the level of a score; one without comes last."""
        said = levels.get(score.path)
        return said or "" if not numbers else inf if said is None else float(said)

    return Column("level", 1, value, 0 if numbers else None, shown_as=lambda score, _language: printable(levels.get(score.path, "–")))


def _keys(score: Measured, language: str) -> str:
    """Return the home key and those that are in force in a tenth of the bars or more."""
    keys = score.measures.keys
    told = [key for key in keys if key is keys[0] or 10 * key.bars >= score.measures.bars]
    return ", ".join(key_words(key.tonic, key.minor, language) for key in told)


def _hand(key: str, rank: int, hand: Callable[[Measured], HandMeasures], of: Callable[[HandMeasures], int]) -> Column:
    return Column(key, rank, lambda score: of(hand(score)), 0)


def _hands() -> list[Column]:
    def right(score: Measured) -> HandMeasures:
        """Return the measures of the right hand."""
        return score.measures.right

    def left(score: Measured) -> HandMeasures:
        """Return the measures of the left hand."""
        return score.measures.left

    return [
        _hand("right-compass", 13, right, lambda hand: hand.compass),
        _hand("left-compass", 14, left, lambda hand: hand.compass),
        _hand("right-reach", 15, right, lambda hand: hand.reach),
        _hand("left-reach", 16, left, lambda hand: hand.reach),
        _hand("right-ledger", 17, right, lambda hand: hand.ledger_lines),
        _hand("left-ledger", 18, left, lambda hand: hand.ledger_lines),
    ]


COLUMNS: tuple[Column, ...] = (
    Column("title", 0, title_of),
    Column("composer", 8, lambda score: " ".join(score.measures.composer.split())),
    Column("effort", 1, lambda score: score.effort, 1),
    Column("effort-in-all", 4, lambda score: score.effort_in_all, 0),
    Column("share", 2, lambda score: round(score.measures.share, 4), 0, 100),
    Column("drills", 3, lambda score: "; ".join(score.measures.drills), shown_as=lambda *told: drills_words(*told) or "–"),
    Column("bars", 6, lambda score: score.measures.bars, 0),
    Column("notes", 4, lambda score: score.measures.notes, 0),
    Column("to-read", 5, lambda score: score.measures.to_read, 0),
    Column("density", 7, lambda score: round(score.measures.density, 3), 1),
    Column("odd", 10, lambda score: round(score.measures.odd_in_100, 3), 1),
    Column("signs", 9, lambda score: round(score.measures.signs_in_100, 3), 0),
    Column("keys", 12, lambda score: "; ".join(key_name(key) for key in score.measures.keys), shown_as=_keys),
    *_hands(),
    Column("file", 0, lambda score: score.path),
)
"""The columns of every survey, from left to right."""
PLACE_OF_LEVELS = 1 + [column.key for column in COLUMNS].index("effort-in-all")  # beside the effort


def columns_of(wish: Wish) -> tuple[Column, ...]:
    """Return the columns of a choice: those of every survey, and what the wish asks about, behind the title."""
    asked: list[Column] = []
    if (like := wish.like) is not None:
        asked.append(Column("likeness", 0, lambda score: round(alike(score, like), 4), 0, 100))
    if wish.kinds:
        asked.append(Column("drilled", 0, lambda score: round(score.measures.share_of(*wish.kinds), 4), 0, 100))
    levels = () if wish.levels is None else (level_of(wish.levels),)
    return (COLUMNS[0], *asked, *COLUMNS[1:PLACE_OF_LEVELS], *levels, *COLUMNS[PLACE_OF_LEVELS:])
