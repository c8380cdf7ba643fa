"""Which of its three wordings a label gets in the MusicXML, where no width is known.

Rule: as the style says; where it says ``fit``, the longest for which there seems to be room up to the next text on that side of the
staff, each moment at which something is struck giving room for some characters. An estimate: common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Mapping

from annotator.marks.marking import Mark
from annotator.music.score import Score

CHARACTERS_A_MOMENT = 2.5

_Side = tuple[str, int, str]


LENGTHS = ("long", "medium", "short")


def choose_labels(score: Score, marks: tuple[Mark, ...], wanted: str) -> list[str]:
    """Return the wording of each mark: that of one length, the one that fits (``fit``), or none (anything else)."""
    if wanted in LENGTHS:
        return [mark.labels[LENGTHS.index(wanted)] for mark in marks]
    if wanted != "fit":
        return [""] * len(marks)
    moments = {part.id: sorted({note.tick for note in part.notes if note.visible}) for part in score.parts}
    texts: dict[_Side, list[int]] = defaultdict(list)
    for mark in marks:
        here = texts[mark.part, mark.staff, mark.side]
        here.append(mark.first.tick)
        here.extend(note.tick for note, _ in mark.changes)
    for ticks in texts.values():
        ticks.sort()
    return [_choose(mark, moments.get(mark.part, []), texts) for mark in marks]


def _choose(mark: Mark, moments: list[int], texts: Mapping[_Side, list[int]]) -> str:
    """Return the longest wording that fits before the next text on the same side; the shortest if none does."""
    ticks = texts[mark.part, mark.staff, mark.side]
    following = bisect_left(ticks, mark.first.tick + 1)
    stop = bisect_left(moments, ticks[following]) if following < len(ticks) else len(moments)
    room = CHARACTERS_A_MOMENT * (stop - bisect_left(moments, mark.first.tick))
    return next((label for label in mark.labels if len(label) <= room), mark.labels[-1])
