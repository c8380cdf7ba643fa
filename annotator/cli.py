"""The command line: the commands put together. Nothing is decided here, and each command is a module of ``annotator.commands``."""

from __future__ import annotations

from typing import Annotated

import typer

from annotator.commands.check_setup import check_setup
from annotator.commands.compare import compare
from annotator.commands.figures import figures
from annotator.commands.handout import handout
from annotator.commands.mark import mark
from annotator.commands.plain import plain
from annotator.commands.styles import styles_app
from annotator.commands.survey import survey

app = typer.Typer(
    add_completion=True,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    help="Mark the figures a pianist can take in at a glance: brackets, labels, grey notes.",
    epilog="Example: annotator mark piece.musicxml   writes piece-marked.musicxml and piece-marked.pdf",
)


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


for command in (mark, plain, figures, compare, handout, survey):
    app.command()(command)
app.add_typer(styles_app, name="styles")
app.command("check-setup")(check_setup)


def run() -> None:
    """Run the command line."""
    app()
