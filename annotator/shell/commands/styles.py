"""``annotator styles``: the styles there are, and the text of one to copy and change."""

from __future__ import annotations

from typing import Annotated

import typer

from annotator.options.settings import row_of
from annotator.shell.commands.explained import Explained, ExplainedGroup
from annotator.shell.commands.options import name as name_of
from annotator.shell.commands.options import offering
from annotator.shell.commands.streams import standard_output
from annotator.shell.running import guarded

STYLE_NAMES = offering(row_of("style"))

styles_app = typer.Typer(
    cls=ExplainedGroup,
    add_completion=False,
    invoke_without_command=True,
    help="List the styles there are and what each is for, one a line, its name first.",
)


@styles_app.callback()
def styles(context: typer.Context) -> None:
    """List the styles, one a line."""
    if context.invoked_subcommand is None:
        guarded(_list_styles)


StyleToShow = Annotated[
    str, typer.Argument(metavar="STYLE", help="The style's name, or a style file.", parser=name_of, autocompletion=STYLE_NAMES)
]


@styles_app.command("show", cls=Explained)
def show_style(name: StyleToShow) -> None:
    """Print a style's TOML, every key explained, to copy and change."""

    def show() -> None:
        """Print it."""
        from annotator.marks.style import style_text

        standard_output().write(style_text(name))

    guarded(show)


def _list_styles() -> None:
    """Print the styles there are."""
    from annotator.marks.style import available

    for style in available():
        standard_output().write(f"{style.name:14} {style.description}\n")
