"""The command line: options in, files and reports out. Nothing is decided here.

Heavy imports stand inside the commands, so that ``--version`` and ``-h`` answer at once.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TextIO

import typer

from annotator.errors import MissingError, OutputError, UsageError
from annotator.running import Shown, each_score, guarded
from annotator.settings import FEWEST_OF_A_RUN

if TYPE_CHECKING:
    from annotator.settings import Options

app = typer.Typer(
    add_completion=True,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    help="Mark the figures a pianist can take in at a glance: brackets, labels, grey notes.",
    epilog="Example: annotator mark piece.musicxml   writes piece-marked.musicxml and piece-marked.pdf",
)

Scores = Annotated[list[str], typer.Argument(help="MusicXML files (.musicxml, .xml, .mxl); - reads standard input.", metavar="SCORE…")]
OneScore = Annotated[str, typer.Argument(help="A MusicXML file; - reads standard input.", metavar="SCORE")]
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
Breaks = Annotated[str | None, typer.Option(help="Line breaks: even, or source (where the score has them).")]
Formats = Annotated[str | None, typer.Option(help="Pictures besides: svg, png.", metavar="FORMAT,…")]
Force = Annotated[bool, typer.Option("--force", help="Write over files that this program did not make.")]
Jobs = Annotated[int | None, typer.Option(help="How many scores to work on at once.", min=1)]
Quiet = Annotated[bool, typer.Option("-q", "--quiet", help="Say nothing but errors.")]
Verbose = Annotated[bool, typer.Option("-v", "--verbose", help="Say what is done.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show the traceback of a fault.")]


def _version(wanted: bool) -> None:
    """Print the version and stop."""
    if wanted:
        import annotator

        typer.echo(f"annotator {annotator.__version__}")
        raise typer.Exit


@app.callback()
def main(
    version: Annotated[bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")] = False,
) -> None:
    """Mark the figures a pianist can take in at a glance: brackets, labels, grey notes."""


@app.command()
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
    force: Force = False,
    jobs: Jobs = None,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,
) -> None:
    """Write a marked copy: MusicXML and PDF (and pictures).

    Copying printed music may need permission: the law of your country decides.
    """
    flags = _flags(locals())
    each_score(scores, _mark_one, flags, Shown(quiet, verbose, debug))


@app.command()
def plain(
    scores: Scores,
    out: Out = None,
    force: Force = False,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,
) -> None:
    """Take the marks out again: everything else as it was."""
    each_score(scores, _plain_one, _flags(locals()), Shown(quiet, verbose, debug))


@app.command()
def figures(
    score: OneScore,
    json: Annotated[bool, typer.Option("--json", help="Print the whole report as JSON.")] = False,
    csv: Annotated[bool, typer.Option("--csv", help="Print one line a figure, with commas.")] = False,
    language: Language = None,
    kinds: Kinds = None,
    without: Without = None,
    hand: Hand = None,
    bars: Bars = None,
    shortest: Shortest = None,
    parts: Parts = None,
    quiet: Quiet = False,
    verbose: Verbose = False,
    debug: Debug = False,
) -> None:
    """List the figures of a score: bar, hand, label, notes, notes left to read."""
    flags = _flags(locals())
    each_score([score], _report_one, flags, Shown(quiet, verbose, debug))


styles_app = typer.Typer(invoke_without_command=True, help="List the styles there are and what each is for.")
app.add_typer(styles_app, name="styles")


@styles_app.callback()
def styles(context: typer.Context) -> None:
    """List the styles, one a line."""
    if context.invoked_subcommand is None:
        guarded(_list_styles, Shown())


@styles_app.command("show")
def show_style(name: Annotated[str, typer.Argument(help="The style's name.", metavar="NAME")]) -> None:
    """Print a style's TOML, to copy and change."""

    def show() -> None:
        from annotator.style import style_text

        _standard_output().write(style_text(name))

    guarded(show, Shown())


def run() -> None:
    """Run the command line."""
    app()


# -- one score each ------------------------------------------------------------------------------------------------------------


def _mark_one(source: str, settings: dict[str, Any]) -> list[str]:
    """Mark one score; return the lines to say about it."""
    from annotator import copies
    from annotator.style import load_style

    options = _options(settings)
    style = load_style(settings.get("style", "default"))
    if source == "-":
        _standard_output().buffer.write(copies.mark_bytes(_standard_input(), options, style))
        return []
    out = settings.get("out")
    formats = ("musicxml", "pdf", *settings.get("formats", ()))
    chosen = {name: settings[name] for name in ("paper", "force", "breaks") if name in settings}
    copying = copies.Copying(out and Path(out), style, formats=formats, **chosen)
    copy = copies.mark_copy(Path(source), options, copying)
    return [*copy.notices, f"{copy.report.headline}: wrote {', '.join(path.name for path in copy.files)}"]


def _plain_one(source: str, settings: dict[str, Any]) -> list[str]:
    """Write the plain copy of one score; return the lines to say about it."""
    from annotator import copies

    if source == "-":
        _standard_output().buffer.write(copies.plain_bytes(_standard_input()))
        return []
    out = settings.get("out")
    return [f"wrote {copies.plain_copy(Path(source), out and Path(out), settings.get('force', False))}"]


def _report_one(source: str, settings: dict[str, Any]) -> list[str]:
    """Print the report of one score; return the lines to say about it."""
    from annotator.pipeline import find_figures, read

    score = read(_standard_input() if source == "-" else Path(source))
    report = find_figures(score, _options(settings))
    if settings.get("json"):
        _standard_output().write(report.to_json())
    elif settings.get("csv"):
        _standard_output().write(report.to_csv())
    else:
        _standard_output().write(report.to_table())
    return list(score.repairs)


def _standard_input() -> bytes:
    """Return what comes in on standard input."""
    if sys.stdin is None:
        raise MissingError("standard input is closed: give a file")
    return sys.stdin.buffer.read()


def _standard_output() -> TextIO:
    """Return standard output, which may have been closed before we began."""
    if sys.stdout is None:
        raise OutputError("standard output is closed: nothing can be printed there")
    return sys.stdout


def _list_styles() -> None:
    """Print the styles there are."""
    from annotator.style import available

    for style in available():
        _standard_output().write(f"{style.name:14} {style.description}\n")


# -- options -------------------------------------------------------------------------------------------------------------------


def _flags(given: dict[str, Any]) -> dict[str, Any]:
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


def _options(settings: dict[str, Any]) -> Options:
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
