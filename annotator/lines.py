"""Lines: the notes a hand plays one after another.

Conventions
-----------
* A line is a row of events; an event is what is struck at one moment, a note or a chord from low to high. Only visible notes take part
  (``Note.visible``); a grace note neither ends a line nor stands in it.
* A tied-on note is not struck: it lengthens the event it continues. Where only some notes of a chord are struck anew, the event holds
  those.
* ``joined`` is False where an event does not follow its forerunner directly: after a rest or gap, at a bar marked ``cut``, at a change
  of key signature. No figure crosses such a place.
* In a *voice* line ``ticks`` is the sounding length of the event, ties included. In the lines that merge voices (*hand*: all voices of
  one hand; *shared*: both hands) it is the time to the next event, as the ear hears it, or before a rest to where the sound ends.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import zip_longest
from operator import attrgetter, sub
from typing import NamedTuple

from annotator.score import Bar, Note, Part, Pitch
from annotator.strokes import Strokes, crossing_voices, hand_of, strokes_of, ties_of, together
from annotator.theory.keys import local_keys
from annotator.theory.names import Scale


class Event(NamedTuple):
    """What is struck at one moment of a line.

    ``notes`` from low to high; ``tick`` and ``ticks`` in ticks of the score; ``end`` is when the last of them stops sounding.
    ``whole`` is False where another note of the same chord is held over by a tie.
    """

    notes: tuple[Note, ...]
    tick: int
    ticks: int
    end: int
    bar: int
    joined: bool
    whole: bool = True

    @property
    def single(self) -> bool:
        """Whether exactly one note is struck here."""
        return len(self.notes) == 1


class Contour:
    """The way of a line in letters or in semitones. ``heights`` are those of the lowest notes."""

    def __init__(self, pitches: Iterable[Pitch], height: Callable[[Pitch], int]) -> None:
        self.heights = list(map(height, pitches))

    @cached_property
    def rises(self) -> list[int]:
        """The way to each event from the one before; the first has none."""
        return [0, *map(sub, self.heights[1:], self.heights)]


@dataclass(frozen=True)
class Line:
    """One line. ``scope`` is ``voice``, ``hand`` or ``shared``; ``hand`` is ``right`` or ``left`` (a shared line: where it starts).

    ``bars`` are those of the part, ``keys`` the key the music is in there (a major or natural minor scale), bar by bar.
    A slice knows the ``whole`` line that it is cut from, and its own ``first`` event there: what was found out about that holds for it.
    A line made from a slice, with other events, has none.
    """

    part: str
    hand: str
    scope: str
    events: tuple[Event, ...]
    bars: tuple[Bar, ...] = field(repr=False, compare=False)
    resolution: int = 1
    ties: Mapping[int, tuple[Note, ...]] = field(default_factory=dict, repr=False, compare=False)
    keys: tuple[Scale, ...] = field(default=(), repr=False, compare=False)
    whole: Line | None = field(default=None, init=False, repr=False, compare=False)
    first: int = field(default=0, init=False, repr=False, compare=False)

    def __len__(self) -> int:
        return len(self.events)

    def slice(self, first: int, stop: int) -> Line:
        """Return the part of the line from event ``first`` up to, not including, ``stop``, as a line of its own."""
        events = self.events[first:stop]
        part = Line(self.part, self.hand, self.scope, events, self.bars, self.resolution, self.ties, self.keys)
        object.__setattr__(part, "whole", self if self.whole is None else self.whole)
        object.__setattr__(part, "first", self.first + first)
        return part

    @cached_property
    def stretches(self) -> tuple[tuple[int, int], ...]:
        """The (first, stop) index pairs between which every event is joined to the one before."""
        starts = [i for i, event in enumerate(self.events) if i == 0 or not event.joined]
        return tuple(zip(starts, [*starts[1:], len(self.events)], strict=True))

    def without(self, others: Iterable[Line]) -> Line:
        """Return the line less the stretches that are one of the others' as well, note for note and tick for tick."""
        told = {other.events[first].notes[0].number: other.events[first:stop] for other in others for first, stop in other.stretches}
        own: list[Event] = []
        for first, stop in self.stretches:
            events = self.events[first:stop]
            if not _equal(events, told.get(events[0].notes[0].number, ())):
                own.extend(events)
        return self if len(own) == len(self) else replace(self, events=tuple(own))

    @cached_property
    def ticks(self) -> list[int]:
        """The length of each event."""
        return [event.ticks for event in self.events]

    @cached_property
    def lowest(self) -> list[Pitch]:
        """The lowest pitch of each event."""
        return [event.notes[0].pitch for event in self.events]

    @cached_property
    def strokes(self) -> list[object]:
        """What each event strikes: two are equal where the events have the same pitches, spelling included."""
        return [
            256 * lowest.diatonic + lowest.semitone
            if len(event.notes) == 1
            else tuple([256 * note.pitch.diatonic + note.pitch.semitone for note in event.notes])
            for event, lowest in zip(self.events, self.lowest, strict=True)
        ]

    @cached_property
    def letters(self) -> Contour:
        """The way of the line in letters."""
        return Contour(self.lowest, attrgetter("diatonic"))

    @cached_property
    def semitones(self) -> Contour:
        """The way of the line in semitones."""
        return Contour(self.lowest, attrgetter("semitone"))

    def tied_to(self, notes: Iterable[Note]) -> tuple[Note, ...]:
        """Return the tied-on notes that continue any of these."""
        return tuple([tied for note in notes for tied in self.ties.get(note.number, ())]) if self.ties else ()


@dataclass(frozen=True)
class Texture:
    """All lines of one part.

    ``voices`` are the voice lines; ``hands`` gives each hand's merged line (``right``, ``left``; empty lines where a hand is silent);
    ``shared`` is the line of both hands together. ``lines`` are those that line detectors look at.
    """

    part: Part
    bars: tuple[Bar, ...]
    resolution: int
    voices: tuple[Line, ...]
    hands: Mapping[str, Line]
    shared: Line | None
    ties: Mapping[int, tuple[Note, ...]] = field(default_factory=dict, repr=False)
    keys: tuple[Scale, ...] = field(default=(), repr=False)

    @property
    def lines(self) -> tuple[Line, ...]:
        """Voice lines, then what is a hand's own of its merged line, then the shared line but for what one hand plays alone."""
        found = list(self.voices)
        for hand, line in self.hands.items():
            players = [voice for voice in self.voices if voice.hand == hand]
            if len(players) > 1:
                found.append(line.without(players))
        if self.shared:
            found.append(self.shared.without(self.hands.values()))
        return tuple(line for line in found if len(line))


def _equal(some: Sequence[Event], others: Sequence[Event]) -> bool:
    """Return whether two stretches strike the same notes, equally long."""
    return len(some) == len(others) and _played(some) == _played(others)


def _played(events: Iterable[Event]) -> list[tuple[tuple[Note, ...], int, bool]]:
    return [(event.notes, event.ticks, event.whole) for event in events]


def read_lines(part: Part, resolution: int, only: Iterable[Note] | None = None) -> Texture:
    """Return the lines of a part. ``only`` restricts them to some of its notes (a hand, a range of bars)."""
    notes = [note for note in (part.notes if only is None else only) if note.visible]
    ties = ties_of(notes)
    crossing = crossing_voices(part, notes)
    by_voice: dict[tuple[str, str], list[Strokes]] = defaultdict(list)
    by_hand: dict[str, list[Strokes]] = {"right": [], "left": []}
    for (voice, hand), strokes in strokes_of(part, notes, ties).items():
        by_voice[(voice, "" if voice in crossing else hand)].append(strokes)
        by_hand[hand].append(strokes)
    in_hand = {hand: together(strokes) for hand, strokes in by_hand.items()}
    keys = local_keys(part)

    made: dict[Strokes, tuple[Event, ...]] = {}

    def line(strokes: Strokes, scope: str, hand: str | None = None) -> Line:
        """Return one line of some strokes; a hand's with one voice is as that voice's."""
        events = made[strokes] = made.get(strokes) or _events(part, strokes, scope == "voice")
        where = hand or (hand_of(part, events[0].notes[0]) if events else "right")
        return Line(part.id, where, scope, events, part.bars, resolution, ties, keys)

    voices = tuple(line(together(by_voice[voice]), "voice") for voice in sorted(by_voice))
    hands = {hand: line(strokes, "hand", hand) for hand, strokes in in_hand.items()}
    shared = line(together(list(in_hand.values())), "shared") if all(len(merged) for merged in hands.values()) else None
    return Texture(part, part.bars, resolution, voices, hands, shared, ties, keys)


def _events(part: Part, strokes: Strokes, of_voice: bool) -> tuple[Event, ...]:
    """Return the events of one line: how long each lasts, and whether it follows the one before."""
    moments, held = strokes.moments, strokes.held
    starts = sorted(moments)
    events: list[Event] = []
    bar, key = -1, None
    sounding_until = -1
    for tick, following in zip_longest(starts, starts[1:]):
        struck, end = moments[tick]
        note = struck[0]
        joined = sounding_until >= tick and (note.key is key or note.key == key)
        if note.bar != bar:
            joined = joined and not any(between.cut for between in part.bars[bar + 1 : note.bar + 1])
        bar, key = note.bar, note.key
        if of_voice or end > sounding_until:
            sounding_until = end
        length = (end if of_voice or following is None else min(following, sounding_until)) - tick
        events.append(Event(struck, tick, length, end, bar, joined, tick not in held))
    return tuple(events)
