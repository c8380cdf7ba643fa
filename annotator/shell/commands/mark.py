"""``annotator mark``: the marked copies for the music stand."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from annotator.errors import UsageError
from annotator.options.settings import Call
from annotator.shell.commands.options import Given, Scores
from annotator.shell.commands.streams import UNNAMED, standard_input, standard_output
from annotator.shell.running import SCORES, carried_out, each_score

if TYPE_CHECKING:
    from annotator.marks.report import Report
    from annotator.products.planning import Plan


def mark(scores: Scores, given: Given) -> None:
    """Write a marked copy of each score: MusicXML, PDF and, if asked for, pictures.

    Each figure gets a bracket that names it, and the notes that follow from the name turn grey. The source is never written to.
    Copying printed music may need permission: the law of your country decides.
    """
    if given.get("watch"):
        from annotator.shell.commands.watching import watch_folders

        watch_folders(scores, _mark_one, given)
    each_score(scores, _mark_one, given, folders=SCORES)


def _mark_one(source: str, options: Call) -> list[str]:
    """Mark one score; return the lines to say about it."""
    if source == "-":
        return _mark_standard_input(options)
    return carried_out(_planned(Path(source), options), options)


def _planned(source: Path, options: Call, data: bytes | None = None) -> Plan[Report]:
    """Plan the copies of one score; the engraver is started meanwhile where there will be pages."""
    if not options.dry_run and options.formats != ("musicxml",):
        from annotator.pages.engraver import start_ahead

        start_ahead()
    from annotator.products.marked_copies import copying_of, plan_marks

    return plan_marks(source, options, copying_of(options), options.steps, ahead=not options.dry_run, data=data)


def _mark_standard_input(options: Call) -> list[str]:
    """Mark the score that comes in and send it out, or write it to the folder asked for; return the lines to say about it."""
    from annotator.marks.style import load_style
    from annotator.products.marked_copies import mark_bytes

    if options.out is not None:
        return carried_out(_planned(Path(UNNAMED), options, standard_input()), options)
    if "musicxml" not in options.formats:
        raise UsageError("standard output takes MusicXML alone: say with --out where the other files go")
    if options.steps:
        raise UsageError("--steps writes several files: say with --out where they go")
    data, told = mark_bytes(standard_input(), options, load_style(options.style))
    if options.dry_run:
        return [*told, "would write the marked MusicXML to standard output"]
    standard_output().buffer.write(data)
    return list(told)
