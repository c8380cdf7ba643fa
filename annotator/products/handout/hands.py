"""What a hand has to do: how low and high it goes, how far it stretches, where it must leave its place.

Conventions: a *moment* is all that a hand strikes at one time, from low to high.

Rules
-----
The widest stretch is that of notes that one hand strikes together: a rolled chord is reached one key after the other, and of two voices
that lie more than an octave apart in one hand, the other hand takes the inner one, if it has nothing to do or the note within an octave.

A hand lies over a *frame* of an octave (eight white keys). As long as its notes stay within one, it stays where it is; a note beyond the
frame that comes by less than a leap (a fifth from the nearest note before) shifts the frame along, as thumb and fingers do in a run; one
that comes by a leap is a change of position, and a new frame begins with it.

Source: common practice, no source; a leap is a fifth or more, because a fourth still lies under the hand that moves on.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from annotator.music.score import Note

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

    @property
    def width(self) -> int:
        """Semitones from the lowest note to the highest."""
        return int(self.notes[-1].pitch.semitone - self.notes[0].pitch.semitone)


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


def widest(moments: Sequence[Moment], others: Sequence[Note], right: bool) -> Moment | None:
    """Return the first of the moments whose outer notes are farthest apart; None where nothing is struck together.

    ``others`` are the notes of the other hand; ``right`` says that the moments are those of the right hand.
    """
    sounding: dict[int, list[Note]] = defaultdict(list)
    ticks = [moment.notes[0].tick for moment in moments]
    for note in others:
        for place in range(bisect_left(ticks, note.tick), bisect_left(ticks, max(note.tick + note.ticks, note.tick + 1))):
            sounding[ticks[place]].append(note)
    own = (_own(moment, sounding[moment.notes[0].tick], right) for moment in moments if not any(note.rolled for note in moment.notes))
    return max((moment for moment in own if len(moment.notes) > 1), key=lambda moment: moment.width, default=None)


def _own(moment: Moment, others: Sequence[Note], right: bool) -> Moment:
    """Return the notes of a moment that the hand itself strikes, where the other hand has ``others``."""
    notes = moment.notes
    while len({note.voice for note in notes}) > 1 and notes[-1].pitch.diatonic - notes[0].pitch.diatonic > FRAME:
        inner = notes[0] if right else notes[-1]
        if any(abs(note.pitch.diatonic - inner.pitch.diatonic) > FRAME for note in others):
            break
        notes = notes[1:] if right else notes[:-1]
    return Moment(notes, moment.bar)
