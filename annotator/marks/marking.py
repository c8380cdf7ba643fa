"""The marks a page gets, as plain data: what both the MusicXML writer and the engraver draw.

Nothing here knows how a mark is written or drawn, and neither writer nor engraver knows how a figure was found: ``markings`` is the
only way from figures to marks.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from annotator.figures.copies import KINDS as COPIES
from annotator.figures.figure import Figure
from annotator.figures.registry import OWN, kind_of
from annotator.music.score import Note, Score
from annotator.words.labels import change_words, labels, unnamed

if TYPE_CHECKING:
    from annotator.marks.report import Report

Words = tuple[str, str, str]
"""One label in its three lengths."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One figure to be drawn: a bracket with its label.

    ``id`` is the figure's id in the report (``f1``), ``kind`` and ``family`` its vocabulary names, ``staff`` and ``side`` (``above`` or
    ``below``) where it stands, ``first`` and ``last`` the struck notes it spans (in time), ``notes`` all its notes in time order, tied-on
    notes included. ``labels`` are the long, medium and short wording; ``changes`` the chord names that stand at later notes of an
    accompaniment, as (note, text). ``ticks`` are the first notes of copies that a player would not look for there.
    ``unnamed`` are those labels of a run that name no scale: the page's foot says what is meant.

    A figure of both hands has a mark on each staff; the second of them has no words (three empty labels).
    """

    id: str
    kind: str
    family: str
    part: str
    staff: int
    side: str
    first: Note
    last: Note
    notes: tuple[Note, ...]
    labels: tuple[str, str, str]
    changes: tuple[tuple[Note, str], ...] = ()
    ticks: tuple[Note, ...] = ()
    unnamed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Markings:
    """All marks of a score, and the ``number`` of every note to be greyed (tied-on notes included) and of every anchor.

    ``figures`` are those that the marks stand for: what may be covered is asked of them (``covering.py``); those that an editor has
    put are not among them. ``editors``: some notes are grey by an editor's word alone.
    """

    marks: tuple[Mark, ...]
    grey: frozenset[int]
    anchors: frozenset[int]
    figures: tuple[Figure, ...] = ()
    editors: bool = False


def markings(report: Report) -> Markings:
    """Return the marks of a report: a bracket a figure, right hand above and left hand below, and the notes to be greyed.

    A tied-on note is grey when the note it continues is.
    """
    marks = tuple(mark for name, figure in report.figures for mark in _marks(name, figure, report.score, report.language))
    parts = {figure.part for _, figure in report.figures}
    grey = with_tied(report.grey_numbers, (note for part in report.score.parts if part.id in parts for note in part.notes))
    own = [figure for _, figure in report.figures if figure.kind == OWN.name]
    others = tuple([figure for _, figure in report.figures if figure.kind != OWN.name])
    return Markings(marks, grey, report.anchor_numbers, others, any(figure.grey for figure in own))


def with_tied(numbers: Iterable[int], notes: Iterable[Note]) -> frozenset[int]:
    """Return the numbers of some notes, and of those ``notes`` that are tied on to them and visible."""
    found = set(numbers)
    for note in sorted((note for note in notes if note.continues is not None), key=lambda note: (note.tick, note.number)):
        if note.continues in found and note.visible:
            found.add(note.number)
    return frozenset(found)


def _marks(name: str, figure: Figure, score: Score, language: str) -> list[Mark]:
    """Return the marks of a figure: one, or one for each hand that it is of."""
    ticks = _ticks(figure, score)
    mark = _mark(name, figure, labels(figure, language), change_words(figure, language), ticks)
    if not figure.both_hands:
        return [replace(mark, unnamed=unnamed(figure, language))]
    left_staves = next(part.left_staves for part in score.parts if part.id == figure.part)
    found = []
    for hand in ("right", "left"):
        moments = [[note for note in moment if (note.staff in left_staves) == (hand == "left")] for moment in figure.moments]
        own = tuple([tuple(moment) for moment in moments if moment])
        half = replace(figure, hand=hand, moments=own, staff=own[0][0].staff)
        words = mark.labels if hand == figure.hand else ("", "", "")
        found.append(_mark(name, half, words, (), tuple(note for note in ticks if note in half.struck)))
    return sorted(found, key=lambda half: not half.labels[0])


def _ticks(figure: Figure, score: Score) -> tuple[Note, ...]:
    """Return the notes with which further copies begin, where the group is of odd length or does not begin on a beat."""
    group, times = figure.group, figure.times or 1
    if figure.kind not in COPIES or not group or times < 2:
        return ()
    bars = next(part.bars for part in score.parts if part.id == figure.part)
    first, model = figure.moments[0][0], figure.model[0][0]
    bar = bars[first.bar]
    beat = bar.beat_ticks(score.resolution)
    if (first.tick - bar.tick + bar.offset) % beat == 0 == (first.tick - model.tick) % beat:
        return ()
    return tuple(note for moment in figure.moments[group : group * times : group] for note in moment)


def _mark(name: str, figure: Figure, words: Words, changes: tuple[tuple[Note, str], ...], ticks: tuple[Note, ...]) -> Mark:
    above = figure.hand == "right"
    edge = -1 if above else 0  # of notes struck together the outer one carries the bracket
    return Mark(
        id=name,
        kind=figure.kind,
        family=kind_of(figure.kind).family,
        part=figure.part,
        staff=figure.staff,
        side="above" if above else "below",
        first=_on_staff(figure.moments[0], figure.staff)[edge],
        last=figure.moments[-1][edge],
        notes=figure.notes,
        labels=words,
        changes=changes,
        ticks=ticks,
    )


def _on_staff(moment: tuple[Note, ...], staff: int) -> tuple[Note, ...]:
    """Return the notes of a moment that stand on a staff, or all where none does."""
    return tuple(note for note in moment if note.staff == staff) or moment
