"""The options of a command, made from their table: how each is read from what was typed, and what the shell offers for its value.

Conventions of completion: a function gets what has been typed so far and returns the whole words that begin so. In a list with commas it is
the last word that is completed. Where nothing fits, a shell goes on to offer files. Words are looked up only when the shell asks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from inspect import Parameter, signature
from typing import Annotated, Any

import typer

from annotator.options.option import Row
from annotator.options.settings import rows_of
from annotator.shell.configuration import WORDS, read_typed

Given = dict[str, Any]
"""The values of the options that were typed, by the names of their fields."""


def file(typed: str) -> str:
    """Read the name of a file, whatever it is: the help names an argument's kind after its reader."""
    return typed


def name(typed: str) -> str:
    """Read a name, whatever it is."""
    return typed


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


def with_options(function: Callable[..., None], command: str) -> Callable[..., None]:
    """Return a command's function as the command line library wants it: with a parameter for each of its options.

    The function itself has its arguments and, as ``given``, the options that were typed.
    """
    table = rows_of(command)
    own = [each for each in signature(function, eval_str=True).parameters.values() if each.name != "given"]
    if not table:
        return function

    def call(**typed: Any) -> None:
        """Call the function."""
        given = {row.name: typed.pop(row.name) for row in table}
        function(**typed, given={name: value for name, value in given.items() if value is not None and value is not False})

    options = [Parameter(row.name, Parameter.KEYWORD_ONLY, default=_unset(row), annotation=_annotation(row, command)) for row in table]
    call.__doc__ = function.__doc__
    call.__signature__ = signature(function).replace(parameters=[*own, *options])  # type: ignore[attr-defined]
    call.__annotations__ = {each.name: each.annotation for each in (*own, *options)}
    return call


def _unset(row: Row) -> bool | None:
    """Return what the library gives where nothing was typed."""
    return False if row.takes.shape is bool else None


def _annotation(row: Row, command: str) -> Any:
    """Return what the library is to know of an option."""
    flags = [*([row.short] if row.short else []), f"--{row.key}"]
    if row.takes.shape is bool:
        return Annotated[bool, typer.Option(*flags, help=row.helps(command))]

    def value(text: str) -> Any:
        """Read the value of the option."""
        return read_typed(row, text)

    told = typer.Option(*flags, help=row.helps(command), metavar=row.takes.metavar, parser=value, autocompletion=offering(row))
    return Annotated[str | None, told]


def offering(row: Row) -> Callable[[str], list[str]] | None:
    """Return what offers the words of an option; None where any word will do."""
    takes = row.takes
    if not (takes.of or takes.words or takes.offered or takes.most):
        return None

    def offer(incomplete: str) -> list[str]:
        """Offer the words that go on from what was typed."""
        numbers = [str(number) for number in range(int(takes.least or 0), int(takes.most or 0) + 1)] if takes.shape is int else ()
        words = WORDS[takes.of]() if takes.of else (takes.words or takes.offered or numbers)
        return continuing(incomplete, words) if takes.shape is tuple else beginning(incomplete, words)

    return offer


def beginning(typed: str, words: Iterable[str]) -> list[str]:
    """Return the words that begin as typed.

    >>> beginning("a4", ("a4", "letter", "a4-landscape"))
    ['a4', 'a4-landscape']
    """
    return [word for word in words if word.startswith(typed)]


def continuing(typed: str, words: Iterable[str]) -> list[str]:
    """Return the lists with commas that go on from what was typed, by a word that is not in it yet.

    >>> continuing("trill,tr", ("trill", "tremolo", "turn"))
    ['trill,tremolo']
    """
    *before, last = typed.split(",")
    return [",".join([*before, word]) for word in beginning(last, words) if word not in before]
