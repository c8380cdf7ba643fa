"""The options that commands share, and the way from what was typed to the options of a run.

Heavy imports stand inside the functions, so that ``--version`` and ``-h`` answer at once.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from annotator.errors import UsageError
from annotator.settings import FEWEST_OF_A_RUN

if TYPE_CHECKING:
    from annotator.settings import Options

Scores = Annotated[
    list[str],
    typer.Argument(help="Scores (MusicXML, ABC, kern, MEI, MIDI), folders of them; - reads standard input.", metavar="SCORE…"),
]
OneScore = Annotated[str, typer.Argument(help="A score: MusicXML, ABC, kern, MEI or MIDI; - reads standard input.", metavar="SCORE")]
Out = Annotated[Path | None, typer.Option("--out", help="Folder for what is written (default: beside the source).")]
StyleName = Annotated[str | None, typer.Option("--style", help="A style's name or a .toml file of your own.")]
Paper = Annotated[str | None, typer.Option(help="a4, letter, a4-landscape or tablet.")]
Language = Annotated[str | None, typer.Option(help="Language of the labels: en, de, fr or it.")]
Kinds = Annotated[str | None, typer.Option(help="Look for these kinds only, with commas between them.", metavar="KIND,…")]
Without = Annotated[str | None, typer.Option(help="Leave these kinds out.", metavar="KIND,…")]
Hand = Annotated[str | None, typer.Option(help="right, left or both.")]
Bars = Annotated[str | None, typer.Option(help="Only these bars, as printed: 5-12.", metavar="FIRST-LAST")]
Shortest = Annotated[int | None, typer.Option(help="Fewest notes of a run.", min=FEWEST_OF_A_RUN)]
Parts = Annotated[str | None, typer.Option(help="all, or names of parts (default: the keyboard parts).", metavar="NAME,…")]
Steps = Annotated[int | None, typer.Option(help="A practice series of 1 to 3 copies, with less and less help.", min=1, max=3)]
Breaks = Annotated[str | None, typer.Option(help="Line breaks: even, or source (where the score has them).")]
Formats = Annotated[str | None, typer.Option(help="Pictures besides: svg, png.", metavar="FORMAT,…")]
Force = Annotated[bool, typer.Option("--force", help="Write over files that this program did not make.")]
Jobs = Annotated[int | None, typer.Option(help="How many scores to work on at once.", min=1)]
Quiet = Annotated[bool, typer.Option("-q", "--quiet", help="Say nothing but errors.")]
Verbose = Annotated[bool, typer.Option("-v", "--verbose", help="Say what is done.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show the traceback of a fault.")]


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
    from annotator.figures.registry import KINDS_BY_NAME
    from annotator.settings import HANDS, LANGUAGES, Options, checked_choice, parse_bars

    if settings.get("shortest", FEWEST_OF_A_RUN) < FEWEST_OF_A_RUN:
        raise UsageError(f"a run has at least {FEWEST_OF_A_RUN} notes: shortest = {settings['shortest']} is too few")
    for name in (*settings.get("kinds", ()), *settings.get("without", ())):
        checked_choice("kind", name, KINDS_BY_NAME)
    parts = settings.get("parts")
    return Options(
        kinds=tuple(settings["kinds"]) if "kinds" in settings else None,
        without=tuple(settings.get("without", ())),
        hand=checked_choice("hand", settings.get("hand", "both"), HANDS),
        bars=parse_bars(settings["bars"]) if "bars" in settings else None,
        shortest=settings.get("shortest", 5),
        language=checked_choice("language", settings.get("language", "en"), LANGUAGES),
        parts=tuple(parts) if parts else None,
    )
