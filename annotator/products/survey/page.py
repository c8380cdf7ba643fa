"""The page of a survey: one self-contained HTML file with a scatter, a bar chart and a sortable table.

Conventions: the page opens from disk and asks for nothing else; a content security policy in it allows just its own style sheet and script,
known by their digests. Everything that comes from scores, paths and messages is escaped. The same survey gives the same bytes.

Without the script all is there to read; sorting, finding, and going from a dot to its row are what the script adds.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Iterator
from functools import cache
from html import escape
from importlib.resources import files

from annotator.products.survey.effort import FACTORS
from annotator.products.survey.kinds_chart import kinds_chart, notes_by_kind
from annotator.products.survey.measures import Survey
from annotator.products.survey.page_table import table, title_of
from annotator.products.survey.scatter import Dot, scatter
from annotator.words.survey import effort_words, number, survey_word


def survey_page(survey: Survey, language: str = "en") -> str:
    """Return the page of a survey as HTML text; ``language`` is one of ``settings.LANGUAGES``."""
    return "\n".join([*_head(language), *_header(survey, language), *_main(survey, language), *_asides(survey, language), *_end()])


@cache
def _part(name: str) -> str:
    """Return the style sheet or the script that lies beside this module."""
    return files("annotator.products.survey").joinpath(name).read_text(encoding="utf-8")


def _digest(text: str) -> str:
    """Return a text's digest as a content security policy names it."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _head(language: str) -> Iterator[str]:
    style, script = _part("page.css"), _part("page.js")
    policy = f"default-src 'none'; style-src {_digest(style)}; script-src {_digest(script)}; base-uri 'none'; form-action 'none'"
    yield "<!DOCTYPE html>"
    yield f'<html lang="{language}">'
    yield '<head>\n<meta charset="utf-8">\n<meta name="generator" content="annotator">'
    yield f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f"<title>{escape(survey_word('heading', language))}</title>"
    yield f"<style>{style}</style>\n</head>\n<body>"


def _header(survey: Survey, language: str) -> Iterator[str]:
    notes = sum(score.measures.notes for score in survey.scores)
    to_read = sum(score.measures.to_read for score in survey.scores)
    grey = number(100 * (1 - to_read / notes) if notes else 0, 0, language)
    counts = {"scores": number(len(survey.scores), 0, language), "notes": number(notes, 0, language), "grey": grey}
    yield f"<header>\n<h1>{escape(survey_word('heading', language))}</h1>"
    yield f"<p>{escape(survey_word('summary', language).format(**counts))}</p>\n</header>\n<main>"


def _main(survey: Survey, language: str) -> Iterator[str]:
    """Yield the charts and the table, or one line that says that there is nothing to show."""
    if not survey.scores:
        yield f"<p>{escape(survey_word('nothing', language))}</p>\n</main>"
        return
    dots = [Dot(rank, title_of(score), score.effort, score.measures.share) for rank, score in enumerate(survey.scores)]
    yield '<div class="charts">'
    yield from _section("scatter", language, scatter(dots, language) + _what_effort(language))
    if kinds := notes_by_kind(survey.scores):
        yield from _section("kinds", language, kinds_chart(kinds, language))
    yield "</div>"
    name = escape(survey_word("table", language))
    region = f'<div class="region" tabindex="0" role="region" aria-label="{name}">\n{table(survey.scores, language)}\n</div>'
    yield from _section("table", language, _tools(len(survey.scores), language) + region)
    yield "</main>"


def _what_effort(language: str) -> str:
    sentences = effort_words([(factor.word, factor.weight) for factor in FACTORS], language)
    summary = escape(survey_word("what-effort", language))
    return f'\n<details id="effort" open><summary>{summary}</summary><p class="note">{escape(sentences)}</p></details>'


def _section(word: str, language: str, content: str) -> Iterator[str]:
    yield f"<section>\n<h2>{escape(survey_word(word, language))}</h2>"
    yield f'<p class="note hint">{escape(survey_word(f"{word}-note", language))}</p>'
    yield f"{content}\n</section>"


def _tools(count: int, language: str) -> str:
    words = survey_word("shown", language)
    find, hint = escape(survey_word("filter", language)), escape(survey_word("filter-hint", language))
    return (
        f'<div class="tools"><label for="find">{find}</label>'
        f'<input id="find" type="search" placeholder="{hint}" autocomplete="off" spellcheck="false">'
        f'<span id="shown" role="status" data-words="{escape(words)}">{escape(words.format(shown=count, all=count))}</span>'
        f'<button id="all" type="button" hidden>{escape(survey_word("all", language))}</button></div>\n'
    )


def _asides(survey: Survey, language: str) -> Iterator[str]:
    yield '<footer class="asides">'
    failed = (f"{one.path}: {one.message}" for one in survey.failed)
    left_out = (f"{one.path}: {one.reason}" for one in survey.left_out)
    yield from _list("failed", len(survey.failed), failed, language)
    yield from _list("left-out", len(survey.left_out), left_out, language)
    yield "</footer>"


def _list(word: str, count: int, lines: Iterable[str], language: str) -> Iterator[str]:
    if count:
        summary = survey_word(word, language).format(count=number(count, 0, language))
        items = "".join(f"<li><bdi>{escape(line)}</bdi></li>" for line in lines)
        yield f"<details><summary>{escape(summary)}</summary><ul>{items}</ul></details>"


def _end() -> Iterator[str]:
    yield f"<script>{_part('page.js')}</script>\n</body>\n</html>\n"
