"""Corrections put in force on a report: figures dropped or renamed, notes kept black, brackets added; and what does not fit is told.

Conventions
-----------
* What is dropped is not replaced by the next best figure: its notes are simply black.
* More black notes take nothing away from the law: what follows from labels and black notes still does.
* A bracket of one's own is a figure of the kind ``own-bracket``. It greys nothing unless it says so; then the first notes are black, the
  others the editor's word, and the page's foot says so.
* Corrections that fit no figure because it was not looked for (``--bars``, ``--hand``, ``--kinds`` …) are no news; all others are told.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import groupby
from pathlib import Path

from annotator.figures.figure import Figure
from annotator.figures.lines import hand_of
from annotator.figures.registry import OWN
from annotator.marks.corrections.file import Corrections, Own, Read, Which, corrections_of
from annotator.marks.finding import figures_of, find_figures
from annotator.marks.report import Report, beat_of, in_time, named
from annotator.music.score import Bar, Note, Part, Score
from annotator.options.settings import Options
from annotator.words import labels


def find_corrected(score: Score, options: Options, whole: Score | None = None) -> tuple[Report, tuple[str, ...]]:
    """Return the figures of a score as its file of corrections would have them, and what there is to tell of that file.

    ``whole`` is the score that corrections are held against where this is an excerpt of it. Raises what ``find_figures``
    does, and a ``SettingsError`` for a wrong file.
    """
    report = find_figures(score, options)
    given = corrections_of(Path(score.document.name)) if score.document is not None else None
    if given is None:
        return report, ()
    made, strangers = corrected(report, given)
    if strangers:
        everything = Options(language=options.language, parts=options.parts)
        strangers = corrected(figures_of(whole or score, everything), given)[1]
    return made, (_said(given), *(f"{given.name}: {each}" for each in strangers))


def corrected(report: Report, given: Corrections) -> tuple[Report, tuple[str, ...]]:
    """Return a report with corrections in force, and a line for each of them that does not fit the score."""
    work = _Work(report)
    for drop in given.drops:
        work.drop(drop.entry, drop.which)
    for label in given.labels:
        work.rename(label.entry, label.which, (label.text, label.text, label.short))
    for own in given.brackets:
        work.add(own)
    for read in given.reads:
        work.keep_black(read)
    return replace(report, figures=named(report.score, work.figures)), tuple(work.strangers)


def _said(given: Corrections) -> str:
    """Return the line that says that corrections are in force, and how many of each sort."""
    counts = (("dropped", given.drops), ("renamed", given.labels), ("kept black", given.reads), ("brackets added", given.brackets))
    return f"corrections from {given.name}: {', '.join(f'{word} {len(rows)}' for word, rows in counts if rows) or 'none in force'}"


class _Work:
    """The figures of a report while corrections are made, and the lines about those that do not fit."""

    def __init__(self, report: Report) -> None:
        self.report, self.score = report, report.score
        self.figures = [figure for _, figure in report.figures]
        self.strangers: list[str] = []

    def drop(self, entry: str, which: Which) -> None:
        """Take the figures away that are meant."""
        meant = self._meant(which)
        if not meant:
            self.strangers.append(_nothing(entry, which))
        self.figures = [figure for figure in self.figures if figure not in meant]

    def rename(self, entry: str, which: Which, words: tuple[str, str, str]) -> None:
        """Give one figure other words."""
        meant = self._meant(which)
        if len(meant) > 1:
            where = f"bar {which.bar}, {which.hand} hand"
            self.strangers.append(f"{entry} fits {len(meant)} figures ({where}): say which by beat, kind or label")
        elif not meant:
            self.strangers.append(_nothing(entry, which))
        else:
            self.figures[self.figures.index(meant[0])] = replace(meant[0], own_words=words)

    def add(self, own: Own) -> None:
        """Add a bracket of one's own over the notes of a hand from one moment to another."""
        for part in self.score.parts:
            first, last = _tick(part, *own.start, self.score.resolution), _tick(part, *own.end, self.score.resolution)
            notes = [note for note in part.notes if note.number in self.report.counted and hand_of(part, note) == own.hand]
            within = [note for note in notes if note.visible and first <= note.tick <= last]
            if within:
                self.figures.append(_bracket(own, part, within))
                return
        start, end = (f"bar {bar}, beat {beat:g}" for bar, beat in (own.start, own.end))
        self.strangers.append(f"{own.entry} ({own.text!r}): no note of the {own.hand} hand from {start} to {end}")

    def keep_black(self, read: Read) -> None:
        """Make grey notes anchors."""
        if read.notes:
            there = {note.id for part in self.score.parts for note in part.notes}
            self.strangers += [f"{read.entry}: there is no note {each}" for each in read.notes if each not in there]
            numbers = {note.number for part in self.score.parts for note in part.notes if note.id in read.notes}
        else:
            numbers = {note.number for part in self.score.parts for note in _in_bars(part, read)}
            if not numbers:
                self.strangers.append(f"{read.entry}: no note stands in bars {'–'.join(dict.fromkeys(read.bars or ()))}")
        self.figures = [_blackened(figure, numbers) for figure in self.figures]

    def _meant(self, which: Which) -> list[Figure]:
        return [figure for figure in self.figures if self._fits(figure, which)]

    def _fits(self, figure: Figure, which: Which) -> bool:
        first = figure.moments[0][0]
        bar = self.report.bars[first.part][first.bar]
        place = bar.number == which.bar and which.beat in (None, beat_of(first, bar, self.score.resolution))
        hand = which.hand == figure.hand or figure.both_hands
        names = {*labels(figure, self.report.language), *labels(figure)} if which.label else set()
        return place and hand and which.kind in (None, figure.kind) and (which.label is None or which.label in names)


def _nothing(entry: str, which: Which) -> str:
    what = which.label or which.kind or "figure"
    beat = "" if which.beat is None else f", beat {which.beat:g}"
    return f"{entry}: no {what} begins in bar {which.bar}{beat}, {which.hand} hand"


def _bracket(own: Own, part: Part, notes: list[Note]) -> Figure:
    struck = sorted((note for note in notes if note.continues is None), key=lambda note: (note.tick, note.pitch.semitone, note.number))
    moments = tuple(tuple(moment) for _, moment in groupby(struck, key=lambda note: note.tick))
    numbers = {note.number for note in struck}
    tied = tuple(note for note in part.notes if note.continues in numbers)
    return Figure(
        kind=OWN.name,
        part=part.id,
        staff=moments[0][0].staff,
        voice=moments[0][0].voice,
        hand=own.hand,
        moments=moments,
        anchors=moments[0] if own.grey else tuple(struck),
        own_words=(own.text, own.text, own.short),
        tied=tied,
    )


def _blackened(figure: Figure, numbers: set[int]) -> Figure:
    more = [note for note in figure.grey if note.number in numbers]
    return replace(figure, anchors=tuple(in_time([*figure.anchors, *more]))) if more else figure


def _tick(part: Part, number: str, beat: float, resolution: int) -> int:
    """Return the tick of a beat of the first bar that is printed with a number; before all others where there is none."""
    bar: Bar | None = next((bar for bar in part.bars if bar.number == number), None)
    if bar is None:
        return -1
    unit = Fraction(4 * resolution, bar.time.beat_type if bar.time else 4)
    return bar.tick - bar.offset + round((Fraction(beat) - 1) * unit)


def _in_bars(part: Part, read: Read) -> Iterator[Note]:
    """Yield the notes of a part in the bars and the hand that are to be read."""
    numbers = [bar.number for bar in part.bars]
    first, last = read.bars or ("", "")
    if first not in numbers or last not in numbers:
        return
    within = range(numbers.index(first), len(numbers) - numbers[::-1].index(last))
    yield from (note for note in part.notes if note.bar in within and read.hand in ("both", hand_of(part, note)))
