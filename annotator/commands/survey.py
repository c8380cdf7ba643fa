"""``annotator survey``: what to practise next: every score below some folders, measured, chosen and ranked."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from annotator.commands.options import Given, file
from annotator.commands.streams import standard_output
from annotator.configuration import in_force
from annotator.errors import UsageError
from annotator.interrupts import heeding_interrupts
from annotator.running import INTERRUPTED, guarded
from annotator.settings import Call
from annotator.telling import tell

if TYPE_CHECKING:
    from annotator.survey.measures import Measured, Survey
    from annotator.survey.surveying import Engine, Surveying
    from annotator.survey.wishes import Wish

PAGE = "survey.html"
Folders = Annotated[list[str], typer.Argument(metavar="FOLDER…", help="Folders; every score below is looked at.", parser=file)]


def survey(folders: Folders, given: Given) -> None:
    """Rank a library by what its scores train and how hard they are to read. Nothing is engraved or written beside the scores."""
    codes = [0]
    try:
        guarded(lambda: codes.append(_run(folders, given)), Call(**given))
    except KeyboardInterrupt:
        tell("interrupted: what was read so far is kept for the next run")
        sys.exit(INTERRUPTED)
    if max(codes):
        sys.exit(max(codes))


def _run(folders: list[str], given: Given) -> int:
    """Survey, choose, print; return the exit code of the worst file."""
    typed = Call(**given)
    sources, page = _sources(folders, typed)
    options = in_force(Path(sources[0]), given).options
    _check(typed)
    found, wish = _surveyed(sources, options)
    chosen = _chosen(found, wish, options)
    _give_out(chosen, wish, options, page)
    if options.pick is not None:
        from annotator.survey.practice_log import add

        add(_day(options), chosen.scores)
    for failed in found.failed:
        tell(f"{failed.path}: {failed.message}")
    return max((failed.exit_code for failed in found.failed), default=0)


def _sources(folders: list[str], options: Call) -> tuple[list[str], str | None]:
    """Return what to survey and the file for the page, if one is named among the folders."""
    pages = [name for name in folders if options.html and name.lower().endswith((".html", ".htm")) and not Path(name).is_dir()]
    sources = [name for name in folders if name not in pages]
    if len(pages) > 1 or not sources:
        raise UsageError("survey takes folders and, with --html, one file for the page")
    return sources, pages[0] if pages else None


def _check(options: Call) -> None:
    """Refuse wishes that contradict each other or name nothing."""
    if options.json + options.csv + options.html > 1:
        raise UsageError("--json, --csv and --html are three shapes of one output: give one of them")
    if options.seed is not None and options.pick is None:
        raise UsageError("--seed says for which day to --pick: give both")
    if options.rising and options.pick is None:
        raise UsageError("--rising says how to --pick: give both")
    if options.kind is not None:
        from annotator.figures.registry import KINDS_BY_NAME

        for kind in _kinds(options):
            if not KINDS_BY_NAME[kind].default:
                raise UsageError(f"{kind} is only looked for where it is asked for: a survey does not count it")
    if options.pick is not None:
        _day(options)


def _surveyed(sources: list[str], options: Call) -> tuple[Survey, Wish]:
    """Return the survey of the sources and the wish, both with what they need from the cache."""
    from annotator.commands.survey_progress import progress_bar
    from annotator.survey.cache import opened_cache
    from annotator.survey.surveying import Surveying
    from annotator.survey.wishes import Wish

    with heeding_interrupts() as heed, opened_cache(not options.no_cache) as cache, progress_bar(options.quiet) as bar:

        def advance(count: int) -> None:
            """Move the bar on, and stop where an interrupt came that a library swallowed."""
            bar.advance(count)
            heed()

        at_work = Surveying(cache, advance, bar.expect)
        like = _measured(Surveying(cache), options.like) if options.like is not None else None
        wish = Wish(_kinds(options), like, options.share, options.effort, options.easiest, options.sort, options.reverse)
        found = at_work.survey(sources, _engine(options))
    if options.levels is not None:
        from annotator.survey.levels import levels_of

        wish = replace(wish, levels=levels_of(options.levels, found.scores))
    if options.verbose:
        count = len(found.scores) + len(found.left_out) + len(found.failed)
        tell(f"{count} files, {at_work.measured} of them read, the others known or copies; cache: {cache.place}")
        for left_out in found.left_out:
            tell(f"left out: {left_out.path}: {left_out.reason}")
    return found, wish


def _kinds(options: Call) -> tuple[str, ...]:
    """Return the kinds that are asked for; the figures are loaded only where some are."""
    if options.kind is None:
        return ()
    from annotator.words.meaning import all_meant

    return all_meant(options.kind)


def _engine(options: Call) -> Engine:
    """Return what does the work on files."""
    from functools import partial

    if options.cluster is not None:
        from annotator.survey.cluster import records as on_cluster

        return partial(on_cluster, address=options.cluster)
    from annotator.survey.workers import cores, records

    return partial(records, count=options.jobs or cores())


def _measured(at_work: Surveying, path: str) -> Measured:
    """Return the score that others are to be like."""
    from annotator.survey.surveying import one_score
    from annotator.survey.workers import records

    return one_score(at_work, path, lambda jobs: records(jobs, 1))


def _chosen(found: Survey, wish: Wish, options: Call) -> Survey:
    """Return the survey with the scores wanted."""
    from annotator.survey.choosing import choose

    chosen = choose(found, wish)
    if options.pick is not None:
        from annotator.survey.picking import pick
        from annotator.survey.practice_log import suggested_before

        day = _day(options)
        from_these = [score for score in chosen.scores if not wish.kinds or score.measures.really_drills(wish.kinds)]
        drawn = pick(from_these, options.pick, day, suggested_before(day, from_these), options.rising)
        chosen = replace(chosen, scores=tuple(drawn))
        if options.sort is not None:
            chosen = choose(chosen, wish)
    return replace(chosen, scores=chosen.scores[: options.limit])


def _day(options: Call) -> date:
    from annotator.survey.picking import day_of

    return day_of(options.seed) if options.seed is not None else date.today()


def _give_out(chosen: Survey, wish: Wish, options: Call, page: str | None) -> None:
    """Print the survey in the shape asked for."""
    from annotator.survey import tables

    stream, language = standard_output(), options.language
    if options.json:
        stream.writelines(tables.to_json(chosen, wish))
    elif options.csv:
        stream.write(tables.to_csv(chosen, wish))
    elif options.html:
        _page(chosen, options, page)
    elif stream.isatty():
        from annotator.survey.terminal import print_pieces, print_table

        if options.pick is not None:
            print_pieces(chosen, language, stream)
        else:
            print_table(chosen, wish, language, stream)
    else:
        stream.write(tables.to_table(chosen, wish, language))
    stream.flush()


def _page(chosen: Survey, options: Call, page: str | None) -> None:
    """Write the page to its file, or to standard output where that goes to a file or a pipe and no file is named."""
    from annotator.survey.page import survey_page
    from annotator.writing.files import make_folder, write_file

    text = survey_page(chosen, options.language)
    stream = standard_output()
    if page is None and options.out is None and not stream.isatty():
        stream.write(text)
        return
    path = Path(options.out or ".", page or PAGE)
    make_folder(path.parent)
    write_file(path, text.encode(), force=options.force)
    if not options.quiet:
        tell(f"{path} written")
