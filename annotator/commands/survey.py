"""``annotator survey``: what to practise next: every score below some folders, measured, chosen and ranked."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from annotator.commands.completion import kind_names
from annotator.commands.options import Debug, Force, Jobs, Language, Quiet, Verbose, given_flags
from annotator.commands.streams import standard_output
from annotator.commands.values import file, whole
from annotator.errors import UsageError
from annotator.interrupts import heeding_interrupts
from annotator.running import INTERRUPTED, Shown, guarded
from annotator.telling import tell

if TYPE_CHECKING:
    from annotator.survey.measures import Measured, Survey
    from annotator.survey.surveying import Engine, Surveying
    from annotator.survey.wishes import Wish

PAGE = "survey.html"


def survey(
    folders: Annotated[list[str], typer.Argument(metavar="FOLDER…", help="Folders; every score below is looked at.", parser=file)],
    kind: Annotated[
        str | None,
        typer.Option(help="Scores that drill this kind of figure, best first.", metavar="KIND", autocompletion=kind_names),
    ] = None,
    easiest: Annotated[bool, typer.Option("--easiest", help="Least reading effort first.")] = False,
    like: Annotated[str | None, typer.Option(help="Scores with the same mix of figures, most alike first.", metavar="SCORE")] = None,
    share: Annotated[
        float | None, typer.Option(help="Only scores of which at least this part is grey: 0.5.", metavar="PART", min=0, max=1)
    ] = None,
    pick: Annotated[int | None, typer.Option(help="So many pieces for today, easy to hard.", metavar="N", parser=whole(1))] = None,
    seed: Annotated[str | None, typer.Option(help="The day to pick for, as 2026-11-25 (default: today).", metavar="DATE")] = None,
    sort: Annotated[str | None, typer.Option(help="Order by this column (listed below), least first.", metavar="COLUMN")] = None,
    reverse: Annotated[bool, typer.Option("--reverse", help="Turn the order round.")] = False,
    limit: Annotated[int | None, typer.Option(help="Show the first so many only.", metavar="N", parser=whole(1))] = None,
    json: Annotated[bool, typer.Option("--json", help="Print all that is known as JSON.")] = False,
    csv: Annotated[bool, typer.Option("--csv", help="Print one line a score, with commas.")] = False,
    html: Annotated[
        bool, typer.Option("--html", help=f"Write a page with charts: to FILE.html if one is named, else {PAGE} or standard output.")
    ] = False,
    out: Annotated[Path | None, typer.Option("--out", help=f"Folder for the page ({PAGE}).", metavar="FOLDER")] = None,
    cluster: Annotated[
        str | None, typer.Option(help="Have the scores read by the workers of this dask scheduler.", metavar="ADDRESS")
    ] = None,
    jobs: Jobs = None,
    no_cache: Annotated[bool, typer.Option("--no-cache", help="Read every file anew, and keep nothing.")] = False,
    language: Language = None,
    force: Force = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,
) -> None:
    """Rank a library by what its scores train and how hard they are to read. Nothing is engraved or written beside the scores."""
    shown = Shown(quiet, verbose, debug)
    flags = given_flags({name: value for name, value in locals().items() if name not in ("shown", "folders")})
    codes = [0]
    try:
        guarded(lambda: codes.append(_run(folders, flags, shown)), shown)
    except KeyboardInterrupt:
        tell("interrupted: what was read so far is kept for the next run")
        sys.exit(INTERRUPTED)
    if max(codes):
        sys.exit(max(codes))


def _run(folders: list[str], flags: dict[str, Any], shown: Shown) -> int:
    """Survey, choose, print; return the exit code of the worst file."""
    from annotator.configuration import project_settings
    from annotator.settings import LANGUAGES, checked_choice

    sources, page = _sources(folders, flags)
    settings = {**project_settings(Path(sources[0])), **flags}
    language = checked_choice("language", settings.get("language", "en"), LANGUAGES)
    _check(flags)
    found, wish = _surveyed(sources, settings, shown)
    chosen = _chosen(found, wish, flags)
    _give_out(chosen, wish, {**settings, "language": language, "page": page}, shown)
    if "pick" in flags:
        from annotator.survey.practice_log import add

        add(_day(flags), chosen.scores)
    for failed in found.failed:
        tell(f"{failed.path}: {failed.message}")
    return max((failed.exit_code for failed in found.failed), default=0)


def _sources(folders: list[str], flags: dict[str, Any]) -> tuple[list[str], str | None]:
    """Return what to survey and the file for the page, if one is named among the folders."""
    pages = [name for name in folders if "html" in flags and name.lower().endswith((".html", ".htm")) and not Path(name).is_dir()]
    sources = [name for name in folders if name not in pages]
    if len(pages) > 1 or not sources:
        raise UsageError("survey takes folders and, with --html, one file for the page")
    return sources, pages[0] if pages else None


def _check(flags: dict[str, Any]) -> None:
    """Refuse wishes that contradict each other or name nothing."""
    if sum(name in flags for name in ("json", "csv", "html")) > 1:
        raise UsageError("--json, --csv and --html are three shapes of one output: give one of them")
    if "seed" in flags and "pick" not in flags:
        raise UsageError("--seed says for which day to --pick: give both")
    if "kind" in flags:
        from annotator.figures.registry import KINDS_BY_NAME
        from annotator.settings import checked_choice

        if not KINDS_BY_NAME[checked_choice("kind", flags["kind"], KINDS_BY_NAME)].default:
            raise UsageError(f"{flags['kind']} is only looked for where it is asked for: a survey does not count it")
    if "pick" in flags:
        _day(flags)


def _surveyed(sources: list[str], settings: dict[str, Any], shown: Shown) -> tuple[Survey, Wish]:
    """Return the survey of the sources and the wish, both with what they need from the cache."""
    from annotator.commands.survey_progress import progress_bar
    from annotator.survey.cache import opened_cache
    from annotator.survey.surveying import Surveying
    from annotator.survey.wishes import Wish

    with heeding_interrupts() as heed, opened_cache("no_cache" not in settings) as cache, progress_bar(shown) as bar:

        def advance(count: int) -> None:
            """Move the bar on, and stop where an interrupt came that a library swallowed."""
            bar.advance(count)
            heed()

        at_work = Surveying(cache, advance, bar.expect)
        like = _measured(Surveying(cache), settings["like"]) if "like" in settings else None
        names = ("kind", "share", "easiest", "sort", "reverse")
        wish = Wish(like=like, **{name: settings[name] for name in names if name in settings})
        found = at_work.survey(sources, _engine(settings))
    if shown.verbose:
        count = len(found.scores) + len(found.left_out) + len(found.failed)
        tell(f"{count} files, {at_work.measured} of them read, the others known or copies; cache: {cache.place}")
    return found, wish


def _engine(settings: dict[str, Any]) -> Engine:
    """Return what does the work on files."""
    from functools import partial

    if "cluster" in settings:
        from annotator.survey.cluster import records as on_cluster

        return partial(on_cluster, address=settings["cluster"])
    from annotator.survey.workers import cores, records

    return partial(records, count=int(settings.get("jobs") or cores()))


def _measured(at_work: Surveying, path: str) -> Measured:
    """Return the score that others are to be like."""
    from annotator.survey.surveying import one_score
    from annotator.survey.workers import records

    return one_score(at_work, path, lambda jobs: records(jobs, 1))


def _chosen(found: Survey, wish: Wish, flags: dict[str, Any]) -> Survey:
    """Return the survey with the scores wanted."""
    from dataclasses import replace

    from annotator.survey.choosing import choose

    chosen = choose(found, wish)
    if "pick" in flags:
        from annotator.survey.picking import pick
        from annotator.survey.practice_log import suggested_before

        day = _day(flags)
        drawn = pick(chosen.scores, flags["pick"], day, suggested_before(day, chosen.scores))
        chosen = replace(chosen, scores=tuple(drawn))
        if "sort" in flags:
            chosen = choose(chosen, wish)
    return replace(chosen, scores=chosen.scores[: flags.get("limit")])


def _day(flags: dict[str, Any]) -> date:
    from annotator.survey.picking import day_of

    return day_of(flags["seed"]) if "seed" in flags else date.today()


def _give_out(chosen: Survey, wish: Wish, settings: dict[str, Any], shown: Shown) -> None:
    """Print the survey in the shape asked for."""
    from annotator.survey import tables

    stream, language = standard_output(), settings["language"]
    if "json" in settings:
        stream.writelines(tables.to_json(chosen, wish))
    elif "csv" in settings:
        stream.write(tables.to_csv(chosen, wish))
    elif "html" in settings:
        _page(chosen, settings, shown)
    elif stream.isatty():
        from annotator.survey.terminal import print_pieces, print_table

        if "pick" in settings:
            print_pieces(chosen, language, stream)
        else:
            print_table(chosen, wish, language, stream)
    else:
        stream.write(tables.to_table(chosen, wish, language))
    stream.flush()


def _page(chosen: Survey, settings: dict[str, Any], shown: Shown) -> None:
    """Write the page to its file, or to standard output where that goes to a file or a pipe and no file is named."""
    from annotator.survey.page import survey_page
    from annotator.writing.files import write_file
    from annotator.writing.seal import sealed

    text = sealed(survey_page(chosen, settings["language"]).encode()).decode()
    stream = standard_output()
    if settings["page"] is None and "out" not in settings and not stream.isatty():
        stream.write(text)
        return
    path = Path(settings.get("out", "."), settings["page"] or PAGE)
    write_file(path, text.encode(), force=bool(settings.get("force")))
    if not shown.quiet:
        tell(f"{path} written")
