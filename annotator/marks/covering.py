"""The covered copy: which grey notes lose their heads, so that they are played from labels and black notes.

Conventions
-----------
* A covered note keeps stem, beams, flags and dots, in grey. It is always a grey note of a figure that is shown, and its figure's kind still
  spells it out when what is covered cannot be seen: neither the notes nor their signs.
* A note whose head tells how long it is (a half note and longer) keeps it.
* A note that is seen and owes its alteration to a sign that is covered gets the sign: a courtesy sign.

Rule
----
A copy is covered if its model stands where it can be seen with it (``together``), and is itself one covered copy deep at most: a player can
look back once, and once more, but not through a chain. Else its notes stay as they are on the marked page, grey. A hand that goes along
with the other is no copy: it is as deep as the other. Then the law is asked once more, with the signs that are left: what does not follow
any longer stays, until all that is covered follows.

Source: the rule on copies is our own; that a sign holds to the end of its bar is common practice (see ``reading.bars``).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from annotator.figures.figure import Figure
from annotator.figures.law import proved
from annotator.figures.registry import KINDS_BY_NAME
from annotator.marks.marking import with_tied
from annotator.music.score import Note, Part, Score
from annotator.reading.bars import bars_without, notes_with_signs

DEEPEST = 2
"""How many covered copies a player may have to look back through, that copy counted."""

HALF_NOTE = 2  # in quarter notes: from here on the head tells the length
NEAR = 16
"""Bars that are taken to stand on one page where pages are not known."""

Together = Callable[[Iterable[Note]], bool]


@dataclass(frozen=True, slots=True)
class Covering:
    """The numbers of the covered notes (tied-on notes included), and the alteration that each courtesy sign gives its note."""

    notes: frozenset[int] = frozenset()
    signs: Mapping[int, int] = field(default_factory=dict)


def covering(figures: Sequence[Figure], grey: frozenset[int], score: Score, together: Together) -> Covering:
    """Return what is covered of the ``grey`` notes of some figures; ``together`` says whether notes can be seen at once."""
    notes: set[int] = set()
    signs: dict[int, int] = {}
    for part in score.parts:
        own = [_covered(figure, grey) for figure in figures if figure.part == part.id]
        kept = _following(_shallow([figure for figure in own if figure.grey and _seen_at_once(figure, together)]), part)
        covered = _numbers(kept, part)
        notes |= covered
        signs |= _courtesy(part, covered) if covered else {}
    return Covering(frozenset(notes), signs)


def near(notes: Iterable[Note]) -> bool:
    """Return whether notes stand so near to each other that they are taken to be on one page."""
    bars = [note.bar for note in notes]
    return max(bars) - min(bars) < NEAR


def _covered(figure: Figure, grey: frozenset[int]) -> Figure:
    """Return the figure with those notes alone grey that can be covered: what is not covered is read."""
    return replace(figure, anchors=tuple([note for note in figure.struck if note.number not in grey or _head_tells_length(note)]))


def _head_tells_length(note: Note) -> bool:
    actual, normal = note.tuplet or (1, 1)
    return note.duration * actual >= HALF_NOTE * normal


def _seen_at_once(figure: Figure, together: Together) -> bool:
    """Return whether a copy can be seen with its model. The other hand always can."""
    if not KINDS_BY_NAME[figure.kind].repeat:
        return True
    return together([*figure.struck, *(note for stroke in figure.model for note in stroke)])


def _shallow(figures: Sequence[Figure]) -> list[Figure]:
    """Return the figures without the copies that are too deep; the models of those behind them are then read."""
    deep: dict[int, int] = {}
    waits = {note.number for figure in figures for note in figure.grey}
    kept: list[Figure] = []
    waiting = list(figures)
    while waiting:
        ready = [figure for figure in waiting if not any(number in waits for number in _model(figure))]
        for figure in ready:
            depth = max((deep.get(number, 0) for number in _model(figure)), default=0) + KINDS_BY_NAME[figure.kind].repeat
            waits.difference_update([note.number for note in figure.grey])
            if depth <= DEEPEST:
                kept.append(figure)
                deep.update({note.number: depth for note in figure.grey})
        if not ready:  # models in a circle: none of them is covered
            break
        done = {id(figure) for figure in ready}
        waiting = [figure for figure in waiting if id(figure) not in done]
    return kept


def _model(figure: Figure) -> list[int]:
    return [note.number for stroke in figure.model for note in stroke]


def _following(figures: list[Figure], part: Part) -> list[Figure]:
    """Return the figures that follow from what is left to be seen when all of them are covered."""
    while True:
        kept = proved(figures, bars_without(part, _numbers(figures, part)))
        if len(kept) == len(figures):
            return kept
        figures = kept


def _numbers(figures: Iterable[Figure], part: Part) -> frozenset[int]:
    """Return the numbers of the covered notes of some figures, and of what is tied on to them."""
    grey = {note.number for figure in figures for note in figure.grey}
    return with_tied(grey, (note for note in part.notes if not _head_tells_length(note)))


def _courtesy(part: Part, covered: frozenset[int]) -> dict[int, int]:
    """Return the alteration of each note that has no sign because one stands on a covered note, by the note's number."""
    bars: dict[int, list[Note]] = defaultdict(list)
    for note in part.notes:
        bars[note.bar].append(note)
    signs: dict[int, int] = {}
    for notes in bars.values():
        had = {note.number for note in notes_with_signs(notes)}
        wanted = notes_with_signs(note for note in notes if note.number not in covered)
        signs |= {
            note.number: note.pitch.alter
            for note in wanted
            if note.number not in had and note.accidental is None and isinstance(note.pitch.alter, int)
        }
    return signs
