"""Making a figure out of the events of a line: the part of the work that is the same for every kind.

>>> kept(notes=4, odd=1), kept(notes=3, odd=1)
(True, False)
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from annotator.figures.figure import Change, Figure
from annotator.figures.lines import Event, Line
from annotator.music.chords import Chord, over_bass
from annotator.music.score import Note


def kept(notes: int, odd: int) -> bool:
    """Return whether so many odd notes among all notes of a figure still leave it its rule: at most one in four."""
    return 4 * odd <= notes


def figure_of(
    line: Line,
    kind: str,
    events: Sequence[Event],
    anchors: Iterable[Note],
    odd: Iterable[Note] = (),
    bounded: bool = False,
    chord: Chord | None = None,
    changes: Sequence[Change] = (),
    group: int | None = None,
    **label: Any,
) -> Figure | None:
    """Return a figure over some events of a line, or None where it would not save at least one note or too many are odd.

    ``bounded``: the kind itself has seen to it that not too many are odd. ``label`` is label data by the names of ``Figure``'s fields.
    Anchors and odd notes are put in the order of the figure's notes. Chords get the bass that the hand really has (``_over_the_hand``).
    """
    moments = tuple([event.notes for event in events])
    struck = [note for moment in moments for note in moment]
    strange = {note.number for note in odd}
    dark = {note.number for note in anchors} | strange
    if len(struck) - len(dark) < 2 or not (bounded or kept(len(struck), len(strange))):
        return None
    first = moments[0][0]
    return Figure(
        kind,
        line.part,
        first.staff,
        first.voice,
        line.hand,
        moments,
        tuple([note for note in struck if note.number in dark]) if dark else (),
        tuple([note for note in struck if note.number in strange]) if strange else (),
        tied=line.tied_to(struck),
        chord=None if chord is None else _over_the_hand(line, chord, events[:group]),
        changes=tuple(
            [replace(each, chord=_over_the_hand(line, each.chord, events[each.moment : each.moment + (group or 1)])) for each in changes]
        ),
        group=group,
        **label,
    )


def _over_the_hand(line: Line, chord: Chord, events: Sequence[Event]) -> Chord:
    """Return the chord of a group with the lowest note of the hand that sounds where it begins, or is struck in it, as its bass."""
    bass = line.basses.get(events[0].tick)
    lower = bass is not None and all(bass.semitone < note.pitch.semitone for event in events for note in event.notes)
    return over_bass(chord, bass) if bass is not None and lower else chord


def lawful_spans(sizes: Sequence[int], odd: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield disjoint index ranges (first, stop), in order, in which at most one note in four is odd.

    ``sizes`` and ``odd`` count the notes and the odd notes moment by moment. A range neither begins nor ends with an odd moment.

    >>> list(lawful_spans([2, 2, 2, 2, 2], [0, 1, 0, 0, 0])), list(lawful_spans([1, 1, 1, 1, 1], [1, 1, 1, 0, 0]))
    ([(0, 5)], [(3, 5)])
    """
    if not any(odd):
        if sizes:
            yield 0, len(sizes)
        return
    first, best, total = 0, 0, 0
    for place, (size, strange) in enumerate(zip(sizes, odd, strict=True)):
        total += size - 4 * strange
        if total < 0:
            if best > first:
                yield first, best
            first = best = place + 1
            total = 0
        elif not strange and (best > first or place == first):
            best = place + 1
        elif best <= first:
            first = best = place + 1
            total = 0
    if best > first:
        yield first, best
