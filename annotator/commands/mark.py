"""``annotator mark``: the marked copies for the music stand."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

from annotator.commands.options import (
    Bars,
    Breaks,
    Debug,
    DryRun,
    Force,
    Formats,
    Hand,
    Jobs,
    Kinds,
    Language,
    Out,
    Paper,
    Parts,
    Quiet,
    Scores,
    Shortest,
    Steps,
    StyleName,
    Verbose,
    Without,
    given_flags,
    run_copying,
    run_options,
)
from annotator.commands.streams import standard_input, standard_output
from annotator.errors import UsageError
from annotator.running import SCORES, Shown, each_score


def mark(
    scores: Scores,
    out: Out = None,
    style: StyleName = None,
    paper: Paper = None,
    formats: Formats = None,
    breaks: Breaks = None,
    language: Language = None,
    kinds: Kinds = None,
    without: Without = None,
    hand: Hand = None,
    bars: Bars = None,
    shortest: Shortest = None,
    parts: Parts = None,
    steps: Steps = None,
    force: Force = False,
    dry_run: DryRun = False,
    jobs: Jobs = None,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,
) -> None:
    """Write a marked copy of each score: MusicXML, PDF and, if asked for, pictures.

    Each figure gets a bracket that names it, and the notes that follow from the name turn grey. The source is never written to.
    Copying printed music may need permission: the law of your country decides.
    """
    flags = given_flags(locals())
    each_score(scores, _mark_one, flags, Shown(quiet, verbose, debug), folders=SCORES)


def _mark_one(source: str, settings: dict[str, Any]) -> list[str]:
    """Mark one score; return the lines to say about it."""
    if source == "-":
        return _mark_standard_input(settings)
    if "dry_run" not in settings:
        from annotator.engraving.engraver import start_ahead

        start_ahead()
    from annotator import copies

    copying = run_copying(settings)
    steps = settings.get("steps")
    if "dry_run" in settings:
        from annotator.rehearsal import rehearse_marks

        return rehearse_marks(Path(source), run_options(settings), copying, steps)
    write = copies.mark_copy if steps is None else partial(copies.mark_series, steps=steps)
    copy = write(Path(source), run_options(settings), copying)
    return [*copy.notices, f"{copy.report.headline}: wrote {', '.join(path.name for path in copy.files)}"]


def _mark_standard_input(settings: dict[str, Any]) -> list[str]:
    """Mark the score that comes in and send it out; return the lines to say about it."""
    from annotator import copies
    from annotator.style import load_style

    if settings.get("steps"):
        raise UsageError("--steps writes several files: give the score as a file, not on standard input")
    data, told = copies.mark_bytes(standard_input(), run_options(settings), load_style(settings.get("style", "default")))
    if "dry_run" in settings:
        return [*told, "would write the marked MusicXML to standard output"]
    standard_output().buffer.write(data)
    return list(told)
