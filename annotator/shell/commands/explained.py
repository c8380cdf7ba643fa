"""Commands that explain themselves: below the options of ``-h`` stand examples and what else there is to know."""

from __future__ import annotations

import sys
from inspect import cleandoc
from typing import Any

from typer.core import TyperCommand, TyperGroup

from annotator.shell.running import close_output


class Quiet:
    """A command whose help may be read in part: ``annotator -h | head`` has nothing to complain about."""

    def format_help(self, ctx: Any, formatter: Any) -> None:
        """Write the help, to the end or as far as it is read."""
        try:
            super().format_help(ctx, formatter)  # type: ignore[misc]
            if sys.stdout is not None:
                sys.stdout.flush()
        except (BrokenPipeError, SystemExit):  # which rich makes of it
            close_output()


class Explained(Quiet, TyperCommand):
    """A command with examples. They are made when help is asked for."""

    def format_help(self, ctx: Any, formatter: Any) -> None:
        """Write the help, the examples last."""
        self.help, self.epilog = in_paragraphs(self.help), _below(self.name)
        super().format_help(ctx, formatter)


class ExplainedGroup(Quiet, TyperGroup):
    """A command that has commands of its own, with examples."""

    def format_help(self, ctx: Any, formatter: Any) -> None:
        """Write the help, the examples last."""
        self.help, self.epilog = in_paragraphs(self.help), _below(self.name)
        super().format_help(ctx, formatter)


def in_paragraphs(text: str | None) -> str:
    r"""Return a text whose lines go on until their paragraph ends, so that it fills a terminal of any width.

    >>> in_paragraphs("One\n  line.\n\nAnother.")
    'One line.\n\nAnother.'
    """
    return "\n\n".join(" ".join(paragraph.split()) for paragraph in cleandoc(text or "").split("\n\n"))


def _below(name: str | None) -> str:
    from annotator.shell.commands.help_texts import below_the_options

    return below_the_options(name or "")
