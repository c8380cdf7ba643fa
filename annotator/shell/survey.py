"""``annotator survey``: what to practise next: every score below some folders, measured, chosen and ranked."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from annotator.errors import UsageError
from annotator.options.settings import Options
from annotator.shell.configuration import in_force
from annotator.shell.running import INTERRUPTED, Given, heeding_interrupts
from annotator.shell.streams import progress_bar, standard_output, tell

if TYPE_CHECKING:
    from annotator.products.survey.measures import Survey
    from annotator.products.survey.surveying import Surveyed
    from annotator.products.survey.tables import Column

PAGE = "survey.html"


def survey(folders: Sequence[str], given: Given) -> None:
    """Rank a library: what its scores train, how hard they are.

    Nothing is engraved or written beside the scores.
    """
    from annotator.products.survey.surveying import note_pick

    try:
        sources, page = _sources(folders, Options(**given))
        options = in_force(Path(sources[0]), given).options
        work = _surveyed(sources, options)
        failed, wanted = work.found.failed, work.wanted
        _give_out(wanted, work.columns, options, page)
        note_pick(wanted, options)
        if options.pick is not None and len(wanted.scores) < options.pick and not options.quiet:
            tell(f"only {len(wanted.scores)} pieces for --pick {options.pick}: a wider range or another folder would have more")
    except KeyboardInterrupt:
        tell("interrupted: what was read so far is kept for the next run")
        sys.exit(INTERRUPTED)
    for each in failed:
        tell(f"{each.path}: {each.message}")
    if failed:
        sys.exit(max(each.exit_code for each in failed))


def _sources(folders: Sequence[str], options: Options) -> tuple[list[str], str | None]:
    """Return what to survey and the file for the page, if one is named among the folders."""
    if options.json + options.csv + options.html > 1:
        raise UsageError("--json, --csv and --html are three shapes of one output: give one of them")
    pages = [name for name in folders if options.html and name.lower().endswith((".html", ".htm")) and not Path(name).is_dir()]
    sources = [name for name in folders if name not in pages]
    if len(pages) > 1 or not sources:
        raise UsageError("survey takes folders and, with --html, one file for the page")
    return sources, pages[0] if pages else None


def _surveyed(sources: list[str], options: Options) -> Surveyed:
    """Return the survey of the sources, and say of it what is asked for."""
    from annotator.products.survey.surveying import surveyed

    with heeding_interrupts() as heed, progress_bar(options.quiet) as bar:

        def advance(count: int) -> None:
            """Move the bar on, and stop where an interrupt came that a library swallowed."""
            bar.advance(count)
            heed()

        work = surveyed(sources, options, advance, bar.expect)
    found = work.found
    if options.verbose:
        count = len(found.scores) + len(found.left_out) + len(found.failed)
        tell(f"{count} files, {work.read} of them read, the others known or copies")
        for left_out in found.left_out:
            tell(f"left out: {left_out.path}: {left_out.reason}")
    return work


def _give_out(chosen: Survey, columns: Sequence[Column], options: Options, page: str | None) -> None:
    """Print the survey in the shape asked for."""
    from annotator.products.survey import tables

    stream, language = standard_output(), options.language
    if options.json:
        stream.write(tables.to_json(chosen, columns))
    elif options.csv:
        stream.write(tables.to_csv(chosen, columns))
    elif options.html:
        _page(chosen, options, page)
    elif options.pick is not None and stream.isatty():
        tables.print_pieces(chosen, language, stream)
    else:
        tables.print_table(chosen, columns, language, stream)
    stream.flush()


def _page(chosen: Survey, options: Options, page: str | None) -> None:
    """Write the page to its file, or to standard output where that goes to a file or a pipe and no file is named."""
    from annotator.musicxml.files import make_folder, write_file
    from annotator.musicxml.seal import sealed
    from annotator.products.survey.page import survey_page

    text = sealed(survey_page(chosen, options.language).encode()).decode()
    stream = standard_output()
    if page is None and options.out is None and not stream.isatty():
        stream.write(text)
        return
    path = Path(options.out or ".", page or PAGE)
    make_folder(path.parent)
    write_file(path, text.encode(), force=options.force)
    if not options.quiet:
        tell(f"{path} written")
