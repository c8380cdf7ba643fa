"""The command line: the commands put together from the table of options. Nothing is decided here.

A command is a function that takes its argument and, as ``given``, the options that were typed. It is loaded when it is asked for: what the
others need would take a tenth of the start.

Conventions of completion: a function gets what has been typed so far and returns the whole words that begin so. In a list with commas it is
the last word that is completed. Where nothing fits, a shell goes on to offer files. Words are looked up only when the shell asks.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable
from importlib import import_module
from pathlib import Path
from typing import Any

import click

from annotator.errors import AnnotatorError, TransferError, UsageError
from annotator.options.option import Row, nearest
from annotator.options.settings import row_of, rows_of
from annotator.shell.configuration import read_typed, words_of
from annotator.shell.running import INTERRUPTED
from annotator.shell.streams import close_output, make_fit, tell

ABOUT = "Mark the figures a pianist can take in at a glance: brackets, labels, grey notes."
WIDEST = 120  # columns of help


def _argument(name: str, metavar: str, help: str, **more: Any) -> click.Argument:
    """Return the argument of a command: names of files, whatever they are."""
    return click.Argument([name], type=click.Path(readable=False), metavar=metavar, help=help, **more)


SCORES = _argument(
    "scores", "SCORE…", "Scores (MusicXML, ABC, kern, MEI, MIDI), folders of them; - reads standard input.", nargs=-1, required=True
)
SCORE = _argument("score", "[SCORE]", "A score: MusicXML, ABC, kern, MEI or MIDI; - reads standard input.", required=False)
PLACE = _argument("score", "[SCORE]", "A score, or a folder of scores. Default: this folder.", required=False)
FOLDERS = _argument("folders", "FOLDER…", "Folders; every score below is looked at.", nargs=-1, required=True)

COMMANDS: dict[str, tuple[str, tuple[click.Argument, ...]]] = {
    "mark": ("copies", (SCORES,)),
    "plain": ("copies", (SCORES,)),
    "figures": ("looking", (SCORE,)),
    "compare": ("copies", (SCORES,)),
    "handout": ("copies", (SCORES,)),
    "survey": ("survey", (FOLDERS,)),
    "styles": ("looking", ()),
    "check-setup": ("installation", ()),
    "settings": ("looking", (PLACE,)),
}
"""Each command: the module of its function, and its argument."""


class Explained(click.Command):
    """A command that explains itself: below the options of its help stand examples and what else there is to know."""

    def make_context(self, *args: Any, **more: Any) -> click.Context:
        """Read the command line. Help that is read in part, ``annotator -h | head``, has nothing to complain about."""
        try:
            return super().make_context(*args, **more)
        except BrokenPipeError:
            close_output()
            raise click.exceptions.Exit(0) from None

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write what stands below the options."""
        from annotator.shell.help_texts import below_the_options

        formatter.write(f"\n{below_the_options(str(ctx.info_name))}\n")


class ExplainedGroup(Explained, click.Group):
    """A command that has commands of its own."""


class Program(ExplainedGroup):
    """The program: its commands, each loaded when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of the commands, as they are listed."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command. A name that is none is answered with the one that was probably meant."""
        if cmd_name in COMMANDS:
            return _styles() if cmd_name == "styles" else _command(cmd_name, *COMMANDS[cmd_name])
        if ctx.resilient_parsing:
            return None
        raise UsageError(f"there is no command {cmd_name!r}: {nearest(cmd_name, COMMANDS) or 'annotator -h says what there is'}")

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write a line for each command."""
        from annotator.shell.help_texts import SHORT

        with formatter.section("Commands"):
            formatter.write_dl(list(SHORT.items()))

    def main(self, *args: Any, **more: Any) -> Any:
        """Run a command, and end. What is wrong with a command line is one line, whoever noticed it."""
        try:
            sys.exit(super().main(*args, **{**more, "prog_name": "annotator", "standalone_mode": False}) or 0)
        except AnnotatorError as error:
            tell(str(error))
            sys.exit(error.exit_code)
        except click.exceptions.NoArgsIsHelpError as error:
            click.echo(error.format_message())
            sys.exit(UsageError.exit_code)
        except click.ClickException as error:
            said = error.format_message().strip(" .")
            context = getattr(error, "ctx", None)
            tell(f"{said[0].lower()}{said[1:]}{f': {context.command_path} -h says what there is' if context else ''}")
            sys.exit(UsageError.exit_code)


def _command(name: str, module: str, arguments: tuple[click.Argument, ...]) -> click.Command:
    """Return a command with its argument and the options that the table gives it."""
    function = getattr(import_module(f"annotator.shell.{module}"), name.replace("-", "_"))
    table = rows_of(name)

    def call(**typed: Any) -> None:
        """Call the function of the command."""
        given = {row.name: value for row in table if (value := typed.pop(row.name)) is not None and value is not False}
        function(**typed, **({"given": given} if table else {}))

    params = [*arguments, *(_option(row, name) for row in table)]
    return Explained(name, params=params, callback=call, help=function.__doc__)


def _styles() -> click.Group:
    """Return the command ``styles``, which has one of its own."""
    from annotator.shell.looking import show, styles

    def call() -> None:
        """List the styles, unless one is to be shown."""
        if click.get_current_context().invoked_subcommand is None:
            styles()

    name = click.Argument(["name"], metavar="STYLE", help="The style's name, or a style file.", shell_complete=_offering(row_of("style")))
    group = ExplainedGroup("styles", invoke_without_command=True, callback=call, help=styles.__doc__)
    group.add_command(Explained("show", params=[name], callback=show, help=show.__doc__))
    return group


def _option(row: Row, command: str) -> click.Option:
    """Return an option as the library takes it; its value is read as the table says."""
    flags = [row.name, *([row.short] if row.short else []), f"--{row.key}"]
    if row.takes.shape is bool:
        return click.Option(flags, is_flag=True, help=row.helps(command))

    def value(context: click.Context, _option: click.Parameter, typed: str | None) -> Any:
        """Read the value of the option."""
        return None if typed is None or context.resilient_parsing else read_typed(row, typed)

    return click.Option(flags, help=row.helps(command), metavar=row.takes.metavar, callback=value, shell_complete=_offering(row))


def _offering(row: Row) -> Callable[[click.Context, click.Parameter, str], list[str]]:
    """Return what offers the words of an option, where it takes some and no others."""

    def offer(_context: click.Context, _parameter: click.Parameter, incomplete: str) -> list[str]:
        """Offer the words that go on from what was typed."""
        takes = row.takes
        numbers = range(int(takes.least or 0), int(takes.most or -1) + 1) if takes.shape is int else ()
        words = [*words_of(row)] or takes.offered or [str(number) for number in numbers]
        return completed(incomplete, words, takes.shape is tuple)

    return offer


def completed(typed: str, words: Iterable[str], listed: bool) -> list[str]:
    """Return the words that begin as typed; where they are ``listed`` with commas, the lists that go on by a word that is not in them.

    >>> completed("a4", ("a4", "letter", "a4-landscape"), False), completed("trill,tr", ("trill", "tremolo", "turn"), True)
    (['a4', 'a4-landscape'], ['trill,tremolo'])
    """
    *before, last = typed.split(",") if listed else [typed]
    return [",".join([*before, word]) for word in words if word.startswith(last) and word not in before]


def _version(context: click.Context, _option: click.Parameter, wanted: bool) -> None:
    """Print the version and stop."""
    if wanted and not context.resilient_parsing:
        from annotator.options import __version__

        click.echo(f"annotator {__version__}")
        context.exit()


def _install_completion(context: click.Context, _option: click.Parameter, wanted: bool) -> None:
    """Let the user's shell complete commands, options and values: write its script, and name it where the shell begins."""
    if not wanted or context.resilient_parsing:
        return
    from click.shell_completion import get_completion_class

    shell = Path(os.environ.get("SHELL", "")).name
    maker = get_completion_class(shell) if shell in ("bash", "zsh", "fish") else None
    if maker is None:
        raise UsageError("--install-completion knows bash, zsh and fish, and SHELL names none of them")
    home = Path.home()
    script = home / (".config/fish/completions/annotator.fish" if shell == "fish" else f".config/annotator/completion.{shell}")
    script.parent.mkdir(parents=True, exist_ok=True)
    script.write_text(maker(context.command, {}, "annotator", "_ANNOTATOR_COMPLETE").source(), encoding="utf-8")
    if shell != "fish":  # which looks there by itself
        begins = home / f".{shell}rc"
        line = f"{'autoload -Uz compinit && compinit; ' if shell == 'zsh' else ''}source '{script}'\n"
        there = begins.read_text(encoding="utf-8") if begins.is_file() else ""
        if line not in there:
            begins.write_text(f"{there}\n{line}", encoding="utf-8")
    click.echo(f"{script} written; it is in force in every shell that begins from now on")
    context.exit()


app = Program(
    "annotator",
    no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": WIDEST},
    help=ABOUT,
    params=[
        click.Option(["--version"], is_flag=True, expose_value=False, is_eager=True, callback=_version, help="Print the version."),
        click.Option(
            ["--install-completion"], is_flag=True, expose_value=False, callback=_install_completion,
            help="Let your shell complete commands, options and their values.",
        ),
    ],
)  # fmt: skip


def run() -> None:
    """Run the command line. An interrupt while a command is still being loaded ends as one that comes later does."""
    make_fit()
    try:
        app()
    except OSError as error:  # help that could not be printed
        close_output()
        tell(f"writing failed: {error.strerror or error}")
        raise SystemExit(TransferError.exit_code) from None
    except (KeyboardInterrupt, click.Abort):
        tell("interrupted: nothing half-written is left")
        raise SystemExit(INTERRUPTED) from None
