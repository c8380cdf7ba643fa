"""What a hand has to do: how low and high it goes, how far it stretches, where it must leave its place.

Conventions: a *moment* is all that a hand strikes at one time, from low to high.

Rule
----
A hand lies over a *frame* of an octave (eight white keys). As long as its notes stay within one, it stays where it is; a note beyond the
frame that comes by less than a leap (a fifth from the nearest note before) shifts the frame along, as thumb and fingers do in a run; one
that comes by a leap is a change of position, and a new frame begins with it.

Source: common practice, no source; a leap is a fifth or more, because a fourth still lies under the hand that moves on.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from annotator.score import Note

FRAME = 7  # letters from the lowest to the highest key of the frame: an octave
LEAP = 4  # letters: a fifth


@dataclass(frozen=True, slots=True)
class Moment:
    """What a hand strikes at one time, from low to high, and the index of its bar."""

    notes: tuple[Note, ...]
    bar: int

    @property
    def low(self) -> int:
        """The lowest letter, counted from C0."""
        return self.notes[0].pitch.diatonic

    @property
    def high(self) -> int:
        """The highest letter, counted from C0."""
        return max(note.pitch.diatonic for note in self.notes)


def moments_of(notes: Iterable[Note]) -> tuple[Moment, ...]:
    """Return the moments of struck notes in time order."""
    ordered = sorted(notes, key=lambda note: (note.tick, note.pitch.semitone, note.number))
    groups = (tuple(group) for _, group in groupby(ordered, key=lambda note: note.tick))
    return tuple(Moment(group, group[0].bar) for group in groups)


def position_changes(moments: Sequence[Moment]) -> tuple[int, ...]:
    """Return the index of the bar of every change of position (see the module's rule)."""
    changes: list[int] = []
    if not moments:
        return ()
    low, high = moments[0].low, moments[0].high
    for before, now in pairwise(moments):
        if max(high, now.high) - min(low, now.low) <= FRAME:
            low, high = min(low, now.low), max(high, now.high)
        elif _distance(before, now) >= LEAP:
            changes.append(now.bar)
            low, high = now.low, now.high
        elif now.high > high:
            high = now.high
            low = min(now.low, max(low, high - FRAME))
        else:
            low = now.low
            high = max(now.high, min(high, low + FRAME))
    return tuple(changes)


def _distance(before: Moment, now: Moment) -> int:
    """Return how many letters the nearest notes of two moments are apart."""
    return min(abs(a.pitch.diatonic - b.pitch.diatonic) for a in before.notes for b in now.notes)


def widest(moments: Sequence[Moment]) -> Moment | None:
    """Return the first of the moments whose outer notes are farthest apart; None where nothing is struck together."""
    grips = [moment for moment in moments if len(moment.notes) > 1]
    return max(grips, key=lambda moment: moment.notes[-1].pitch.semitone - moment.notes[0].pitch.semitone, default=None)
