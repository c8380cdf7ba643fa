"""The command line: the commands put together from the table of options. Nothing is decided here.

A command is a function that takes its argument and, as ``given``, the options that were typed. It is loaded when it is asked for: what the
others need would take a tenth of the start.

Conventions of completion: a function gets what has been typed so far and returns the whole words that begin so. In a list with commas it is
the last word that is completed. Where nothing fits, a shell goes on to offer files. Words are looked up only when the shell asks.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from importlib import import_module
from typing import Any

import typer
from typer.core import TyperArgument, TyperCommand, TyperGroup, TyperOption
from typer.main import get_install_completion_arguments

from annotator.errors import AnnotatorError, TransferError, UsageError
from annotator.options.option import Row, nearest
from annotator.options.settings import Options, row_of, rows_of
from annotator.shell.configuration import read_value, words_of
from annotator.shell.running import INTERRUPTED, guarded, interrupted
from annotator.shell.streams import close_output, make_fit, tell

ABOUT = "Mark the figures a pianist can take in at a glance: brackets, labels, grey notes."
WIDEST = 120  # columns of help

SCORES = ("SCORE…", "Scores (MusicXML, ABC, kern, MEI, MIDI), folders of them; - reads standard input.")
SCORE = ("[SCORE]", "A score: MusicXML, ABC, kern, MEI or MIDI; - reads standard input.")
PLACE = ("[SCORE]", "A score, or a folder of scores. Default: this folder.")
LOOK = ("[show STYLE]", "With a style's name or file: its TOML, every key explained, to copy and change.")
FOLDERS = ("FOLDER…", "Folders; every score below is looked at.")

COMMANDS: dict[str, tuple[str, str, tuple[str, str]]] = {
    "mark": ("copies", "scores", SCORES),
    "plain": ("copies", "scores", SCORES),
    "figures": ("looking", "score", SCORE),
    "compare": ("copies", "scores", SCORES),
    "handout": ("copies", "scores", SCORES),
    "survey": ("survey", "folders", FOLDERS),
    "styles": ("looking", "words", LOOK),
    "check-setup": ("installation", "", ("", "")),
    "settings": ("looking", "score", PLACE),
}
"""Each command: the module of its function, and its argument: its name there (of several words a plural), how it is written in the help (in
brackets where it may be missing), and what it is."""


class Argument(TyperArgument):
    """An argument that stands in the help as it is typed, with what it is."""

    def get_usage_pieces(self, ctx: Any) -> list[str]:
        """Return what is written in the line of usage."""
        return [str(self.metavar)]

    def get_help_record(self, ctx: Any) -> tuple[str, str]:
        """Return the line of its own."""
        return str(self.metavar), str(self.help)


class SelfExplaining:
    """What explains itself: below the options of its help stand examples and what else there is to know."""

    def make_context(self, *args: Any, **more: Any) -> Any:
        """Read the command line. Help that is read in part, ``annotator -h | head``, has nothing to complain about."""
        try:
            return super().make_context(*args, **more)  # type: ignore[misc]
        except BrokenPipeError:
            close_output()
            raise typer.Exit from None

    def format_epilog(self, ctx: Any, formatter: Any) -> None:
        """Write what stands below the options."""
        from annotator.shell.help_texts import below_the_options

        formatter.write(f"\n{below_the_options(str(ctx.info_name))}\n")


class Explained(SelfExplaining, TyperCommand):
    """A command."""


class Program(SelfExplaining, TyperGroup):
    """The program: its commands, each loaded when it is asked for."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read the command line; where nothing is asked for, the help says what there is."""
        if not args and not ctx.resilient_parsing:
            typer.echo(ctx.get_help())
            raise typer.Exit(UsageError.exit_code)
        return super().parse_args(ctx, args)

    def list_commands(self, ctx: Any) -> list[str]:
        """Return the names of the commands, as they are listed."""
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """Return a command. A name that is none is answered with the one that was probably meant."""
        if cmd_name in COMMANDS:
            return _command(cmd_name)
        if ctx.resilient_parsing:
            return None
        raise UsageError(f"there is no command {cmd_name!r}: {nearest(cmd_name, COMMANDS) or 'annotator -h says what there is'}")

    def main(self, *args: Any, **more: Any) -> Any:
        """Run a command, and end. What is wrong with a command line is one line, whoever noticed it."""
        try:
            code = super().main(*args, **{**more, "prog_name": "annotator", "standalone_mode": False})
        except AnnotatorError as error:
            tell(str(error))
            sys.exit(error.exit_code)
        except Exception as error:
            if not hasattr(error, "format_message"):  # which every error of the library has
                raise
            said = error.format_message().strip(" .")
            context = getattr(error, "ctx", None)
            tell(f"{said[0].lower()}{said[1:]}{f': {context.command_path} -h says what there is' if context else ''}")
            sys.exit(UsageError.exit_code)
        if code == INTERRUPTED:
            interrupted()
        sys.exit(UsageError.exit_code if code == 1 else code or 0)  # 1: completion is not known for the shell


def _command(name: str) -> TyperCommand:
    """Return a command with its argument and the options that the table gives it."""
    module, argument, (metavar, help) = COMMANDS[name]
    function = getattr(import_module(f"annotator.shell.{module}"), name.replace("-", "_"))
    table = rows_of(name)

    def call(**typed: Any) -> None:
        """Call the function of the command."""
        given = {row.name: value for row in table if (value := typed.pop(row.name)) is not None and value is not False}
        more = {"given": given} if table else {}
        guarded(lambda: function(**typed, **more), Options(**given))

    params: list[Any] = [_option(row, name) for row in table]
    if argument:
        needed, count = not metavar.startswith("["), -1 if argument.endswith("s") else 1
        offer = _offering(row_of("style"), "show") if name == "styles" else None
        found = Argument(param_decls=[argument], metavar=metavar, help=help, required=needed, nargs=count, autocompletion=offer)
        params.insert(0, found)
    return Explained(name, params=params, callback=call, help=function.__doc__, rich_markup_mode=None)


def _option(row: Row, command: str) -> TyperOption:
    """Return an option as the library takes it; its value is read as the table says."""
    flags = [row.name, *([row.short] if row.short else []), f"--{row.key}"]
    if row.takes.shape is bool:
        return TyperOption(param_decls=flags, is_flag=True, help=row.helps(command))
    return TyperOption(
        param_decls=flags, type=lambda typed: read_value(row, typed), help=row.helps(command), metavar=row.takes.metavar,
        autocompletion=_offering(row),
    )  # fmt: skip


def _offering(row: Row, *more: str) -> Callable[[Any, list[str], str], list[str]]:
    """Return what offers the words of an option, where it takes some and no others, and some ``more``."""

    def offer(_context: Any, _words: list[str], incomplete: str) -> list[str]:
        """Offer the words that go on from what was typed."""
        takes = row.takes
        numbers = range(int(takes.least or 0), int(takes.most or -1) + 1) if takes.shape is int else ()
        words = [*words_of(row), *more] or takes.offered or [str(number) for number in numbers]
        return completed(incomplete, words, takes.shape is tuple)

    return offer


def completed(typed: str, words: Iterable[str], listed: bool) -> list[str]:
    """Return the words that begin as typed; where they are ``listed`` with commas, the lists that go on by a word that is not in them.

    >>> completed("a4", ("a4", "letter", "a4-landscape"), False), completed("trill,tr", ("trill", "tremolo", "turn"), True)
    (['a4', 'a4-landscape'], ['trill,tremolo'])
    """
    *before, last = typed.split(",") if listed else [typed]
    return [",".join([*before, word]) for word in words if word.startswith(last) and word not in before]


app = Program(
    name="annotator",
    help=ABOUT,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": WIDEST},
    params=[
        TyperOption(param_decls=["--version"], is_flag=True, expose_value=False, help="Print the version."),  # as the door does
        *get_install_completion_arguments(),
    ],
)


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
        interrupted()
