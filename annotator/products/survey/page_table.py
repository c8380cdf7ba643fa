"""The table of a survey's page: one row a score, a column a measure, what else is known of it behind its title.

Conventions: rows come ranked as the survey has them; the number of a row is its rank, from 0. ``data-value`` of a cell is what it is sorted
by: the exact number, or the text. Everything from the scores is escaped.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from pathlib import PurePath
from unicodedata import combining, normalize

from annotator.products.survey.effort import FACTORS
from annotator.products.survey.measures import HandMeasures, Measured
from annotator.products.survey.tables import drills_words
from annotator.words import kind_name
from annotator.words.survey import key_words, number, survey_word


@dataclass(frozen=True, slots=True)
class Column:
    """A column of numbers: its word, the number of a score, and with how many decimals it is shown."""

    word: str
    value: Callable[[Measured], float]
    places: int


NUMBERS = (
    Column("effort", lambda score: score.effort, 0),
    Column("share", lambda score: 100 * score.measures.share, 0),
    Column("notes", lambda score: score.measures.notes, 0),
    Column("to-read", lambda score: score.measures.to_read, 0),
    Column("bars", lambda score: score.measures.bars, 0),
    Column("density", lambda score: score.measures.density, 1),
    Column("signs", lambda score: score.measures.signs_in_100, 0),
    Column("odd", lambda score: score.measures.odd_in_100, 1),
)
"""The columns of numbers, from left to right."""

WORDS = ("title", "composer", "drills")


def title_of(score: Measured) -> str:
    """Return the title in one line; a score without one is called by its file's name."""
    return " ".join(score.measures.title.split()) or PurePath(score.path).stem


def table(scores: Sequence[Measured], language: str) -> str:
    """Return the table as HTML."""
    return "\n".join(
        [
            '<table id="scores">',
            f'<caption class="unseen">{escape(survey_word("table", language))}</caption>',
            f"<thead><tr>{''.join(_headings(language))}</tr></thead>",
            "<tbody>",
            *(_row(rank, score, language) for rank, score in enumerate(scores)),
            "</tbody>",
            "</table>",
        ]
    )


def _headings(language: str) -> Iterator[str]:
    for word in WORDS:
        yield f'<th scope="col" class="{word}" data-sort="text"><button type="button">{escape(survey_word(word, language))}</button></th>'
    for column in NUMBERS:
        word = escape(survey_word(column.word, language))
        yield f'<th scope="col" class="number" data-sort="number"><button type="button">{word}</button></th>'


def _row(rank: int, score: Measured, language: str) -> str:
    title, composer = title_of(score), " ".join(score.measures.composer.split())
    drills = drills_words(score, language)
    every = [kind_name(one.kind, language) for one in score.measures.kinds]
    found_by = escape(without_accents("\n".join([title, composer, score.path, *every])))
    cells = [
        f'<th scope="row" data-value="{escape(title)}"><details><summary><bdi>{escape(title)}</bdi></summary>'
        f"{_more(score, language)}</details></th>",
        f'<td class="composer" data-value="{escape(composer)}"><bdi>{escape(composer)}</bdi></td>',
        f'<td class="drills" data-value="{escape(drills)}">{escape(drills)}</td>',
        *(
            f'<td class="number" data-value="{column.value(score):.9g}">{number(column.value(score), column.places, language)}</td>'
            for column in NUMBERS
        ),
    ]
    return f'<tr id="row-{rank}" data-rank="{rank}" data-find="{found_by}">{"".join(cells)}</tr>'


def without_accents(text: str) -> str:
    """Return a text as the page looks for it: small letters, without what stands above or below them.

    >>> without_accents("Réunion, Brahms: Größe")
    'reunion, brahms: grosse'
    """
    return "".join(sign for sign in normalize("NFD", text.casefold()) if not combining(sign))


def _more(score: Measured, language: str) -> str:
    """Return what is behind a title: the keys, the hands, the figures, the file."""
    measures = score.measures
    keys = [
        survey_word("key", language).format(key=key_words(key.tonic, key.minor, language), bars=number(key.bars, 0, language))
        for key in measures.keys
    ]
    kinds = [
        survey_word("figure", language).format(
            kind=kind_name(one.kind, language), figures=number(one.figures, 0, language), notes=number(one.notes, 0, language)
        )
        for one in measures.kinds
    ]
    points = [f"{survey_word(factor.word, language)}: {number(factor.points(measures), 0, language)}/{factor.weight}" for factor in FACTORS]
    rows = (
        ("points", [", ".join(points)]),
        ("figures", kinds or [survey_word("no-figures", language)]),
        ("keys", keys),
        ("right", [_hand(measures.right, language)]),
        ("left", [_hand(measures.left, language)]),
        ("file", [score.path]),
    )
    lines = (
        f"<div><dt>{escape(survey_word(word, language))}</dt><dd>{' · '.join(f'<bdi>{escape(line)}</bdi>' for line in texts)}</dd></div>"
        for word, texts in rows
        if texts
    )
    return f"<dl>{''.join(lines)}</dl>"


def _hand(hand: HandMeasures, language: str) -> str:
    if not hand.notes:
        return survey_word("silent", language)
    return survey_word("hand", language).format(compass=hand.compass, reach=hand.reach, lines=hand.ledger_lines)
