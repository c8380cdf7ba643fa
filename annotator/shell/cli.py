"""The command line: the commands put together. Nothing is decided here, and each command is a module of ``annotator.shell.commands``.

A command is loaded when it is asked for, all of them only where they are listed: what the others need would take a tenth of the start.
"""

from __future__ import annotations

import sys
from importlib import import_module
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from annotator.errors import AnnotatorError, TransferError, UsageError
from annotator.shell.commands.explained import Explained, Quiet
from annotator.shell.commands.options import with_options
from annotator.shell.commands.streams import make_fit
from annotator.shell.running import INTERRUPTED, close_output
from annotator.shell.telling import tell

COMMANDS = {
    "mark": "mark",
    "plain": "plain",
    "figures": "figures",
    "compare": "compare",
    "handout": "handout",
    "survey": "survey",
    "styles": "styles_app",
    "check-setup": "check_setup",
    "settings": "settings",
}
"""Each command and what makes it in the module of its name: a function, or an application with commands of its own."""


class OnDemand(Quiet, TyperGroup):
    """The commands, each loaded when it is asked for by its name."""

    def list_commands(self, ctx: Any) -> list[str]:
        """Return the names of the commands, as they are listed."""
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """Return a command. A name that is none is compared with all of them."""
        for name in (cmd_name,) if cmd_name in COMMANDS else COMMANDS:
            if name not in self.commands:
                self.add_command(_loaded(name), name)
        return super().get_command(ctx, cmd_name)

    def main(self, *args: Any, **more: Any) -> Any:
        """Run a command, and end. What is wrong with a command line is one line, whoever noticed it."""
        try:
            sys.exit(super().main(*args, **{**more, "standalone_mode": False}) or 0)
        except AnnotatorError as error:
            tell(str(error))
            sys.exit(error.exit_code)
        except Exception as error:
            if not hasattr(error, "format_message"):  # which the errors of the command line library have, whatever its version
                raise
            if said := error.format_message().strip(" ."):  # help that was asked for by no word at all has been printed
                context = getattr(error, "ctx", None)
                tell(f"{said[0].lower()}{said[1:]}{f': {context.command_path} -h says what there is' if context else ''}")
            sys.exit(UsageError.exit_code)

    def format_help(self, ctx: Any, formatter: Any) -> None:
        """Write the help: a line for each command, then examples and exit codes."""
        from annotator.shell.commands.help_texts import SHORT, below_the_options

        for name in self.list_commands(ctx):
            self.get_command(ctx, name).short_help = SHORT[name]
        self.epilog = below_the_options("annotator")
        super().format_help(ctx, formatter)


def _loaded(name: str) -> Any:
    made = getattr(import_module(f"annotator.shell.commands.{name.replace('-', '_')}"), COMMANDS[name])
    if not isinstance(made, typer.Typer):
        function, made = made, typer.Typer(add_completion=False)
        made.command(name, cls=Explained)(with_options(function, name))
    command = typer.main.get_command(made)
    command.name = name
    return command


app = typer.Typer(
    cls=OnDemand,
    add_completion=True,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    help="Mark the figures a pianist can take in at a glance: brackets, labels, grey notes.",
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


def run() -> None:
    """Run the command line. An interrupt while a command is still being loaded ends as one that comes later does."""
    make_fit()
    try:
        app()
    except OSError as error:  # help that could not be printed
        close_output()
        tell(f"writing failed: {error.strerror or error}")
        raise SystemExit(TransferError.exit_code) from None
    except KeyboardInterrupt:
        tell("interrupted: nothing half-written is left")
        raise SystemExit(INTERRUPTED) from None
