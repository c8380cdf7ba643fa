"""The options that commands share, and the way from what was typed to the options of a run.

Heavy imports stand inside the functions, so that ``--version`` and ``-h`` answer at once.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from annotator.commands.completion import (
    breaks_names,
    format_names,
    hand_names,
    kind_names,
    language_names,
    paper_names,
    part_names,
    step_numbers,
    style_names,
)
from annotator.commands.values import file, whole
from annotator.settings import FEWEST_OF_A_RUN, MOST_STEPS

if TYPE_CHECKING:
    from annotator.copies import Copying
    from annotator.settings import Options

Scores = Annotated[
    list[str],
    typer.Argument(
        help="Scores (MusicXML, ABC, kern, MEI, MIDI), folders of them; - reads standard input.",
        metavar="SCORE…",
        parser=file,
    ),
]
OneScore = Annotated[
    str, typer.Argument(help="A score: MusicXML, ABC, kern, MEI or MIDI; - reads standard input.", metavar="SCORE", parser=file)
]
Out = Annotated[
    Path | None,
    typer.Option("--out", metavar="FOLDER", help="Where the files go; made if it is not there. Default: beside the source."),
]
StyleName = Annotated[
    str | None,
    typer.Option(
        "--style",
        metavar="STYLE",
        help="The look: a name that 'annotator styles' lists, or a .toml file of your own. Default: the one called default.",
        autocompletion=style_names,
    ),
]
Paper = Annotated[
    str | None, typer.Option(metavar="PAPER", help="a4, letter, a4-landscape or tablet. Default: a4.", autocompletion=paper_names)
]
Language = Annotated[
    str | None,
    typer.Option(
        metavar="LANGUAGE",
        help="What labels and tables are in: en, de, fr or it. Default: en.",
        autocompletion=language_names,
    ),
]
Kinds = Annotated[
    str | None,
    typer.Option(
        metavar="KIND,…",
        help="Look for these kinds only, such as scale-run,arpeggio (listed below). Default: all but block-chord.",
        autocompletion=kind_names,
    ),
]
Without = Annotated[
    str | None, typer.Option(metavar="KIND,…", help="Leave these kinds out. Default: none.", autocompletion=kind_names)
]
Hand = Annotated[
    str | None,
    typer.Option(metavar="HAND", help="Look at one hand only: right, left or both. Default: both.", autocompletion=hand_names),
]
Bars = Annotated[
    str | None, typer.Option(metavar="FIRST-LAST", help="Only these bars, by their printed numbers: 5-12, or 5. Default: all.")
]
Shortest = Annotated[
    int | None,
    typer.Option(metavar="N", help=f"Fewest notes of a run, {FEWEST_OF_A_RUN} or more. Default: 5.", parser=whole(FEWEST_OF_A_RUN)),
]
Parts = Annotated[
    str | None,
    typer.Option(metavar="NAME,…", help="Names of parts, or all. Default: the keyboard parts.", autocompletion=part_names),
]
Steps = Annotated[
    int | None,
    typer.Option(
        metavar="N",
        help=f"Write a practice series of 1 to {MOST_STEPS} copies, with less and less help. Default: one copy, no series.",
        parser=whole(1, MOST_STEPS),
        autocompletion=step_numbers,
    ),
]
Breaks = Annotated[
    str | None,
    typer.Option(
        metavar="BREAKS",
        help="Where lines end: even, or source (where the score has them). Default: even.",
        autocompletion=breaks_names,
    ),
]
Formats = Annotated[
    str | None,
    typer.Option(metavar="FORMAT,…", help="Pictures besides, one a page: svg, png. Default: none.", autocompletion=format_names),
]
Force = Annotated[bool, typer.Option("--force", help="Write over files that this program did not make.")]
DryRun = Annotated[
    bool, typer.Option("--dry-run", help="Say what would be written, and whether it would be refused; write and engrave nothing.")
]
Jobs = Annotated[
    int | None,
    typer.Option(metavar="N", help="How many scores to work on at once. Default: 1; survey takes every core.", parser=whole(1)),
]
Quiet = Annotated[bool, typer.Option("-q", "--quiet", help="Say nothing but errors.")]
Verbose = Annotated[bool, typer.Option("-v", "--verbose", help="Say more of what is done.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show the traceback of a fault of the program.")]


def given_flags(given: dict[str, Any]) -> dict[str, Any]:
    """Return the flags that were given, lists split at their commas."""
    lists = ("kinds", "without", "parts", "formats")
    flags = {
        name: [word.strip() for word in value.split(",") if word.strip()] if name in lists else value
        for name, value in given.items()
        if value not in (None, False) and name not in ("scores", "score", "quiet", "verbose", "debug")
    }
    if "out" in flags:
        flags["out"] = str(flags["out"])
    return flags


def run_options(settings: dict[str, Any]) -> Options:
    """Return the options of a run, checked."""
    from annotator.figures.registry import check_kinds
    from annotator.settings import Options, options_of

    options = options_of({name: settings[name] for name in Options.__slots__ if name in settings})
    check_kinds(options)
    return options


def run_copying(settings: dict[str, Any]) -> Copying:
    """Return how the copies of a run are made, checked."""
    from annotator.copies import Copying
    from annotator.style import load_style

    chosen = {name: settings[name] for name in ("paper", "force", "breaks") if name in settings}
    out = settings.get("out")
    formats = ("musicxml", "pdf", *settings.get("formats", ()))
    return Copying(out and Path(out), load_style(settings.get("style", "default")), formats=formats, **chosen)
