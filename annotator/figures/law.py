"""The law: nothing is greyed that does not follow from label, anchors and rhythm.

``cover_up`` makes the page a reader would have with the grey notes hidden; ``holds`` asks the figure's own inverse to rebuild it and
compares. It is asked of every figure at run time, and what fails is not shown.
"""

from __future__ import annotations

from annotator.figures.figure import CannotSpellOut, Covered, Figure, Slot, Spelling
from annotator.figures.registry import KINDS_BY_NAME
from annotator.score import Bar, Pitch


def cover_up(figure: Figure, bars: tuple[Bar, ...]) -> Covered:
    """Return the figure with the pitches of its grey notes removed. ``bars`` are those of the figure's part."""
    return Covered(
        kind=figure.kind,
        hand=figure.hand,
        slots=_slots(figure, bars),
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
        model=tuple([(moment[0].pitch,) if len(moment) == 1 else tuple([note.pitch for note in moment]) for moment in figure.model]),
    )


def _slots(figure: Figure, bars: tuple[Bar, ...]) -> tuple[Slot, ...]:
    """Return the moments of a figure as they can be read. Most are of one note, and are not gone through as chords."""
    dark = {note.number for note in figure.anchors}
    odd = {note.number for note in figure.odd}
    slots = []
    for moment in figure.moments:
        note = moment[0]
        if len(moment) == 1:
            known: tuple[Pitch | None, ...] = (note.pitch if note.number in dark else None,)
            strange: tuple[bool, ...] = (note.number in odd,)
            staves: tuple[int, ...] = (note.staff,)
        else:
            known = tuple([each.pitch if each.number in dark else None for each in moment])
            strange = tuple([each.number in odd for each in moment]) if odd else (False,) * len(moment)
            staves = tuple([each.staff for each in moment])
        slots.append(Slot(note.onset, note.duration, note.tick, known, strange, staves, bars[note.bar], note.key))
    return tuple(slots)


def written(figure: Figure) -> Spelling:
    """Return the keys the score asks for, in MIDI numbers, moment by moment."""
    return tuple(
        [
            (int(moment[0].pitch.semitone),) if len(moment) == 1 else tuple([int(note.pitch.semitone) for note in moment])
            for moment in figure.moments
        ]
    )


def rebuilt(figure: Figure, bars: tuple[Bar, ...]) -> Spelling | None:
    """Return what the figure's kind spells out from the covered page, or None where it cannot."""
    try:
        return KINDS_BY_NAME[figure.kind].spell_out(cover_up(figure, bars))
    except CannotSpellOut:
        return None


def holds(figure: Figure, bars: tuple[Bar, ...]) -> bool:
    """Return whether every grey note of the figure follows from what stays on the page."""
    return rebuilt(figure, bars) == written(figure)
