"""``annotator mark``: the marked copies for the music stand."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

from annotator.commands.options import (
    Bars,
    Breaks,
    Debug,
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
    jobs: Jobs = None,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,
) -> None:
    """Write a marked copy: MusicXML and PDF (and pictures).

    Copying printed music may need permission: the law of your country decides.
    """
    flags = given_flags(locals())
    each_score(scores, _mark_one, flags, Shown(quiet, verbose, debug), folders=SCORES)


def _mark_one(source: str, settings: dict[str, Any]) -> list[str]:
    """Mark one score; return the lines to say about it."""
    from annotator.engraving.engraver import start_ahead

    if source != "-":
        start_ahead()
    from annotator import copies
    from annotator.style import load_style

    options = run_options(settings)
    style = load_style(settings.get("style", "default"))
    steps = settings.get("steps")
    if source == "-" and steps:
        raise UsageError("--steps writes several files: give the score as a file, not on standard input")
    if source == "-":
        data, told = copies.mark_bytes(standard_input(), options, style)
        standard_output().buffer.write(data)
        return list(told)
    out = settings.get("out")
    formats = ("musicxml", "pdf", *settings.get("formats", ()))
    chosen = {name: settings[name] for name in ("paper", "force", "breaks") if name in settings}
    copying = copies.Copying(out and Path(out), style, formats=formats, **chosen)
    write = copies.mark_copy if steps is None else partial(copies.mark_series, steps=steps)
    copy = write(Path(source), options, copying)
    return [*copy.notices, f"{copy.report.headline}: wrote {', '.join(path.name for path in copy.files)}"]
