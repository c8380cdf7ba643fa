"""What the chord figures share: even runs of single notes, note names as bits, and where a group sits in its bar.

Conventions
-----------
* An even run is a row of joined single notes of equal length; the note after the last equal one belongs to it too where it is longer.
* Names are bits (``chords.code_of``), so that the names of a group are one "or" away.
* A merged line repeats what its voices hold; there a figure counts only where the voices, or the hands, really share it.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from itertools import islice, pairwise
from operator import sub

from annotator.figures.chord_groups import Group, group_of
from annotator.lines import Event, Line
from annotator.score import Note
from annotator.theory.chords import Chord, chord_of, code_of

LEAST = 4
"""Fewest notes of a run that any chord figure can use."""
SAME, UP, DOWN = 0, 1, 2
"""The ways of a contour."""


class Run:
    """An even run: its ``events``, the ``keys`` to strike (MIDI numbers), names as ``bits``, and whose line it is in (``scope``).

    ``place`` is where it begins in its line. A run that is part of a longer one knows this as its ``whole``, and its own ``begin`` there:
    whatever is found out about the whole run is kept with it, so that its parts, which are asked for again and again, need only look.
    """

    _longer: Run | None = None
    begin = 0

    def __init__(self, events: Sequence[Event], place: int = 0, scope: str = "voice") -> None:
        self.events = events
        self.place = place
        self.scope = scope
        self._groups: dict[tuple[int, int], Group] = {}

    def __len__(self) -> int:
        return len(self.events)

    def part(self, first: int, stop: int) -> Run:
        """Return the notes from ``first`` up to ``stop`` as a run."""
        if (first, stop) == (0, len(self)):
            return self
        part = Run(self.events[first:stop], self.place + first, self.scope)
        part._longer, part.begin = self.whole, self.begin + first
        return part

    @property
    def whole(self) -> Run:
        """The run that this is part of, or itself."""
        return self if self._longer is None else self._longer

    @cached_property
    def keys(self) -> tuple[int, ...]:
        """The key struck at each event."""
        if self._longer is not None:
            return self._longer.keys[self.begin : self.begin + len(self)]
        return tuple([int(event.notes[0].pitch.semitone) for event in self.events])

    @cached_property
    def bits(self) -> tuple[int, ...]:
        """The name struck at each event, as one bit."""
        if self._longer is not None:
            return self._longer.bits[self.begin : self.begin + len(self)]
        return tuple([1 << code_of(event.notes[0].pitch) for event in self.events])

    @cached_property
    def staves(self) -> tuple[int, ...]:
        """The staff of each event."""
        return tuple([event.notes[0].staff for event in self.events])

    @cached_property
    def steps(self) -> tuple[int, ...]:
        """The way from each key to the next, in semitones, up positive."""
        return tuple(map(sub, self.keys[1:], self.keys))

    @cached_property
    def contour(self) -> bytes:
        """The way from each key to the next: ``UP``, ``DOWN``, or ``SAME``."""
        return bytes([UP if step > 0 else DOWN if step else SAME for step in self.steps])

    @cached_property
    def _passings(self) -> list[int]:
        """The places of a whole run at which another voice, or another hand, goes on."""
        if self.scope == "shared":
            players: list[object] = list(self.staves)
        else:
            players = [(event.notes[0].voice, event.notes[0].staff) for event in self.events]
        return [place for place, (before, player) in enumerate(pairwise(players), 1) if player != before]

    def shared(self, first: int, stop: int) -> bool:
        """Return what ``shared_by_voices`` says of the notes from ``first`` up to ``stop``."""
        if self.scope == "voice":
            return True
        passings, first, stop = self.whole._passings, self.begin + first, self.begin + stop
        after = bisect_right(passings, first)
        return after < len(passings) and passings[after] < stop

    def group(self, first: int, size: int) -> Group:
        """Return so many notes from ``first`` on as a group."""
        groups, place = self.whole._groups, self.begin + first
        kept = groups.get((place, size))
        if kept is None:
            keys, bits = self.whole.keys[place : place + size], self.whole.bits[place : place + size]
            kept = groups[(place, size)] = group_of(keys, bits)
        return kept


def even_runs(line: Line) -> tuple[Run, ...]:
    """Return the even runs of a line; each line is looked through once, whoever asks."""
    kept: tuple[Run, ...] | None = line.__dict__.get("even runs")
    if kept is None:
        whole = line.whole
        found = _runs(line) if whole is None else _within(even_runs(whole), line.first, line.first + len(line))
        kept = line.__dict__["even runs"] = tuple(found)
    return kept


def own_runs(line: Line) -> tuple[Run, ...]:
    """Return the even runs in which a figure can be the line's own: in a merged line those that voices, or hands, share."""
    kept = line.__dict__.get("own runs")
    if kept is None:
        kept = line.__dict__["own runs"] = tuple([run for run in even_runs(line) if run.shared(0, len(run))])
    return kept


def _runs(line: Line) -> Iterator[Run]:
    """Yield the even runs of a whole line."""
    for first, stop in _spans(line.events):
        yield Run(line.events[first:stop], first, line.scope)


def _within(runs: Sequence[Run], first: int, stop: int) -> Iterator[Run]:
    """Yield what lies of some runs between two events of their line: those are the even runs there."""
    for run in islice(runs, bisect_right(runs, first, key=lambda run: run.place + len(run)), None):
        if run.place >= stop:
            return
        begin, end = max(first - run.place, 0), min(stop - run.place, len(run))
        if end - begin >= LEAST:
            yield run.part(begin, end)


def _spans(events: Sequence[Event]) -> Iterator[tuple[int, int]]:
    """Yield the (first, stop) indices of the even runs among some events."""
    total = len(events)
    first = 0
    while first < total:
        head = events[first]
        after = first + 1
        if len(head.notes) != 1:
            first = after
            continue
        ticks = head.ticks
        while after < total:
            event = events[after]
            if event.ticks != ticks or not event.joined or len(event.notes) != 1:
                break
            after += 1
        stop = after
        if after < total and events[after].joined and len(events[after].notes) == 1 and events[after].ticks > ticks:
            stop += 1
        if stop - first >= LEAST:
            yield first, stop
        first = after


def bits_of(events: Sequence[Event]) -> list[int]:
    """Return the names struck at each event, one bit a name."""
    bits = []
    for event in events:
        mask = 0
        for note in event.notes:
            mask |= 1 << code_of(note.pitch)
        bits.append(mask)
    return bits


def chord_over(notes: Iterable[Note], mask: int) -> Chord | None:
    """Return the chord of the names in ``mask`` above the lowest of some notes."""
    lowest = min((note.pitch for note in notes), key=lambda pitch: (pitch.semitone, pitch.diatonic))
    return chord_of(mask, code_of(lowest))


def on_the_beat(line: Line, event: Event, span: int) -> bool:
    """Return whether an event stands a whole number of spans (in ticks) after the bar line, or the bar is no whole number of spans."""
    bar = line.bars[event.bar]
    return (bar.ticks + bar.offset) % span != 0 or (event.tick - bar.tick + bar.offset) % span == 0


def shared_by_voices(line: Line, events: Sequence[Event]) -> bool:
    """Return whether a figure belongs to this line and is not the affair of one voice (or one hand) within it."""
    if line.scope == "voice":
        return True
    players: set[object]
    if line.scope == "shared":
        players = {note.staff for event in events for note in event.notes}
    else:
        players = {(note.voice, note.staff) for event in events for note in event.notes}
    return len(players) > 1
