"""The options of a run: one table, a row an option.

The rows are the fields of ``Options``: a field has the name, type and default of its row, and says what it takes, what it is for and which
commands have it. The command line, the project file, completion, the command ``settings``, the README's table and what ``annotator.mark``
takes by name come from here. To add an option, add a row, and use it.
"""
# ruff: noqa: RUF009 - ``option`` makes fields, as ``dataclasses.field`` does

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

from annotator.options.option import Bars, Between, Row, Takes, known, value_of

LANGUAGES = ("en", "de", "fr", "it")
HANDS = ("right", "left", "both")
PAPERS = ("a4", "letter", "a4-landscape", "tablet")
BREAKS = ("even", "source")
FORMATS = ("musicxml", "pdf", "svg", "png")
MOST_STEPS = 4  # copies of a practice series
FEWEST_OF_A_RUN = 4  # the least that ``Options.shortest`` may be: a shorter run costs more to read as a label than it saves

FINDING = ("mark", "figures", "compare", "handout")
ENGRAVING = ("mark", "compare", "handout")
WRITING = ("mark", "plain", "compare", "handout")
ON_SCORES = (*FINDING, "plain")
SHAPES = ("figures", "survey")

CALL = {"in_file": False, "in_python": False}
"""A matter of one call of a command: no project file and no function sets it."""
OWN = {**CALL, "first": True}
"""That, and one of the command's own, which stand first in its help."""

T = TypeVar("T")


def option(default: T, takes: Takes, help: str, commands: tuple[str, ...], **more: Any) -> T:
    """Return the field of a row. To a type checker it is its default; ``ROWS`` has the row."""
    return field(default=default, metadata={"takes": takes, "help": help, "commands": commands, **more})


FLAG = Takes(bool)
KINDS = Takes(tuple, "KIND,…", of="kinds", besides="a family such as runs, a pattern such as hands-*, or a name that the tables print")
HOW_MANY = Takes(int, "N", least=1)


@dataclass(frozen=True, init=False, repr=False)
class Options:
    """What to look for, where, and how it is shown. The fields are described by the help of the commands.

    Options are given by name. Texts and lists are taken as they are typed, too. Raises ``UsageError`` for a name or a value that is none;
    kinds are looked up where figures are looked for. What a level sets holds where nothing else is said.

    >>> options = Options(kinds="scale-run,arpeggio", bars="5-12", language="de")
    >>> options.kinds, options.bars
    (('scale-run', 'arpeggio'), (('5', '12'),))
    >>> Options(hand="rigth")
    Traceback (most recent call last):
    annotator.errors.UsageError: hand = 'rigth' is wrong (did you mean 'right'?): it takes right, left, both
    """

    out: Path | None = option(
        None, Takes(Path, "FOLDER"), "Where the files go; made if it is not there.", (*WRITING, "survey"),
        unset="beside the source", of_survey="Folder for the page (survey.html).",
    )  # fmt: skip
    style: str = option(
        "default", Takes(str, "STYLE", of="styles"),
        "The look: a name that 'annotator styles' lists, or a .toml file of your own.", ENGRAVING, unset="the one called default",
    )  # fmt: skip
    facing: bool = option(
        False, FLAG, "In the PDF, plain on left pages and marked on right ones. Print on both sides, turned over the long edge.",
        ("compare",), first=True,
    )  # fmt: skip
    title: str | None = option(None, Takes(str, "TEXT"), "A title in place of the score's.", ("handout",), first=True)
    class_: str | None = option(None, Takes(str, "TEXT"), "Whom it is for: 'Grade 3, week 2'.", ("handout",), first=True)
    level: int | None = option(
        None, Takes(int, "N", least=1, most=3), "Style, steps and kinds for a pupil, {least} (first years) to {most} (fluent).",
        ENGRAVING, first=True, unset="none",
    )  # fmt: skip
    warm_up: bool = option(
        False, FLAG, "Also a warm-up page: the piece's own figures, each once, hands apart and then together.", ("handout",), first=True
    )
    one_file: bool = option(False, FLAG, "All of it in one PDF, in print order, each part on a sheet of its own.", ("handout",), first=True)
    covered: bool = option(
        False, FLAG, "Also write a covered copy: grey notes without heads, the marked score being its answer.", ("handout",), first=True
    )
    paper: str = option("a4", Takes(str, "PAPER", PAPERS), "{values}.", ENGRAVING)
    formats: tuple[str, ...] = option(
        ("musicxml", "pdf"), Takes(tuple, "FORMAT,…", FORMATS, least=1), "What is written: {values}; svg and png one picture a page.",
        ("mark",), unset="musicxml,pdf",
    )  # fmt: skip
    breaks: str = option("even", Takes(str, "BREAKS", BREAKS), "Where lines end: even, or source (where the score has them).", ENGRAVING)
    language: str = option("en", Takes(str, "LANGUAGE", LANGUAGES), "What labels and tables are in: {values}.", (*FINDING, "survey"))
    kinds: tuple[str, ...] | None = option(
        None, KINDS, "Look for these only: kinds (listed below), families such as runs, patterns such as hands-*.", FINDING,
        unset="all but block-chord",
    )  # fmt: skip
    without: tuple[str, ...] = option((), KINDS, "Leave these kinds out.", FINDING, unset="none")
    hand: str = option("both", Takes(str, "HAND", HANDS), "Look at one hand only: {values}.", FINDING)
    bars: Bars | None = option(
        None, Takes(range, "FIRST-LAST"), "Only these bars, by their printed numbers: 5-12, 5, 5-, -12 or 1-4,9-12.", FINDING, unset="all"
    )
    shortest: int = option(5, Takes(int, "N", least=FEWEST_OF_A_RUN), "Fewest notes of a run, {least} or more.", FINDING)
    saves: int | None = option(
        None, HOW_MANY, "Fewest notes that a label must save to be shown.", FINDING, unset="3, or what the style says"
    )
    parts: tuple[str, ...] | None = option(
        None, Takes(tuple, "NAME,…", offered=("all",)), "Names of parts, or all.", FINDING, unset="the keyboard parts"
    )
    steps: int | None = option(
        None, Takes(int, "N", least=1, most=MOST_STEPS), "Write a practice series of {least} to {most} copies, with less and less help.",
        ("mark", "handout"), unset="one copy, no series",
    )  # fmt: skip
    force: bool = option(False, FLAG, "Write over files that this program did not make.", (*WRITING, "survey"), in_file=False)

    kind: tuple[str, ...] | None = option(
        None, KINDS, "Scores that drill these, best first: kinds (listed below), families such as runs, patterns.", ("survey",), **OWN
    )
    explain: str | None = option(
        None, Takes(str, "KIND", of="kinds"), "Say what this kind of figure is, with an example; needs no score.", ("figures",), **OWN
    )
    why: str | None = option(
        None, Takes(str, "BAR"), "Say of each note of this bar (its printed number) whether it is black or grey, and why.", ("figures",),
        **OWN,
    )  # fmt: skip
    easiest: bool = option(False, FLAG, "Least reading effort first.", ("survey",), **OWN)
    like: str | None = option(
        None, Takes(str, "SCORE"), "Scores with the same mix of figures and about its effort, most alike first.", ("survey",), **OWN
    )
    effort: Between | None = option(
        None, Takes(Between, "FROM-TO", least=0, most=100), "Only scores whose reading effort a bar lies between: 20-35, 20- or -35.",
        ("survey",), **OWN,
    )  # fmt: skip
    share: float | None = option(
        None, Takes(float, "N", least=1, most=100), "Only scores of which at least so many notes in 100 are grey.", ("survey",),
        **OWN,
    )  # fmt: skip
    levels: Path | None = option(
        None, Takes(Path, "FILE"), "Levels of your own, shown beside the effort: a CSV file with the columns file,level.", ("survey",),
        **OWN,
    )  # fmt: skip
    pick: int | None = option(None, HOW_MANY, "So many pieces for today, easy to hard.", ("survey",), **OWN)
    rising: bool = option(False, FLAG, "With --pick: a step harder than those of the last day.", ("survey",), **OWN)
    seed: str | None = option(None, Takes(str, "DATE"), "The day to pick for, as 2026-11-25 (default: today).", ("survey",), **OWN)
    sort: str | None = option(None, Takes(str, "COLUMN"), "Order by this column (listed below), least first.", ("survey",), **OWN)
    reverse: bool = option(False, FLAG, "Turn the order round.", ("survey",), **OWN)
    limit: int | None = option(None, HOW_MANY, "Show the first so many only.", ("survey",), **OWN)
    watch: bool = option(
        False, FLAG, "Go on until Ctrl-C: mark what is put into the folder, and anew what changes there.", ("mark",), **OWN
    )
    json: bool = option(False, FLAG, "Print the whole report as JSON.", SHAPES, **OWN, of_survey="Print all that is known as JSON.")
    csv: bool = option(
        False, FLAG, "Print one line a figure, with commas.", SHAPES, **OWN,
        of_survey="Print one line a score, with commas.",
    )  # fmt: skip
    corrections: bool = option(
        False, FLAG, "Write SCORE.corrections.toml, all figures as comments, to drop or rename some.", ("figures",), **OWN
    )
    html: bool = option(
        False, FLAG, "Write a page with charts: to FILE.html if one is named, else survey.html or standard output.", ("survey",),
        **OWN,
    )  # fmt: skip
    cluster: str | None = option(
        None, Takes(str, "ADDRESS"), "Have the scores read by the workers of this dask scheduler.", ("survey",), **CALL
    )
    no_cache: bool = option(False, FLAG, "Read every file anew, and keep nothing.", ("survey",), **CALL)
    dry_run: bool = option(
        False, FLAG, "Say what would be written, and whether it would be refused; write and engrave nothing.", WRITING, **CALL
    )
    jobs: int | None = option(
        None, HOW_MANY, "How many scores to work on at once.", (*WRITING, "survey"), unset="1; survey takes every core", in_python=False
    )
    quiet: bool = option(False, FLAG, "Say nothing but errors.", (*ON_SCORES, "survey"), short="-q", **CALL)
    verbose: bool = option(False, FLAG, "Say more of what is done.", (*ON_SCORES, "survey"), short="-v", **CALL)
    debug: bool = option(False, FLAG, "Show the traceback of a fault of the program.", (*ON_SCORES, "survey"), **CALL)

    def __init__(self, **given: Any) -> None:
        known(given, [row.name for row in ROWS])
        values = {row.name: _value(row, given[row.name]) for row in ROWS if row.name in given}
        by_level = levels()[str(values["level"])] if values.get("level") else {}
        leveled = {row.name: value_of(row, by_level[row.key]) for row in ROWS if row.key in by_level}
        vars(self).update({row.name: row.default for row in ROWS} | leveled | values)

    def __repr__(self) -> str:
        """Return what is not as it is by default."""
        said = ((row.name, getattr(self, row.name)) for row in ROWS if getattr(self, row.name) != row.default)
        return f"Options({', '.join(f'{name}={value!r}' for name, value in said)})"


ROWS = tuple(Row(each.name, each.default, **each.metadata) for each in fields(Options))
"""The table."""


def _value(row: Row, given: object) -> Any:
    """Return the value that was given; what an option is by default need be none that it takes."""
    return given if given == row.default else value_of(row, given)


@cache
def levels() -> dict[str, dict[str, Any]]:
    """Return what each level sets, by the keys of options: the table in ``levels.toml``."""
    import tomllib

    return tomllib.loads(Path(__file__).with_name("levels.toml").read_text(encoding="utf-8"))


def row_of(name: str) -> Row:
    """Return the row of a field."""
    return next(row for row in ROWS if row.name == name)


def rows_of(command: str) -> tuple[Row, ...]:
    """Return the rows of a command as its help lists them: its own first. ``settings`` has all that may be said of a run."""
    wanted = [row for row in ROWS if command in row.commands or (command == "settings" and row.in_file)]
    return tuple(sorted(wanted, key=lambda row: not row.first))


def options_of(given: Mapping[str, Any], command: str) -> Options:
    """Return the options that a call from Python gave by name: those of a command, and no others."""
    known(given, [row.name for row in ROWS if row.in_python and command in row.commands])
    return Options(**given)
