"""What the chord figures share: even runs of single notes, note names as bits, and where a group sits in its bar.

Conventions
-----------
* An even run is a row of joined single notes of equal length; the note after the last equal one belongs to it too where it is longer.
* A merged line repeats what its voices hold; there a figure counts only where the voices, or the hands, really share it.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, compress, groupby
from operator import ne, sub
from typing import Any, NamedTuple

from annotator.figures.chord_groups import LETTERS, Group, group_of
from annotator.figures.figure import Figure, make_figure
from annotator.figures.stepping import BREAK, CONJUNCT, steps_of
from annotator.lines import Event, Line

LEAST = 4
"""Fewest notes of a run that any chord figure can use."""
SAME, UP, DOWN = 0, 1, 2
"""The ways of a contour."""

_SINGLES = re.compile(f"[^{BREAK}]{{{LEAST - 1},}}")  # the steps of a row of joined single notes


class Run:
    """An even run of a line: its ``events``, the ``steps`` between them in semitones, up positive, and its ``place`` in the whole line."""

    def __init__(self, events: Sequence[Event], steps: Sequence[int], place: int) -> None:
        self.events, self.steps, self.place = events, steps, place

    def __len__(self) -> int:
        return len(self.events)


class Stretch(NamedTuple):
    """Part of a row of even runs: the notes of one from ``first`` up to ``stop``; the whole run stops at ``limit``."""

    first: int
    stop: int
    limit: int


class Row:
    """The even runs of a whole line, one after another in one row; where a run ends on the first note of the next, that stands there twice.

    Of each note: its event, what is struck there (``moments``), its key and its staff; ``steps`` and ``contour`` tell how each
    is left for the next. What is found out about a row is kept with it: stretches of it are asked for again and again.
    """

    def __init__(self, line: Line) -> None:
        spans = list(_spans(line))
        self.scope = line.scope
        self.events = tuple(chain.from_iterable([line.events[first:stop] for first, stop in spans]))
        self.moments = tuple([event.notes for event in self.events])
        self.notes = tuple([note for note, in self.moments])
        pitches = [note.pitch for note in self.notes]
        self.keys = tuple([int(pitch.semitone) for pitch in pitches])
        self.steps = tuple(map(sub, self.keys[1:], self.keys))
        self.contour = bytes([UP if step > 0 else DOWN if step else SAME for step in self.steps])
        self.staves = () if self.scope == "voice" else tuple([note.staff for note in self.notes])
        self._held = [place for place, note in enumerate(self.notes) if note.number in line.ties] if line.ties else []
        self._sounds = tuple([LETTERS * key + pitch.diatonic % LETTERS for key, pitch in zip(self.keys, pitches, strict=True)])
        self._passings = self._passed()
        self._places = [first for first, _ in spans]
        self._ends = [stop for _, stop in spans]
        self._runs = list(_side_by_side(spans))
        self._own = [run for run in self._runs if self.shared(run.first, run.stop)]

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

    def runs(self, line: Line) -> Iterator[tuple[int, Stretch]]:
        """Yield the even runs of the whole line or of a slice of it, each with its place in the whole line."""
        begin, end = line.first, line.first + len(line)
        for at in range(bisect_right(self._ends, begin), len(self._runs)):
            place, (first, stop, _) = self._places[at], self._runs[at]
            if place >= end:
                return
            before, after = max(begin - place, 0), max(self._ends[at] - end, 0)
            if stop - after - first - before >= LEAST:
                yield place + before, Stretch(first + before, stop - after, stop)

    def own(self, line: Line) -> Iterable[Stretch]:
        """Return the even runs in which a figure can be the line's own: in a merged line those that voices, or hands, share."""
        return self._own if line.whole is None else [run for _, run in self.runs(line) if self.shared(run.first, run.stop)]

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
    kept: Row | None = whole.__dict__.get("even runs")
    if kept is None:
        kept = whole.__dict__["even runs"] = Row(whole)
    return kept


def even_runs(line: Line) -> Iterator[Run]:
    """Yield the even runs of a line, in a slice what lies of them there."""
    row = row_of(line)
    for place, (first, stop, _) in row.runs(line):
        yield Run(row.events[first:stop], row.steps[first : stop - 1], place)


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
