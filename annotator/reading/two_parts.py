"""Two parts of one staff each, read as the one piano that they are: bar by bar, before anything is placed.

Conventions
-----------
* The upper part is staff 1, the lower staff 2. Both go through time on their own, with divisions of their own; a bar is as long as the
  longer of the two.
* The voices of the lower part get other names, so that none seems to pass from hand to hand: numbers go on behind 4, as is the custom of
  programs that write a piano as one part.

Which parts those are: ``reading.parts``.
"""

from __future__ import annotations

from dataclasses import replace

from annotator.music.score import ClefChange, Jump, Key, OctaveLine, Tempo
from annotator.reading.attributes import Keys
from annotator.reading.layout import Measure, PartLayout
from annotator.reading.measures import BarDraft

Beside = tuple[tuple[ClefChange, ...], tuple[OctaveLine, ...], tuple[Tempo, ...], tuple[Jump, ...]]
"""What stands beside the notes of a part: clefs, octave lines, tempos, jumps."""

VOICES_A_STAFF = 4


def as_long(layout: PartLayout, other: PartLayout) -> PartLayout:
    """Return a part with empty bars at its end where the other one has more."""
    more = [Measure(measure.number, measure.implicit, None, 0) for measure in other.measures[len(layout.measures) :]]
    return PartLayout(layout.id, (*layout.measures, *more))


def joined(upper: BarDraft, lower: BarDraft) -> BarDraft:
    """Return the bar of both staves."""
    for note in lower.notes:
        note.staff = 2
        note.voice = str(int(note.voice) + VOICES_A_STAFF) if note.voice.isdecimal() else f"{note.voice} (2)"
    for note in upper.notes:
        note.staff = 1
        if note.voice.isdecimal() and int(note.voice) > VOICES_A_STAFF:
            note.voice = f"{note.voice} (1)"
    return BarDraft(
        measure=upper.measure,
        keys=_both(upper.keys, lower.keys),
        time=upper.time or lower.time,
        notes=[*upper.notes, *lower.notes],
        changes=_changes(upper, lower),
        content=max(upper.content, lower.content),
        resting=max(upper.resting, lower.resting),
        left=upper.left or lower.left,
        right=upper.right or lower.right,
        broken=upper.broken or lower.broken,
        rounded=upper.rounded or lower.rounded,
        double_left=upper.double_left or lower.double_left,
        double_right=upper.double_right or lower.double_right,
        repeat_before=upper.repeat_before or lower.repeat_before,
        repeat_after=max(upper.repeat_after, lower.repeat_after),
        endings=upper.endings or lower.endings,
    )


def beside_both(upper: Beside, lower: Beside) -> Beside:
    """Return what stands beside the notes of both staves; a tempo or jump that both parts have is one."""
    clefs, lines, tempos, jumps = lower
    said = {(tempo.tick, tempo.words, tempo.beat, tempo.per_minute, tempo.speed) for tempo in upper[2]}
    more = [each for each in tempos if (each.tick, each.words, each.beat, each.per_minute, each.speed) not in said]
    return (
        (*upper[0], *(replace(clef, staff=2) for clef in clefs)),
        (*upper[1], *(replace(line, staff=2) for line in lines)),
        tuple(sorted((*upper[2], *(replace(tempo, staff=2) for tempo in more)), key=lambda tempo: (tempo.tick, tempo.staff))),
        tuple(sorted({*upper[3], *jumps}, key=lambda jump: (jump.tick, jump.sign, jump.words))),
    )


def _both(upper: Keys, lower: Keys) -> Keys:
    """Return the keys of both staves; one for all where they are the same."""
    if upper[None] == lower[None]:
        return {None: upper[None]}
    return {None: upper[None], 2: lower[None]}


def _changes(upper: BarDraft, lower: BarDraft) -> list[tuple[int, int | None, Key]]:
    """Return the changes of key of both staves; one for all where they are the same."""
    above = [(at, key) for at, _, key in upper.changes]
    below = [(at, key) for at, _, key in lower.changes]
    if above == below:
        return [(at, None, key) for at, key in above]
    return [*((at, 1, key) for at, key in above), *((at, 2, key) for at, key in below)]
