"""Even runs: single notes of equal length, one joined to the other. Most chord figures, and broken intervals, are looked for in them.

Conventions
-----------
* A run has four notes at least. The note after the last equal one belongs to it too where it is longer; the next run may begin with it.
* A merged line repeats what its voices hold; there a figure counts only where the voices, or the hands, really share it.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from annotator.figures.lines import Event, Line
from annotator.music.chords import Chord, believed, incomplete, name_chord
from annotator.music.score import Note, Pitch

FEWEST = 4
"""Fewest notes of a run: with fewer there is no figure."""
AHEAD = 8
"""How many groups ahead the one is looked for that tells what a doubtful chord is."""
ROCKING = (2, 3, 4)
"""Strokes of a group in which single notes and chords take turns."""
CHORD = -1
"""Stands for the length of what is no single note."""


@dataclass(frozen=True, slots=True)
class Run:
    """An even run: its ``events``, the ``notes`` struck, their ``pitches`` and ``keys`` (MIDI numbers), and its ``place`` in the line."""

    events: tuple[Event, ...]
    notes: tuple[Note, ...]
    pitches: tuple[Pitch, ...]
    keys: tuple[int, ...]
    place: int

    def __len__(self) -> int:
        return len(self.events)

    @property
    def steps(self) -> list[int]:
        """How far it is, in semitones, from each note to the next; up is positive."""
        return [after - before for before, after in pairwise(self.keys)]

    def chord(self, first: int, size: int) -> Chord | None:
        """Return the chord of ``size`` notes from ``first`` on; None where there is none, or the run has not so many."""
        return name_chord(self.pitches[first : first + size]) if first + size <= len(self.notes) else None

    def believed(self, first: int, size: int, before: Chord | None = None) -> Chord | None:
        """Return the chord of a group, but a doubtful one only where the harmony ``before`` it or the next other group confirms it.

        A doubtful chord with a neighbour note in it (A♭ G A♭) is none, in a group of more than four: that note is no tone of it.
        """
        pitches, keys = self.pitches[first : first + size], self.keys[first : first + size]
        if len(keys) < size:
            return None
        if size > FEWEST and _with_neighbour(keys):
            chord = name_chord(pitches)
            if chord is None or incomplete(chord, keys):
                return None
        return believed(pitches, self._beside(first, size, before))

    def _beside(self, first: int, size: int, before: Chord | None) -> Iterator[Chord]:
        """Yield the chords beside a group: the harmony before it, that of the next group, and of the next other one."""
        keys = self.keys[first : first + size]
        ahead = range(first + size, min(len(self) - size, first + AHEAD * size) + 1, size)
        after = next((place for place in ahead if self.keys[place : place + size] != keys), len(self))
        for chord in (before, self.chord(first + size, size), self.chord(after, size)):
            if chord is not None:
                yield chord


def _with_neighbour(keys: Sequence[int]) -> bool:
    """Return whether some key is left by one or two semitones and at once come back to."""
    return any(before == after and 0 < abs(key - before) <= 2 for before, key, after in zip(keys, keys[1:], keys[2:], strict=False))


def even_runs(line: Line) -> Iterator[Run]:
    """Yield the even runs of a line."""
    lengths = [event.ticks if len(event.notes) == 1 else CHORD for event in line.events]
    for begins, ends in line.stretches:
        after = begins
        for length, equal in groupby(lengths[begins:ends]):
            first, after = after, after + len(list(equal))
            stop = after + 1 if after < ends and lengths[after] > length else after
            if length != CHORD and stop - first >= FEWEST:
                yield _run(line, first, stop)


def rocking_runs(line: Line) -> Iterator[tuple[int, Run]]:
    """Yield the runs in which strokes of one and of several notes take turns in a fixed way, and after how many strokes it comes again.

    Strokes are of equal length. Their notes stand one by one in the run, each with its stroke as its event, a chord from low to high.
    """
    for begins, ends in line.stretches:
        after = begins
        for _, equal in groupby(line.ticks[begins:ends]):
            first, after = after, after + len(list(equal))
            sizes = [len(event.notes) for event in line.events[first:after]] if after - first >= FEWEST else [1]
            for group in ROCKING if max(sizes) > 1 else ():
                same = [place >= group and sizes[place] == sizes[place - group] for place in range(len(sizes))]
                for alike, places in groupby(range(group, len(sizes)), key=same.__getitem__):
                    run = list(places)
                    if alike and len(run) >= group and len(set(sizes[run[0] - group : run[0]])) > 1:
                        yield group, _run(line, first + run[0] - group, first + run[-1] + 1)


def _run(line: Line, first: int, stop: int) -> Run:
    """Return the even run between two places of a line."""
    events = tuple([event for event in line.events[first:stop] for _ in event.notes])
    notes = tuple([note for event in line.events[first:stop] for note in event.notes])
    pitches = tuple([note.pitch for note in notes])
    return Run(events, notes, pitches, tuple([int(pitch.semitone) for pitch in pitches]), first)


def own_runs(line: Line) -> Iterator[Run]:
    """Yield the even runs of a line in which a figure can be the line's own: in a merged line those that its voices, or hands, share."""
    return (run for run in even_runs(line) if shared_by_voices(line, run.events))


def shared_by_voices(line: Line, events: Sequence[Event]) -> bool:
    """Return whether a figure belongs to this line and is not the affair of one voice (or one hand) within it."""
    if line.scope == "voice":
        return True
    notes = [note for event in events for note in event.notes]
    if line.scope == "shared":
        return any(note.staff != notes[0].staff for note in notes)
    return any(note.voice != notes[0].voice or note.staff != notes[0].staff for note in notes)
