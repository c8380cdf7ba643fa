"""``annotator mark``: the marked copies for the music stand."""

from __future__ import annotations

from pathlib import Path

from annotator.commands.options import Given, Scores
from annotator.commands.streams import standard_input, standard_output
from annotator.errors import UsageError
from annotator.running import SCORES, carried_out, each_score
from annotator.settings import Call


def mark(scores: Scores, given: Given) -> None:
    """Write a marked copy of each score: MusicXML, PDF and, if asked for, pictures.

    Each figure gets a bracket that names it, and the notes that follow from the name turn grey. The source is never written to.
    Copying printed music may need permission: the law of your country decides.
    """
    each_score(scores, _mark_one, given, folders=SCORES)


def _mark_one(source: str, options: Call) -> list[str]:
    """Mark one score; return the lines to say about it."""
    if source == "-":
        return _mark_standard_input(options)
    if not options.dry_run:
        from annotator.engraving.engraver import start_ahead

        start_ahead()
    from annotator.copies import copying_of, plan_marks

    return carried_out(plan_marks(Path(source), options, copying_of(options), options.steps, ahead=not options.dry_run), options)


def _mark_standard_input(options: Call) -> list[str]:
    """Mark the score that comes in and send it out; return the lines to say about it."""
    from annotator.copies import mark_bytes
    from annotator.style import load_style

    if options.steps:
        raise UsageError("--steps writes several files: give the score as a file, not on standard input")
    data, told = mark_bytes(standard_input(), options, load_style(options.style))
    if options.dry_run:
        return [*told, "would write the marked MusicXML to standard output"]
    standard_output().buffer.write(data)
    return list(told)
