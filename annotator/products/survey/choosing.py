r"""What is wanted of a library: scores ranked, scores like another, and the varied few for today; with the practice log of those.

Conventions
-----------
* Shares and efforts are compared as the table shows them: what is shown as 50 is 50. Equals stand in the order of their paths. Without a
  wish the scores that follow from patterns the most come first.
* *Alike* are two scores as far as they spend their notes on the same figures: the notes of each are split by kind of figure, with those
  of no figure as one more kind, into shares that add up to 1; the likeness is the sum of the smaller share of each kind. It is 1 for the
  same mix, 0 for nothing in common. How long a piece is does not come into it; how hard it is to read does: ten points of effort between
  two scores take a fifth of their likeness away.
* The owner's own levels come from a CSV file with the columns ``file`` and ``level``. ``file`` is a path, from the folder of the CSV file
  where it does not begin at the root; or the bare name of a file, with its ending or without, which then stands for every file of that
  name. A path goes before a name. A level is any word or number.
* A day is an ISO date (``2026-11-25``). Pieces are drawn by chance, but the chance comes from the day: the same day, library and practice
  log of the days before give the same pieces, so asking again on one day gives them again. Copies of one content are one piece.
* The practice log is plain text that its owner may edit or delete: one line a piece, the day, a tab, the path, a tab, the title. Lines that
  do not begin with a day are the owner's own and left alone. Lines are only ever added. ``ANNOTATOR_DATA`` names another folder for it.

Rule of the pieces for a day
----------------------------
The pieces of the last day in the log stay out, and so does what is shorter than ``SHORTEST`` bars. The others are put in order of effort
and cut into as many stretches as pieces are wanted; one is drawn from each: rather one that was not suggested lately, then one whose main
figure is not in the set yet, then one whose composer is not, then by chance. Where the library is too small, what stayed out fills up.

*Rising*, a step harder from day to day: the pieces are drawn from the next ones above the middle effort of the last day, twice as many as
are wanted; on the first day from the easiest, and at the top from the hardest.

Source: the sum of the smaller shares is known as the overlap of two histograms (Swain and Ballard, 1991). Where the log lies: platformdirs.

>>> read_log("# mine\n2026-11-24\t/music/a.mxl\tA Tune\nplayed it twice\n")
[(datetime.date(2026, 11, 24), '/music/a.mxl')]
"""

from __future__ import annotations

import csv
import os
import re
from collections.abc import Callable, Iterable, Mapping, Sequence, Set
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import pairwise
from operator import attrgetter
from pathlib import Path
from random import Random
from statistics import fmean
from typing import Any

from annotator.errors import MissingError, OutputError, SettingsError, UsageError
from annotator.options.settings import Options
from annotator.products.survey.measures import Measured, Measures, Survey
from annotator.products.survey.tables import COLUMNS, Column, printable, title_of

_by_effort = attrgetter("effort", "path")
NO_FIGURE = ""
NOTHING_ALIKE = 50  # points of effort between two scores that have nothing in common for a player; common practice, no source
SHORTEST = 8  # bars of a piece
LATELY = 7  # days in which a piece is rather not drawn again, in a library that is large enough
PLACE_OF_LEVELS = 1 + [column.key for column in COLUMNS].index("effort-in-all")  # beside the effort
HEADING = "# Pieces that annotator suggested, day by day. Edit or delete this as you like: a piece without a line here may come again.\n"


@dataclass(frozen=True, slots=True)
class Wish:
    """What is wanted of a library: the ``options`` of the command, and what these name.

    ``kinds``: scores that drill one of them, those with the greatest part of their notes in them first. ``like``: scores with the same mix
    of figures as this one and about its effort, the most alike first, itself left out. ``levels`` are the owner's own of the scores, by
    their paths; None: there is no such list.
    """

    options: Options = field(default_factory=Options)
    kinds: tuple[str, ...] = ()
    like: Measured | None = None
    levels: Mapping[str, str] | None = None

    def columns(self) -> tuple[Column, ...]:
        """Return the columns of the choice: those of every survey, and behind the title what the wish asks about."""
        asked: list[Column] = []
        if (like := self.like) is not None:
            asked.append(Column("likeness", 0, lambda score: round(alike(score, like), 4), 0, 100))
        if self.kinds:
            asked.append(Column("drilled", 0, lambda score: round(score.measures.share_of(self.kinds), 4), 0, 100))
        levels = () if self.levels is None else (_column_of(self.levels),)
        return (COLUMNS[0], *asked, *COLUMNS[1:PLACE_OF_LEVELS], *levels, *COLUMNS[PLACE_OF_LEVELS:])


def choose(survey: Survey, wish: Wish) -> Survey:
    """Return the survey with the scores wanted, or with those picked of them, in the order wanted."""
    options = wish.options
    scores = sorted([score for score in survey.scores if _wanted(score, wish)], key=lambda score: score.path)
    if options.pick is not None:
        day = day_of(options.seed)
        scores = [score for score in scores if not wish.kinds or score.measures.really_drills(wish.kinds)]
        scores = pick(scores, options.pick, day, suggested_before(day, scores), options.rising)
    if options.pick is None or options.sort is not None:
        scores.sort(key=_order(wish))
        if options.reverse:
            scores.reverse()
    return replace(survey, scores=tuple(scores[: options.limit]))


def _wanted(score: Measured, wish: Wish) -> bool:
    measures, options = score.measures, wish.options
    return (
        (not wish.kinds or measures.share_of(wish.kinds) > 0)
        and (options.share is None or round(100 * measures.share) >= options.share)
        and (options.effort is None or round(score.effort, 1) in options.effort)
        and (wish.like is None or score.digest != wish.like.digest)
    )


def _order(wish: Wish) -> Callable[[Measured], Any]:
    """Return what the order goes by, least first: words whatever their case; a score that has none comes last."""
    values: dict[str, Callable[[Measured], Any]] = {column.key: column.value for column in wish.columns()}
    said = wish.options.sort or ("effort" if wish.options.easiest else None)
    if said is None:
        best = next(values[key] for key in ("likeness", "drilled", "share") if key in values)
        return lambda score: -best(score)
    key = said.strip().casefold().replace("_", "-").replace(" ", "-")
    if key not in values:
        raise UsageError(f"there is no column {said!r}: the columns are {', '.join(values)}")

    def place(score: Measured) -> tuple[bool, Any]:
        """Return the place of a score."""
        found = values[key](score)
        return found in ("", ()), found.casefold() if isinstance(found, str) else found

    return place


def mix(measures: Measures) -> dict[str, float]:
    """Return which part of the notes each kind of figure has; ``NO_FIGURE`` stands for the notes of none."""
    parts = {one.kind: measures.share_of((one.kind,)) for one in measures.kinds}
    whole = max(1.0, sum(parts.values()))  # a note of two figures counts for both
    mixed = {kind: part / whole for kind, part in parts.items()}
    mixed[NO_FIGURE] = max(0.0, 1 - sum(mixed.values()))  # a sum of shares may pass 1 by a hair
    return mixed


def alike(score: Measured, like: Measured) -> float:
    """Return how alike two scores are in mix and effort, from 0 to 1."""
    one, other = mix(score.measures), mix(like.measures)
    common = sum(min(part, other.get(kind, 0.0)) for kind, part in one.items())
    return common * max(0.0, 1 - abs(score.effort - like.effort) / NOTHING_ALIKE)


def levels_of(path: Path, scores: Iterable[Measured]) -> dict[str, str]:
    """Return the levels of scores by their paths. Raises ``MissingError``, or ``SettingsError`` for a file that is no such table."""
    try:
        rows = csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines(), strict=True)
        missing = [column for column in ("file", "level") if column not in (rows.fieldnames or ())]
        if missing:
            raise SettingsError(f"{path}: the column {missing[0]!r} is missing: the first line is file,level")
        told = {row["file"].strip(): (row["level"] or "").strip() for row in rows}
    except OSError as error:
        raise MissingError(f"{path}: cannot be read: {error.strerror or error}") from error
    except (UnicodeDecodeError, csv.Error) as error:
        raise SettingsError(f"{path}: this is no CSV file ({error}): its first line is file,level") from error
    by_place = {os.path.realpath(path.parent / said): level for said, level in told.items()}
    found = {}
    for score in scores:
        name = Path(score.path)
        level = by_place.get(os.path.realpath(name)) or told.get(name.name) or told.get(name.stem)
        if level:
            found[score.path] = level
    return found


def _column_of(levels: Mapping[str, str]) -> Column:
    """Return the column of the owner's own levels: of numbers, where all of them are numbers."""
    numbers = all(level.replace(".", "", 1).isdecimal() for level in levels.values())

    def value(score: Measured) -> float | str:
        """Return the level of a score."""
        said = levels.get(score.path, "")
        return float(said) if said and numbers else said

    return Column("level", 1, value, 0 if numbers else None, shown_as=lambda score, _language: printable(levels.get(score.path, "–")))


def day_of(seed: str | None) -> date:
    """Return the day that a seed names, today where there is none."""
    try:
        return date.fromisoformat(seed.strip()) if seed is not None else date.today()
    except ValueError:
        raise UsageError(f"a seed is a day, written 2026-11-25, not {seed!r}") from None


def pick(scores: Sequence[Measured], count: int, day: date, log: Mapping[str, date], rising: bool = False) -> list[Measured]:
    """Return so many pieces for a day, easy ones first. ``log`` tells on which earlier day each path was last suggested.

    ``rising``: they are a step harder than those of the last day.
    """
    unlike = {score.digest: score for score in sorted(scores, key=lambda one: one.path, reverse=True)}
    pieces = sorted(unlike.values(), key=lambda one: one.path)
    chance = Random(f"annotator {day.isoformat()}")
    chance.shuffle(pieces)
    last = max(log.values(), default=None)
    out = [score for score in pieces if (last is not None and log.get(score.path) == last) or score.measures.bars < SHORTEST]
    fresh = [score for score in pieces if score not in out]
    if rising:
        fresh = _next_above([score for score in out if log.get(score.path) == last], fresh, 2 * count)
    if len(fresh) < count:
        out.sort(key=lambda score: score.measures.bars < SHORTEST)
        return sorted([*fresh, *out[: count - len(fresh)]], key=_by_effort)
    drawn: list[Measured] = []
    days = min(LATELY, len(fresh) // (2 * count))  # so that half the library is left to draw from
    lately = {path for path, before in log.items() if (day - before).days <= days}
    for stretch in _stretches(fresh, count):
        drawn.append(min(stretch, key=lambda score: _preference(score, drawn, lately)))
    return sorted(drawn, key=_by_effort)


def _next_above(before: Sequence[Measured], pieces: Sequence[Measured], count: int) -> list[Measured]:
    """Return the pieces that come next above the middle effort of those of the last day; at the top, the hardest."""
    reached = fmean(score.effort for score in before) if before else 0.0
    ranked = sorted(pieces, key=_by_effort)
    above = sum(score.effort <= reached for score in ranked)
    return ranked[max(0, min(above, len(ranked) - count)) :][:count]


def _stretches(pieces: Sequence[Measured], count: int) -> list[list[Measured]]:
    """Return the pieces cut by effort into stretches of about one length, each in the order of chance."""
    order = {score.path: place for place, score in enumerate(pieces)}
    ranked = sorted(pieces, key=_by_effort)
    edges = [round(place * len(ranked) / count) for place in range(count + 1)]
    return [sorted(ranked[start:stop], key=lambda one: order[one.path]) for start, stop in pairwise(edges)]


def _preference(score: Measured, drawn: Sequence[Measured], lately: Set[str]) -> tuple[bool, int, int]:
    """Return what a piece is drawn by, least first; of equals the first in the order of chance is drawn."""
    composer = score.measures.composer.casefold()
    like_it = sum(one.measures.drills[:1] == score.measures.drills[:1] for one in drawn)
    by_the_same = sum(one.measures.composer.casefold() == composer for one in drawn) if composer else 0
    return score.path in lately, like_it, by_the_same


def log_path() -> Path:
    """Return where the log lies."""
    from platformdirs import user_data_path

    return Path(os.environ.get("ANNOTATOR_DATA") or user_data_path("annotator", appauthor=False)) / "practice-log.txt"


def read_log(text: str) -> list[tuple[date, str]]:
    """Return the day and the path of each line that has them."""
    found = []
    for day, path in re.findall(r"^ *(\d{4}-\d\d-\d\d) *\t([^\t\n]+)", text, re.M):
        with suppress(ValueError):  # the 31st of June
            found.append((date.fromisoformat(day), path))
    return found


def suggested_before(day: date, scores: Sequence[Measured]) -> dict[str, date]:
    """Return on which day before ``day`` each of the scores was last suggested, by its path as the survey shows it."""
    names = {_path_in_log(score): score.path for score in scores}
    last: dict[str, date] = {}
    for when, place in read_log(_log()):
        if when < day and place in names:
            last[names[place]] = max(when, last.get(names[place], when))
    return last


def add(day: date, scores: Sequence[Measured]) -> None:
    """Add the pieces suggested on a day, but for those that already stand there. Raises an ``OutputError``."""
    text = _log()
    there = read_log(text)
    new = [f"{day.isoformat()}\t{_path_in_log(score)}\t{title_of(score)}\n" for score in scores if (day, _path_in_log(score)) not in there]
    start = HEADING if not text else "" if text.endswith("\n") else "\n"
    if not new:
        return
    path = log_path()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("a", encoding="utf-8") as stream:
            stream.write(start + "".join(new))
    except OSError as error:
        raise OutputError(f"{path} cannot be written, so tomorrow may bring the same pieces: {error.strerror or error}") from error


def _path_in_log(score: Measured) -> str:
    """Return the path that a score has in the log."""
    return " ".join(os.path.realpath(score.path).encode("utf-8", "replace").decode().split())


def _log() -> str:
    """Return what stands in the log."""
    path = log_path()
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except (FileNotFoundError, NotADirectoryError):
        return ""
    except OSError as error:
        raise MissingError(f"{path}: the practice log cannot be read ({error.strerror or error}): mend or remove it") from error
