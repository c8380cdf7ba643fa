"""``annotator handout``: for a teacher, the look-through page with the marked score, the worksheet and its answers."""

from __future__ import annotations

from pathlib import Path

from annotator.errors import UsageError
from annotator.options.settings import Call
from annotator.shell.commands.options import Given, Scores
from annotator.shell.running import SCORES, carried_out, each_score

PERMISSION = "copying printed music may need permission: the law where you live decides"


def handout(scores: Scores, given: Given) -> None:
    """Write three PDFs for a lesson: a handout, a worksheet and its answers.

    The handout has a look-through page, the marked score and a legend with examples from the piece. --covered adds a copy without
    the heads of grey notes, to be played from labels and black notes; --warm-up a page of the piece's own figures to begin with; --steps a
    practice series. --one-file puts all in one PDF. With --bars or --hand all of it is made
    of that excerpt. Copying printed music may need permission: the law where you live decides.
    """
    each_score(scores, _hand_out_one, given, folders=SCORES)


def _hand_out_one(source: str, options: Call) -> list[str]:
    """Write the handout of one score; return the lines to say about it."""
    if source == "-":
        raise UsageError("a handout is named after its score: save the score to a file and name that")
    from annotator.products.handout.making import Lesson, plan_handout
    from annotator.products.marked_copies import copying_of

    plan = plan_handout(Path(source), options, copying_of(options), Lesson(options.title, options.class_))
    return [*carried_out(plan, options), *([] if options.dry_run else [PERMISSION])]
