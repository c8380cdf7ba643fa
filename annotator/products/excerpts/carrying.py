"""The figures of a whole piece carried over to an excerpt of it, under their own ids.

Rule
----
A figure is carried over if every note it strikes and every note its label points to (the model of a repeat, the other hand) is in the
excerpt, and if it still can be spelled out from what is there. All others are left out, their notes stay dark; so nothing is grey that
does not follow from what is on the page.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from annotator.figures.figure import Figure
from annotator.figures.law import holds
from annotator.marks.report import Report
from annotator.music.score import Note
from annotator.products.excerpts.cutting import Excerpt


def carried(report: Report, excerpt: Excerpt) -> Report:
    """Return the figures of the whole piece's report that lie wholly in the excerpt, told of the excerpt's own notes."""
    own = {note.number: note for part in excerpt.score.parts for note in part.notes}
    twins = {number: own[place] for number, place in excerpt.notes.items() if place in own}
    bars = {part.id: part.bars for part in excerpt.score.parts}
    figures = []
    for name, figure in report.figures:
        moved = _moved(figure, twins)
        if moved is not None and holds(moved, bars[moved.part]):
            figures.append((name, moved))
    counted = _counted(report, twins)
    return Report(excerpt.score, counted, tuple(figures), report.language)


def _moved(figure: Figure, twins: Mapping[int, Note]) -> Figure | None:
    """Return a figure told of other notes; None where some are missing, or are struck on one page and tied on in the other."""
    needed = (*figure.struck, *figure.anchors, *(note for moment in figure.model for note in moment))
    if any(note.number not in twins for note in needed):
        return None
    if any(twins[note.number].continues is not None for note in figure.struck):
        return None

    def row(notes: tuple[Note, ...]) -> tuple[Note, ...]:
        """Return the same notes of the excerpt."""
        return tuple([twins[note.number] for note in notes])

    return replace(
        figure,
        part=twins[figure.moments[0][0].number].part,
        staff=twins[figure.moments[0][0].number].staff,
        voice=twins[figure.moments[0][0].number].voice,
        moments=tuple([row(moment) for moment in figure.moments]),
        anchors=row(figure.anchors),
        odd=row(figure.odd),
        changes=tuple([replace(change, note=twins[change.note.number]) for change in figure.changes]),
        model=tuple([row(moment) for moment in figure.model]),
        tied=row(tuple(note for note in figure.tied if note.number in twins)),
    )


def _counted(report: Report, twins: Mapping[int, Note]) -> frozenset[int]:
    """Return the excerpt's notes that count: those counted in the whole, and those tied on there to one that counted and struck here."""
    tied_from = {
        note.number: note.continues for part in report.score.parts for note in part.notes if note.continues is not None
    }
    counted = set()
    for number, twin in twins.items():
        origin = number
        while origin in tied_from and origin not in report.counted:
            origin = tied_from[origin]
        if twin.counted and origin in report.counted:
            counted.add(twin.number)
    return frozenset(counted)
