"""What the chord figures share: even runs of single notes in one row, and where a group sits in its bar.

Conventions
-----------
* An even run is a row of joined single notes of equal length; the note after the last equal one belongs to it too where it is longer.
* A merged line repeats what its voices hold; there a figure counts only where the voices, or the hands, really share it.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from itertools import chain, compress, groupby
from operator import itemgetter, ne, sub
from typing import Any, NamedTuple

from annotator.figures.chord_groups import LETTERS, Group, group_of
from annotator.figures.figure import Figure, make_figure
from annotator.figures.motion import BREAK, CONJUNCT, steps_of
from annotator.lines import Event, Line
from annotator.score import Note

LEAST = 4
"""Fewest notes of a run that any chord figure can use."""
SAME, UP, DOWN = 0, 1, 2
"""The ways of a contour."""

_SINGLES = re.compile(f"[^{BREAK}]{{{LEAST - 1},}}")  # the steps of a row of joined single notes


class Run:
    """An even run of a line: its ``events``, the ``steps`` between them in semitones, up positive, and its ``place`` in the whole line."""

    def __init__(self, line: Line, first: int, stop: int) -> None:
        self.events, self.place = line.events[first:stop], first
        self.steps = list(map(sub, [e.notes[0].pitch.semitone for e in self.events[1:]], [e.notes[0].pitch.semitone for e in self.events]))

    def __len__(self) -> int:
        return len(self.events)


class Stretch(NamedTuple):
    """Part of a row of even runs: the notes of one from ``first`` up to ``stop``; the whole run stops at ``limit``."""

    first: int
    stop: int
    limit: int


class Row:
    """The even runs of a whole line in which a figure can be its own, one after another in one row.

    In a merged line those are the runs that voices, or hands, share. Where a run ends on the first note of the next, that stands there
    twice. ``steps`` and ``contour`` tell how each key is left for the next. What is found out about a row is kept with it: stretches
    of it are asked for again and again.
    """

    def __init__(self, line: Line) -> None:
        self.scope, self._ties = line.scope, line.ties
        self._spans = [span for span in _spans_of(line) if shared_by_voices(line, line.events[slice(*span)])]
        self.events = tuple(chain.from_iterable([line.events[first:stop] for first, stop in self._spans]))
        pitches = [event.notes[0].pitch for event in self.events]
        self.keys = tuple([int(pitch.semitone) for pitch in pitches])
        self.steps = tuple(map(sub, self.keys[1:], self.keys))
        self.contour = bytes([UP if step > 0 else DOWN if step else SAME for step in self.steps])
        self._sounds = tuple([LETTERS * key + pitch.diatonic % LETTERS for key, pitch in zip(self.keys, pitches, strict=True)])
        self._passings = self._passed()
        self._runs = list(_side_by_side(self._spans))

    @cached_property
    def moments(self) -> tuple[tuple[Note, ...], ...]:
        """What is struck at each event: one note."""
        return tuple([event.notes for event in self.events])

    @cached_property
    def notes(self) -> tuple[Note, ...]:
        """The note struck at each event."""
        return tuple([note for note, in self.moments])

    @cached_property
    def staves(self) -> tuple[int, ...]:
        """The staff of each note."""
        return tuple([note.staff for note in self.notes])

    @cached_property
    def _held(self) -> list[int]:
        """The places of the notes that are tied on."""
        return [place for place, note in enumerate(self.notes) if note.number in self._ties] if self._ties else []

    def __len__(self) -> int:
        return len(self.events)

    def _passed(self) -> bytes:
        """Return, note by note, 1 where another voice, or another hand, goes on."""
        if self.scope == "voice":
            return b""
        players: Sequence[object] = self.staves
        if self.scope != "shared":
            players = [(note.voice, note.staff) for note in self.notes]
        return bytes([0, *map(ne, players, players[1:])])

    def shared(self, first: int, stop: int) -> bool:
        """Return what ``shared_by_voices`` says of the notes from ``first`` up to ``stop``."""
        return self.scope == "voice" or self._passings.find(1, first + 1, stop) >= 0

    def group(self, first: int, size: int) -> Group:
        """Return so many notes from ``first`` on as a group."""
        return group_of(self._sounds[first : first + size])

    def own(self, line: Line) -> Iterable[Stretch]:
        """Return the even runs of the whole line, or of a slice of it, in which a figure can be the line's own."""
        return self._runs if line.whole is None else self._within(line)

    def _within(self, line: Line) -> Iterator[Stretch]:
        """Yield what lies of the runs in a slice, but no part of one voice, or hand, alone."""
        for at, first, stop in _within(self._spans, line):
            shift = self._runs[at].first - self._spans[at][0]
            if self.shared(first + shift, stop + shift):
                yield Stretch(first + shift, stop + shift, self._runs[at].limit)

    def figure(
        self, line: Line, kind: str, span: tuple[int, int], dark: Sequence[bool], odd: Sequence[bool] = (), **label: Any
    ) -> Figure:
        """Return the figure of the notes in a span of the row, from whether each is dark and whether it is odd.

        The kind itself has seen to it that the figure saves a note and that not too many are odd.
        """
        first, stop = span
        notes, held = self.notes[first:stop], self._held
        if held:
            held = held[bisect_left(held, first) : bisect_left(held, stop)]
        return make_figure(
            kind,
            line.part,
            notes[0].staff,
            notes[0].voice,
            line.hand,
            self.moments[first:stop],
            tuple(compress(notes, dark)),
            tuple(compress(notes, odd)),
            tied=line.tied_to([self.notes[place] for place in held]) if held else (),
            **label,
        )


def row_of(line: Line) -> Row:
    """Return the row of even runs of a line, of a slice that of its whole line; each line is looked through once, whoever asks."""
    whole = line if line.whole is None else line.whole
    kept: Row | None = whole.__dict__.get("row of even runs")
    if kept is None:
        kept = whole.__dict__["row of even runs"] = Row(whole)
    return kept


def even_runs(line: Line) -> Iterator[Run]:
    """Yield the even runs of a line, in a slice what lies of them there."""
    whole = line if line.whole is None else line.whole
    for _, first, stop in _within(_spans_of(whole), line):
        yield Run(whole, first, stop)


def _spans_of(line: Line) -> Sequence[tuple[int, int]]:
    """Return the (first, stop) indices of the even runs of a whole line."""
    kept: Sequence[tuple[int, int]] | None = line.__dict__.get("even runs")
    if kept is None:
        kept = line.__dict__["even runs"] = list(_spans(line))
    return kept


def _within(spans: Sequence[tuple[int, int]], line: Line) -> Iterator[tuple[int, int, int]]:
    """Yield what lies in a line, the whole one or a slice, of some spans of the whole line, each with its number: the runs there."""
    begin, end = line.first, line.first + len(line)
    for at in range(bisect_right(spans, begin, key=itemgetter(1)), len(spans)):
        first, stop = max(spans[at][0], begin), min(spans[at][1], end)
        if first >= end:
            return
        if stop - first >= LEAST:
            yield at, first, stop


def _side_by_side(spans: Iterable[tuple[int, int]]) -> Iterator[Stretch]:
    """Yield where some spans of a line stand in a row of their own."""
    begin = 0
    for first, stop in spans:
        end = begin + stop - first
        yield Stretch(begin, end, end)
        begin = end


def _spans(line: Line) -> Iterator[tuple[int, int]]:
    """Yield the (first, stop) indices of the even runs of a whole line."""
    ticks = line.ticks
    for singles in _SINGLES.finditer(steps_of(line, CONJUNCT)):
        first, end = singles.start(), singles.end() + 1
        for length, equal in groupby(ticks[first:end]):
            after = first + len(list(equal))
            stop = after + 1 if after < end and ticks[after] > length else after
            if stop - first >= LEAST:
                yield first, stop
            first = after


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
