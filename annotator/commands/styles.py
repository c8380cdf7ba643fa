"""``annotator styles``: the styles there are, and the text of one to copy and change."""

from __future__ import annotations

from typing import Annotated

import typer

from annotator.commands.streams import standard_output
from annotator.running import Shown, guarded

styles_app = typer.Typer(add_completion=False, invoke_without_command=True, help="List the styles there are and what each is for.")


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

        standard_output().write(style_text(name))

    guarded(show, Shown())


def _list_styles() -> None:
    """Print the styles there are."""
    from annotator.style import available

    for style in available():
        standard_output().write(f"{style.name:14} {style.description}\n")
