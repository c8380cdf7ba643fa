"""The user's last word: ``piece.corrections.toml`` beside ``piece.musicxml``, read, put in force on a report, and begun for the user.

Conventions
-----------
* There are tables of four sorts. ``[[drop]]`` takes a figure off the page, ``[[label]]`` gives one other words, ``[[read]]`` keeps notes
  black, ``[[bracket]]`` is a bracket of one's own. Bars are printed numbers, beats are counted from 1 in the unit of the time signature's
  lower number. A marked or plain copy (``piece-marked``) has the corrections of its own score.
* What is dropped is not replaced by the next best figure: its notes are simply black.
* More black notes take nothing away from the law: what follows from labels and black notes still does.
* A bracket of one's own is a figure of the kind ``own-bracket``. It greys nothing unless it says so; then the first notes are black, the
  others the editor's word, and the page's foot says so.
* Corrections that fit no figure because it was not looked for (``--bars``, ``--hand``, ``--kinds`` …) are no news; all others are told.

>>> corrections_in('drop = [{ bar = 5, hand = "right", kind = "scale-run" }]', "piece.corrections.toml")[0].bar
'5'
"""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from fractions import Fraction
from itertools import groupby
from pathlib import Path
from typing import Any, NamedTuple

from annotator.errors import SettingsError, UsageError
from annotator.figures.figure import Figure
from annotator.figures.lines import hand_of
from annotator.figures.registry import KINDS_BY_NAME, OWN
from annotator.marks.finding import figures_of, find_figures, notes_looked_at
from annotator.marks.report import Report, in_time, named
from annotator.music.score import Note, Part, Score
from annotator.options.option import LINE, Bars, Takes, known, line, taken, text_in, toml_of
from annotator.options.settings import FLAG, HANDS, Options, row_of
from annotator.words.labels import labels

ENDING = ".corrections.toml"
_COPY = re.compile(r"-(marked(-step-\d)?|plain)$")


class Correction(NamedTuple):
    """One table of a file. ``entry`` is what messages call it; of the rest, each sort has what it takes.

    ``bar``, ``hand`` and as far as is said ``beat``, ``kind``, ``label`` (in any length) say which figure is meant, ``text`` and ``short``
    what it is to be called. ``bars`` (as the option has them) or ``notes`` (ids) are to be read. A bracket goes from ``start`` to
    ``end`` (bar, beat); ``grey``: all but its first notes are grey, on the editor's word.
    """

    sort: str
    entry: str
    hand: str = "both"
    bar: str = ""
    beat: float | None = None
    kind: str | None = None
    label: str | None = None
    text: str = ""
    short: str = ""
    bars: Bars = ()
    notes: tuple[str, ...] = ()
    start: tuple[str, float] = ("", 1)
    end: tuple[str, float] = ("", 1)
    grey: bool = False


# The file.


def place_of(source: Path) -> Path:
    """Return where the corrections of a score stand, or would stand.

    >>> place_of(Path("piece.mxl")).name, place_of(Path("a-marked.musicxml")).name
    ('piece.corrections.toml', 'a.corrections.toml')
    """
    stem = (source.with_suffix("") if source.suffix.lower() == ".gz" else source).stem
    own = source.with_name(stem + ENDING)
    bare = _COPY.sub("", stem)
    return own if _there(own) or not bare else source.with_name(bare + ENDING)


def _there(place: Path) -> bool:
    return os.path.isfile(place)  # noqa: PTH113 (a name that is too long is no error here)


def corrections_of(source: Path) -> tuple[Correction, ...] | None:
    """Return the corrections that stand beside a score; None where there are none. Raises a ``SettingsError`` for a wrong file."""
    place = place_of(source)
    return corrections_in(text_in(place), str(place)) if _there(place) else None


def corrections_in(text: str, name: str) -> tuple[Correction, ...]:
    """Return what the text of a file says. ``name`` stands before messages."""
    try:
        tables = toml_of(text, name)
        known(tables, _SORTS, "table")
        for sort, rows in tables.items():
            if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
                raise UsageError(f"{sort} is a list of tables: write [[{sort}]] over each")
        return tuple(
            _correction(sort, f"[[{sort}]] {number}" if len(rows) > 1 else f"[[{sort}]]", row)
            for sort, rows in tables.items()
            for number, row in enumerate(rows, 1)
        )
    except UsageError as error:
        raise SettingsError(f"{name}: {error}") from error


def _correction(sort: str, entry: str, row: dict[str, Any]) -> Correction:
    """Return what one table says, its keys and values checked."""
    needed, others = _SORTS[sort]
    keys = needed | others
    try:
        known(row, keys, "key")
        for key in needed:
            if key not in row:
                raise UsageError(f"{key} is missing: the keys are {', '.join(keys)}")
        if sort == "read" and ("bars" in row) == ("notes" in row):
            raise UsageError("it takes either bars (and a hand) or notes")
        values = {{"from": "start", "to": "end"}.get(key, key): taken(keys[key], given, key) for key, given in row.items()}
    except UsageError as error:
        raise UsageError(f"{entry}: {error}") from error
    return Correction(sort, entry, **{"short": values.get("text", ""), **values})


def _bar(given: Any) -> str:
    return line(given if isinstance(given, bool) else str(given) if isinstance(given, int) else given)


def _moment(given: Any) -> tuple[str, float]:
    return _bar(given["bar"]), taken(BEAT, given.get("beat", 1), "beat")


BAR = Takes(_bar, besides="a printed bar number")
BEAT = Takes(float, least=1)
HAND = Takes(str, words=("right", "left"))
KIND = Takes(str, words=tuple(KINDS_BY_NAME))
WHICH = {"beat": BEAT, "kind": KIND, "label": LINE}
MOMENT = Takes(_moment, besides="a bar and a beat: { bar = 5, beat = 1 }")
_SORTS: dict[str, tuple[dict[str, Takes], dict[str, Takes]]] = {
    "drop": ({"bar": BAR, "hand": HAND}, WHICH),
    "label": ({"bar": BAR, "hand": HAND, "text": LINE}, {**WHICH, "short": LINE}),
    "read": ({}, {"bars": Takes(range), "hand": Takes(str, words=HANDS), "notes": Takes(tuple, least=1)}),
    "bracket": ({"from": MOMENT, "to": MOMENT, "hand": HAND, "text": LINE}, {"short": LINE, "grey": FLAG}),
}
"""The keys that a table of each sort needs, those that it may have, and what each takes."""


# In force on a report.


def find_corrected(score: Score, options: Options, whole: Score | None = None) -> tuple[Report, tuple[str, ...]]:
    """Return the figures of a score as its file of corrections would have them, and what there is to tell of that file.

    ``whole`` is the score that corrections are held against where this is an excerpt of it. Raises what ``find_figures``
    does, and a ``SettingsError`` for a wrong file.
    """
    report = find_figures(score, options)
    source = Path(score.document.name) if score.document is not None else None
    given = None if source is None else corrections_of(source)
    if source is None or given is None:
        return report, ()
    made, strangers = corrected(report, given)
    if strangers:
        everything = Options(language=options.language, parts=options.parts)
        strangers = corrected(figures_of(whole or score, everything), given)[1]
    counts = ((word, sum(each.sort == sort for each in given)) for sort, (word, _) in _MAKING.items())
    said = ", ".join(f"{word} {count}" for word, count in counts if count) or "none in force"
    return made, (f"corrections from {place_of(source)}: {said}", *(f"{place_of(source)}: {each}" for each in strangers))


def corrected(report: Report, given: Sequence[Correction]) -> tuple[Report, tuple[str, ...]]:
    """Return a report with corrections in force, and a line for each of them that does not fit the score."""
    figures = [figure for _, figure in report.figures]
    strangers: list[str] = []
    for sort, (_, make) in _MAKING.items():
        for each in [each for each in given if each.sort == sort]:
            figures, said = make(report, figures, each)
            strangers += [f"{each.entry}{line}" for line in said]
    return replace(report, figures=named(report.score, figures)), tuple(strangers)


Made = tuple[list[Figure], list[str]]
"""The figures once a correction has been made, and what there is to say where it fits none."""


def _dropped(report: Report, figures: list[Figure], drop: Correction) -> Made:
    meant = _meant(report, figures, drop)
    return [figure for figure in figures if figure not in meant], [] if meant else [_nothing(drop)]


def _renamed(report: Report, figures: list[Figure], label: Correction) -> Made:
    meant = _meant(report, figures, label)
    if len(meant) != 1:
        several = f" fits {len(meant)} figures (bar {label.bar}, {label.hand} hand): say which by beat, kind or label"
        return figures, [several if meant else _nothing(label)]
    words = (label.text, label.text, label.short)
    return [replace(figure, own_words=words) if figure is meant[0] else figure for figure in figures], []


def _bracketed(report: Report, figures: list[Figure], own: Correction) -> Made:
    for part in report.score.parts:
        first, last = (_tick(part, *end, report.score.resolution) for end in (own.start, own.end))
        counted = [note for note in part.notes if note.number in report.counted and first <= note.tick <= last]
        struck = in_time(note for note in counted if hand_of(part, note) == own.hand)
        if struck:
            return [*figures, _bracket(own, part, struck)], []
    start, end = (f"bar {bar}, beat {beat:g}" for bar, beat in (own.start, own.end))
    return figures, [f" ({own.text!r}): no note of the {own.hand} hand from {start} to {end}"]


def _kept_black(report: Report, figures: list[Figure], read: Correction) -> Made:
    notes = [note for part in report.score.parts for note in part.notes]
    if read.notes:
        numbers = {note.number for note in notes if note.id in read.notes}
        there = {note.id for note in notes}
        said = [f": there is no note {each}" for each in read.notes if each not in there]
    else:
        asked, numbers = Options(bars=read.bars, hand=read.hand), set()
        for part in report.score.parts:
            with suppress(UsageError):  # it has no such bar
                numbers |= {note.number for note in notes_looked_at(part, asked)}
        said = [] if numbers else [f": no note stands in bars {row_of('bars').text(asked)}"]
    return [_blackened(figure, numbers) for figure in figures], said


_MAKING = {
    "drop": ("dropped", _dropped),
    "label": ("renamed", _renamed),
    "bracket": ("brackets added", _bracketed),
    "read": ("kept black", _kept_black),
}
"""In which order corrections are made, what is said of their number, and what makes one."""


def _meant(report: Report, figures: list[Figure], which: Correction) -> list[Figure]:
    """Return the figures that a correction means."""
    found = []
    for figure in figures:
        bar, beat = report.place(figure.moments[0][0])
        place = bar == which.bar and which.beat in (None, beat)
        hand = which.hand == figure.hand or figure.both_hands
        names = (*labels(figure, report.language), *labels(figure)) if which.label else (None,)
        if place and hand and which.kind in (None, figure.kind) and which.label in names:
            found.append(figure)
    return found


def _nothing(which: Correction) -> str:
    beat = "" if which.beat is None else f", beat {which.beat:g}"
    return f": no {which.label or which.kind or 'figure'} begins in bar {which.bar}{beat}, {which.hand} hand"


def _bracket(own: Correction, part: Part, struck: list[Note]) -> Figure:
    moments = tuple(tuple(moment) for _, moment in groupby(struck, key=lambda note: note.tick))
    numbers = {note.number for note in struck}
    return Figure(
        kind=OWN.name,
        part=part.id,
        staff=moments[0][0].staff,
        voice=moments[0][0].voice,
        hand=own.hand,
        moments=moments,
        anchors=moments[0] if own.grey else tuple(struck),
        own_words=(own.text, own.text, own.short),
        tied=tuple(note for note in part.notes if note.continues in numbers),
    )


def _blackened(figure: Figure, numbers: set[int]) -> Figure:
    more = [note for note in figure.grey if note.number in numbers]
    return replace(figure, anchors=tuple(in_time([*figure.anchors, *more]))) if more else figure


def _tick(part: Part, number: str, beat: float, resolution: int) -> int:
    """Return the tick of a beat of the first bar that is printed with a number; before all others where there is none."""
    bar = next((bar for bar in part.bars if bar.number == number), None)
    if bar is None:
        return -1
    unit = Fraction(4 * resolution, bar.time.beat_type if bar.time else 4)
    return bar.tick - bar.offset + round((Fraction(beat) - 1) * unit)


# A file to begin with.

HEAD = """\
# Corrections to {name}. Nothing is in force while a # stands before it.
# Every figure found stands below as a [[drop]]: take the # off its lines, and it is gone from all copies.
# Write [[label]] in place of [[drop]], and text = "…" below it, and it stays under another label.
#
# Notes that stay black, by bars and hand, or by their ids (annotator figures --json tells them):
#   [[read]]
#   bars = "3-4"
#   hand = "left"
#
# A bracket of your own. It greys nothing, unless grey = true; then the page's foot says that these notes are yours:
#   [[bracket]]
#   from = {{ bar = "5", beat = 1 }}
#   to = {{ bar = "6", beat = 3 }}
#   hand = "right"
#   text = "like the bells"
"""


def listing(report: Report, name: str) -> str:
    """Return the text of a file with every figure of a report as a comment. ``name`` is that of the score."""
    from json import dumps

    blocks = [HEAD.format(name=" ".join(name.split()))]
    for (_, figure), row in zip(report.figures, report.rows(), strict=True):
        bar, beat = report.place(figure.moments[0][0])
        beat = int(beat) if beat.is_integer() else beat
        says = {"bar": bar, "beat": beat, "hand": figure.hand, "kind": figure.kind, "label": row.label}
        lines = [f"#{key} = {dumps(value, ensure_ascii=False)}" for key, value in says.items()]
        blocks.append("\n".join([f"# {row.notes} notes, {row.to_read} to read", "#[[drop]]", *lines]) + "\n")
    return "\n".join(blocks)
