"""The commands that write copies of scores: ``mark`` (and ``--watch``), ``plain``, ``compare``, ``handout``.

Each is a function that takes what was typed, and one that does the work for one score and returns the lines to say about it. What one of
them needs is imported when it works.

Rule of ``--watch``
-------------------
* At first every score without a marked copy as new as itself is marked; then, whenever something changes below the folders, what is new
  or not as it was. What could not be marked is tried again when it has changed, not before.
* A file is looked at once nobody has written to it for ``SETTLED`` seconds, so that one that is still being copied is waited for.
* The program's own copies are no scores (``gathering``), so that writing them starts nothing.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from glob import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

from annotator.errors import AnnotatorError, UsageError
from annotator.options.settings import Options
from annotator.shell.configuration import in_force
from annotator.shell.running import MARKED_COPIES, SCORES, Found, Given, carried_out, each_score, folder_of, gathered, interrupted, run_all
from annotator.shell.streams import UNNAMED, standard_input, standard_output, tell

if TYPE_CHECKING:
    from annotator.products.planning import Plan

PERMISSION = "copying printed music may need permission: the law where you live decides"
SETTLED = 1.0  # seconds
LOOK_AGAIN = 1_000  # milliseconds after which a file that was not settled is looked at again


def mark(scores: Sequence[str], given: Given) -> None:
    """Write a marked copy: MusicXML, PDF and pictures.

    Each figure gets a bracket that names it, and the notes that follow from the name turn grey. The source is never written to.
    Copying printed music may need permission: the law of your country decides.
    """
    if given.get("watch"):
        _watch(scores, given)
    each_score(scores, mark_one, given, folders=SCORES)


def plain(scores: Sequence[str], given: Given) -> None:
    """Take the marks out again.

    Everything else stays as it was, and a score without marks comes out unchanged.
    """
    each_score(scores, _plain_one, given, folders=MARKED_COPIES)


def compare(scores: Sequence[str], given: Given) -> None:
    """Set plain and marked side by side, on paper and on screen.

    In the PDF each plain system has its marked twin below it; on the page for the browser the marks fade in and out. Copying printed music
    may need permission: the law of your country decides.
    """
    each_score(scores, _compare_one, given, folders=SCORES)


def handout(scores: Sequence[str], given: Given) -> None:
    """For a lesson: look-through page, worksheet and answers.

    Three PDFs. The handout has a look-through page, the marked score and a legend with examples from the piece. --covered adds a copy
    without the heads of grey notes, to be played from labels and black notes; --warm-up a page of the piece's own figures to begin with;
    --steps a practice series. --one-file puts all in one PDF. With --bars or --hand all of it is made of that excerpt.
    Copying printed music may need permission: the law where you live decides.
    """
    each_score(scores, _hand_out_one, given, folders=SCORES)


def mark_one(source: str, options: Options) -> list[str]:
    """Mark one score; from standard input to standard output, unless there is a folder to write to."""
    from annotator.products.marked_copies import plan_marks

    if source == "-" and options.out is None:
        if "musicxml" not in options.formats:
            raise UsageError("standard output takes MusicXML alone: say with --out where the other files go")
        if options.steps:
            raise UsageError("--steps writes several files: say with --out where they go")
        options = replace(options, formats=("musicxml",))
    if not options.dry_run and options.formats != ("musicxml",):
        from annotator.pages.engraver import start_ahead

        start_ahead()
    return _from_anywhere(source, options, lambda path, data: plan_marks(path, options, data))


def _plain_one(source: str, options: Options) -> list[str]:
    """Write the plain copy of one score."""
    from annotator.products.marked_copies import plan_plain

    return _from_anywhere(source, options, lambda path, data: plan_plain(path, options.out, options.force, data))


def _from_anywhere(source: str, options: Options, plan: Callable[[Path, bytes | None], Plan[Any]]) -> list[str]:
    """Write what is planned of a score; one from standard input, unless there is a folder, goes through to standard output."""
    if source != "-":
        return carried_out(plan(Path(source), None), options)
    planned = plan(Path(UNNAMED), standard_input())
    if options.out is not None:
        return carried_out(planned, options)
    if options.dry_run:
        return [*planned.notices, "would write the score to standard output"]
    standard_output().buffer.write(planned.files[0].data or b"")
    return list(planned.notices)


def _compare_one(source: str, options: Options) -> list[str]:
    """Compare plain and marked of one score."""
    if source == "-":
        raise UsageError("compare writes two files and needs a file to name them after: save the score first")
    from annotator.products.compare.comparison import plan_comparison

    return carried_out(plan_comparison(Path(source), options), options)


def _hand_out_one(source: str, options: Options) -> list[str]:
    """Write the handout of one score."""
    if source == "-":
        raise UsageError("a handout is named after its score: save the score to a file and name that")
    from annotator.products.handout.making import plan_handout

    plan = plan_handout(Path(source), options)
    return [*carried_out(plan, options), *([] if options.dry_run else [PERMISSION])]


def _watch(folders: Sequence[str], given: Given) -> NoReturn:
    """Mark the scores of folders, and again what comes and changes, until an interrupt exits."""
    options = Options(**given)
    for folder in folders:
        if not Path(folder).is_dir():
            raise UsageError(f"{folder}: --watch takes folders, and this is none")
    if options.dry_run:
        raise UsageError("--watch writes as it goes on: leave --dry-run out")
    done: dict[str, int] = {}
    waiting = True
    try:
        for changed in _changes(folders, options.quiet):
            if changed or waiting:
                there = [(score, written) for score in gathered(folders, SCORES)[0] if (written := _written(score.name))]
                settled = [each for each in there if not 0 <= time.time() - each[1] / 1e9 < SETTLED]
                waiting = settled != there
                due = [score for score, written in settled if _is_due(score, written, done, given)]
                done |= {score.name: written for score, written in settled}
                if due:
                    run_all(due, mark_one, given)
    except KeyboardInterrupt:
        pass
    interrupted()


def _changes(folders: Sequence[str], quiet: bool) -> Iterator[object]:
    """Yield what changes, and now and then nothing: what comes while scores are being marked is not missed."""
    try:
        from watchfiles import watch
    except ImportError:
        raise UsageError("--watch needs the package watchfiles, which is not here: pip install 'annotator[watch]'") from None
    if not quiet:
        tell(f"watching {', '.join(folders)}: put scores in, Ctrl-C ends it")
    yield from watch(*folders, rust_timeout=LOOK_AGAIN, yield_on_timeout=True)


def _written(name: str) -> int:
    """Return when a file was written, in nanoseconds; 0: it has gone again."""
    try:
        return Path(name).stat().st_mtime_ns
    except OSError:
        return 0


def _is_due(found: Found, written: int, done: Mapping[str, int], given: Given) -> bool:
    """Return whether a score has changed since it was ``done``, or was not done and has no marked copy as new as itself."""
    if found.name in done:
        return done[found.name] != written
    source = Path(found.name)
    try:
        out = in_force(folder_of(found.name), given).options.out
    except AnnotatorError:
        return True
    folder = source.parent if out is None else out / found.below
    stem = source.with_suffix("").stem if source.suffix.lower() == ".gz" else source.stem
    return not any(_written(str(copy)) >= written for copy in folder.glob(f"{escape(stem)}-marked[.-]*"))
