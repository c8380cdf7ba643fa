"""The law: nothing is greyed that does not follow from label, anchors and rhythm.

``cover_up`` makes the page a reader would have with the grey notes hidden; ``holds`` asks the figure's own inverse to rebuild it and
compares. It is asked of every figure at run time, and what fails is not shown.
"""

from __future__ import annotations

from annotator.figures.figure import Covered, Figure, Slot, Spelling
from annotator.figures.registry import KINDS_BY_NAME
from annotator.records import maker
from annotator.score import Bar

make_slot = maker(Slot)


def cover_up(figure: Figure, bars: tuple[Bar, ...]) -> Covered:
    """Return the figure with the pitches of its grey notes removed. ``bars`` are those of the figure's part."""
    dark = {note.number for note in figure.anchors}
    odd = {note.number for note in figure.odd}
    slots = [
        make_slot(
            moment[0].onset,
            moment[0].duration,
            moment[0].tick,
            tuple([note.pitch if note.number in dark else None for note in moment]),
            tuple([note.number in odd for note in moment]),
            tuple([note.staff for note in moment]),
            bars[moment[0].bar],
            moment[0].key,
        )
        for moment in figure.moments
    ]
    return Covered(
        kind=figure.kind,
        hand=figure.hand,
        slots=tuple(slots),
        scale=figure.scale,
        chord=figure.chord,
        interval=figure.interval,
        direction=figure.direction,
        form=figure.form,
        changes=tuple((change.moment, change.chord) for change in figure.changes),
        times=figure.times,
        steps=figure.steps,
        group=figure.group,
        exact=figure.exact,
        model=tuple([tuple([note.pitch for note in moment]) for moment in figure.model]),
    )


def written(figure: Figure) -> Spelling:
    """Return the keys the score asks for, in MIDI numbers, moment by moment."""
    return tuple([tuple([int(note.pitch.semitone) for note in moment]) for moment in figure.moments])


def rebuilt(figure: Figure, bars: tuple[Bar, ...]) -> Spelling | None:
    """Return what the figure's kind spells out from the covered page, or None where it cannot."""
    try:
        return KINDS_BY_NAME[figure.kind].spell_out(cover_up(figure, bars))
    except (LookupError, ValueError, TypeError, ArithmeticError):
        return None  # a label that makes no sense to its own inverse is simply not shown


def holds(figure: Figure, bars: tuple[Bar, ...]) -> bool:
    """Return whether every grey note of the figure follows from what stays on the page."""
    return rebuilt(figure, bars) == written(figure)
