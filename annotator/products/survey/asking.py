"""From what is asked of a library to the scores wanted: survey it, choose, pick; for the command and for ``annotator.survey``."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

from annotator.errors import UsageError
from annotator.options.option import known
from annotator.options.settings import Options, rows_of
from annotator.products.survey.cache import opened_cache
from annotator.products.survey.choosing import choose
from annotator.products.survey.levels import levels_of
from annotator.products.survey.measures import Measured, Survey
from annotator.products.survey.picking import day_of, pick
from annotator.products.survey.practice_log import add, suggested_before
from annotator.products.survey.surveying import Engine, Surveying, one_score
from annotator.products.survey.wishes import Wish

SHAPES = ("out", "force", "json", "csv", "html", "quiet", "verbose", "debug")
"""The options of the command that say what becomes of a survey, not what it is."""


@dataclass(frozen=True, slots=True)
class Surveyed:
    """A library surveyed: all of it, what is wanted of it, how many files were read for it, and where the cache lies."""

    found: Survey
    wish: Wish
    read: int
    cache: str


def survey(*folders: Path | str, **options: Any) -> Survey:
    """Return the scores below folders, measured, chosen and ranked as ``annotator survey`` does.

    The options are those of the command, under the same names and with the same values; ``pick`` notes what it suggests in the practice
    log, as the command does. Raises an ``AnnotatorError``; a file that cannot be read is in ``failed``.

    >>> import annotator
    >>> found = annotator.survey(annotator.example().parent, kind="alberti-bass", no_cache=True, jobs=1)
    >>> found
    <Survey: 2 scores, 0 failed, 0 left out>
    >>> found.scores[0].measures.title, found.scores[0].measures.drills[0]
    ('A Letter by the Window', 'alberti-bass')
    """
    known(options, [row.name for row in rows_of("survey") if row.name not in SHAPES])
    asked = Options(**options)
    check(asked)
    at_work = surveyed([str(folder) for folder in folders], asked)
    wanted = chosen(at_work.found, at_work.wish, asked)
    note_pick(wanted, asked)
    return wanted


def check(options: Options) -> None:
    """Refuse wishes that contradict each other or name nothing."""
    for name in ("seed", "rising"):
        if getattr(options, name) and options.pick is None:
            raise UsageError(f"--{name} says how to --pick: give both")
    if options.pick is not None:
        _day(options)
    if options.kind is not None:
        from annotator.figures.registry import KINDS_BY_NAME
        from annotator.options.option import value_of
        from annotator.options.settings import row_of
        from annotator.words.meaning import kinds_meant

        value_of(row_of("kind"), options.kind, KINDS_BY_NAME, knows=kinds_meant)
        for kind in _kinds(options):
            if not KINDS_BY_NAME[kind].default:
                raise UsageError(f"{kind} is only looked for where it is asked for: a survey does not count it")


def surveyed(
    sources: Sequence[str],
    options: Options,
    advance: Callable[[int], None] = lambda _count: None,
    expect: Callable[[int], None] = lambda _count: None,
) -> Surveyed:
    """Return the survey of all scores below the sources, and the wish, both with what they need from the cache."""
    with opened_cache(not options.no_cache) as cache:
        at_work = Surveying(cache, advance, expect)
        like = _measured(Surveying(cache), options.like) if options.like is not None else None
        wish = Wish(_kinds(options), like, options.share, options.effort, options.easiest, options.sort, options.reverse)
        found = at_work.survey(sources, _engine(options))
    if options.levels is not None:
        wish = replace(wish, levels=levels_of(options.levels, found.scores))
    return Surveyed(found, wish, at_work.measured, cache.place)


def chosen(found: Survey, wish: Wish, options: Options) -> Survey:
    """Return the survey with the scores wanted, or with those picked of them."""
    wanted = choose(found, wish)
    if options.pick is not None:
        day = _day(options)
        from_these = [score for score in wanted.scores if not wish.kinds or score.measures.really_drills(wish.kinds)]
        drawn = pick(from_these, options.pick, day, suggested_before(day, from_these), options.rising)
        wanted = replace(wanted, scores=tuple(drawn))
        if options.sort is not None:
            wanted = choose(wanted, wish)
    return replace(wanted, scores=wanted.scores[: options.limit])


def note_pick(wanted: Survey, options: Options) -> None:
    """Write the pieces picked into the practice log, where some were asked for."""
    if options.pick is not None:
        add(_day(options), wanted.scores)


def _kinds(options: Options) -> tuple[str, ...]:
    """Return the kinds that are asked for; the figures are loaded only where some are."""
    if options.kind is None:
        return ()
    from annotator.words.meaning import all_meant

    return all_meant(options.kind)


def _engine(options: Options) -> Engine:
    """Return what does the work on files."""
    if options.cluster is not None:
        from annotator.products.survey.cluster import records as on_cluster

        return partial(on_cluster, address=options.cluster)
    from annotator.products.survey.workers import cores, records

    return partial(records, count=options.jobs or cores())


def _measured(at_work: Surveying, path: str) -> Measured:
    """Return the score that others are to be like."""
    from annotator.products.survey.workers import records

    return one_score(at_work, path, lambda jobs: records(jobs, 1))


def _day(options: Options) -> date:
    return day_of(options.seed) if options.seed is not None else date.today()
