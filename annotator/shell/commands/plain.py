"""``annotator plain``: the marks taken out again."""

from __future__ import annotations

from pathlib import Path

from annotator.options.settings import Call
from annotator.shell.commands.options import Given, Scores
from annotator.shell.commands.streams import UNNAMED, standard_input, standard_output
from annotator.shell.running import MARKED_COPIES, carried_out, each_score


def plain(scores: Scores, given: Given) -> None:
    """Take the marks out of each score again and leave everything else as it was.

    A score without marks comes out unchanged.
    """
    each_score(scores, _plain_one, given, folders=MARKED_COPIES)


def _plain_one(source: str, options: Call) -> list[str]:
    """Write the plain copy of one score; return the lines to say about it."""
    from annotator.products.marked_copies import plain_bytes, plan_plain

    if source != "-":
        return carried_out(plan_plain(Path(source), options.out, options.force), options)
    if options.out is not None:
        return carried_out(plan_plain(Path(UNNAMED), options.out, options.force, standard_input()), options)
    data, document = plain_bytes(standard_input())
    if options.dry_run:
        return [*document.notices, "would write the plain score to standard output"]
    standard_output().buffer.write(data)
    return list(document.notices)
