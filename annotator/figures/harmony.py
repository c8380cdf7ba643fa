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
from itertools import islice
from operator import ne, sub
from typing import NamedTuple

from annotator.figures.chord_groups import Group, group_of, sound_of
from annotator.lines import Event, Line
from annotator.score import Note
from annotator.theory.chords import Chord, chord_of, code_of

LEAST = 4
"""Fewest notes of a run that any chord figure can use."""
SAME, UP, DOWN = 0, 1, 2
"""The ways of a contour."""


class Run:
    """An even run: its ``events``, and the ``place`` in its line where it begins; ``scope`` is that of the line.

    What is found out about a run is kept with it: its stretches are asked for again and again, and then need only look it up.
    """

    def __init__(self, events: Sequence[Event], place: int, scope: str) -> None:
        self.events, self.place, self.scope = events, place, scope

    def __len__(self) -> int:
        return len(self.events)

    def part(self, first: int, stop: int) -> Run:
        """Return the notes from ``first`` up to ``stop`` as a run of their own."""
        return self if (first, stop) == (0, len(self)) else Run(self.events[first:stop], self.place + first, self.scope)

    @cached_property
    def moments(self) -> tuple[tuple[Note, ...], ...]:
        """What is struck at each event: one note."""
        return tuple([event.notes for event in self.events])

    @cached_property
    def notes(self) -> tuple[Note, ...]:
        """The note struck at each event."""
        return tuple([event.notes[0] for event in self.events])

    @cached_property
    def keys(self) -> tuple[int, ...]:
        """The key struck at each event (MIDI number)."""
        return tuple([int(event.notes[0].pitch.semitone) for event in self.events])

    @cached_property
    def _sounds(self) -> tuple[int, ...]:
        """The key and the letter of each note, in one number."""
        return tuple([sound_of(key, note.pitch.diatonic % 7) for key, note in zip(self.keys, self.notes, strict=True)])

    @cached_property
    def staves(self) -> tuple[int, ...]:
        """The staff of each event."""
        return tuple([note.staff for note in self.notes])

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
        """The places at which another voice, or another hand, goes on."""
        if self.scope == "shared":
            players: Sequence[object] = self.staves
        else:
            players = [(note.voice, note.staff) for note in self.notes]
        return [place for place, passes in enumerate(map(ne, players, players[1:]), 1) if passes]

    def shared(self, first: int, stop: int) -> bool:
        """Return what ``shared_by_voices`` says of the notes from ``first`` up to ``stop``."""
        if self.scope == "voice":
            return True
        after = bisect_right(self._passings, first)
        return after < len(self._passings) and self._passings[after] < stop

    def group(self, first: int, size: int) -> Group:
        """Return so many notes from ``first`` on as a group."""
        return group_of(self._sounds[first : first + size])


class Stretch(NamedTuple):
    """The notes of an even run from ``first`` up to ``stop``: those of a line, or of the slice of it that is looked at."""

    run: Run
    first: int
    stop: int


def even_runs(line: Line) -> tuple[Run, ...]:
    """Return the even runs of a line, in a slice what lies of them there; each line is looked through once, whoever asks."""
    kept: tuple[Run, ...] | None = line.__dict__.get("even runs")
    if kept is None:
        kept = line.__dict__["even runs"] = tuple([run.part(first, stop) for run, first, stop in _stretches(line)])
    return kept


def own_runs(line: Line) -> tuple[Stretch, ...]:
    """Return the even runs in which a figure can be the line's own: in a merged line those that voices, or hands, share."""
    kept: tuple[Stretch, ...] | None = line.__dict__.get("own runs")
    if kept is None:
        kept = _stretches(line)
        if line.whole is None:
            kept = tuple([own for own in kept if shared_by_voices(line, own.run.events)])
        elif line.scope != "voice":
            kept = tuple([own for own in kept if own.run.shared(own.first, own.stop)])
        line.__dict__["own runs"] = kept
    return kept


def _stretches(line: Line) -> tuple[Stretch, ...]:
    """Return the even runs of a line, those of a slice as stretches of those of the whole line."""
    kept: tuple[Stretch, ...] | None = line.__dict__.get("run stretches")
    if kept is None:
        whole = line.whole
        found = _runs(line) if whole is None else _within(_stretches(whole), line.first, line.first + len(line))
        kept = line.__dict__["run stretches"] = tuple(found)
    return kept


def _runs(line: Line) -> Iterator[Stretch]:
    """Yield the even runs of a whole line."""
    for first, stop in _spans(line.events):
        yield Stretch(Run(line.events[first:stop], first, line.scope), 0, stop - first)


def _within(runs: Sequence[Stretch], first: int, stop: int) -> Iterator[Stretch]:
    """Yield what lies of a line's runs between two of its events: those are the even runs there."""
    for run, _, size in islice(runs, bisect_right(runs, first, key=lambda run: run.run.place + run.stop), None):
        if run.place >= stop:
            return
        begin, end = max(first - run.place, 0), min(stop - run.place, size)
        if end - begin >= LEAST:
            yield Stretch(run, begin, end)


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
