"""Groups of a bass and the chords above it: where they stand in a line, how far each goes, and what is known of each.

Conventions
-----------
* What a bass is, and how far its chords go, is what ``bass_and_chord`` says. A group alone is none: it is looked for only where a bass
  with chords right after it is followed by another.
* Places are indices into a whole line; a slice asks its whole line, and has of a group what lies in it.

Source: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from annotator.lines import Event, Line
from annotator.theory.chords import name_chord

MOST_OF_A_BASS = 3
"""Most notes of a bass: a note and its octaves."""

BASS, FIRST_BASS, CHORD, OTHER = "b", "B", "c", "-"  # a first bass does not follow the event before it
_NEIGHBOURS = re.compile(f"[{BASS}{FIRST_BASS}]{CHORD}+(?:{BASS}{CHORD}+)+")
_GROUP = re.compile(f"[{BASS}{FIRST_BASS}]{CHORD}+")


def keys_of(event: Event) -> tuple[int, ...]:
    """Return the keys struck, from low to high."""
    return tuple([int(note.pitch.semitone) for note in event.notes])


class Group:
    """A bass and its chords: some ``events`` of a line, from its place ``first`` on, their lengths and their keys.

    ``size`` is the number of notes, ``chord`` that of them all, and ``strange`` how many notes of the chords after the first differ
    from the chord before each.
    """

    def __init__(self, events: tuple[Event, ...], first: int) -> None:
        self.events, self.first = events, first
        self.ticks = [event.ticks for event in events]
        self.keys = [keys_of(event) for event in events]
        self.size = sum(map(len, self.keys))
        self.chord = name_chord([note.pitch for event in events for note in event.notes])
        self.strange = strange(self.keys[2:], self.keys[1])

    def __len__(self) -> int:
        return len(self.events)


def strange(chords: Sequence[tuple[int, ...]], before: tuple[int, ...]) -> int:
    """Return how many notes of some chords differ from the chord struck before each."""
    total = 0
    for keys in chords:
        if keys != before:
            total += sum(dark_notes(keys, before))
            before = keys
    return total


def dark_notes(keys: Sequence[int], before: Sequence[int]) -> list[bool]:
    """Return which notes do not follow from the chord before: all of them where it had another number of notes."""
    if len(keys) != len(before):
        return [True] * len(keys)
    return [key != old for key, old in zip(keys, before, strict=True)]


class Groups:
    """The groups of a whole line."""

    def __init__(self, line: Line) -> None:
        self._line = line.events, line.bars
        self._roles = "".join(map(_role, line.events))
        self._stops: dict[int, int] = {}
        self._groups: dict[tuple[int, int], Group] = {}

    def neighbours(self, first: int, stop: int) -> Iterator[tuple[list[Group], bool]]:
        """Yield the groups between two places that follow one another directly, two or more at a time; and whether all is silent then."""
        events, _ = self._line
        for row in _NEIGHBOURS.finditer(self._roles, first, stop):
            groups: list[Group] = []
            for found in _GROUP.finditer(self._roles, *row.span()):
                end = min(found.end(), self._stop(found.start()))
                if end - found.start() > 1:
                    groups.append(self.group(found.start(), end))
                if end < found.end() or end == row.end():
                    if len(groups) > 1:
                        yield groups, end == stop or not events[end].joined
                    groups = []

    def group(self, first: int, stop: int) -> Group:
        """Return the bass at a place with the chords up to another; what is known of it is kept with the line."""
        group = self._groups.get((first, stop))
        if group is None:
            group = self._groups[first, stop] = Group(self._line[0][first:stop], first)
        return group

    def _stop(self, first: int) -> int:
        """Return where the chords that belong to the bass at a place stop: right after it if there is none."""
        stop = self._stops.get(first)
        if stop is None:
            events, bars = self._line
            bass = events[first]
            low, top = bass.notes[0].pitch.semitone, bass.notes[-1].pitch.semitone
            end = bass.tick + bars[bass.bar].ticks
            stop = first + 1
            while self._roles[stop : stop + 1] == CHORD and events[stop].tick < end:
                notes = events[stop].notes
                if notes[0].pitch.semitone <= low or notes[-1].pitch.semitone <= top:
                    break
                stop += 1
            self._stops[first] = stop
        return stop


def _role(event: Event) -> str:
    """Return what an event can be in a group."""
    notes = event.notes
    if len(notes) > 1:
        lowest = notes[0].pitch.semitone
        for note in notes:
            if (note.pitch.semitone - lowest) % 12:
                return CHORD if event.joined else OTHER
        if len(notes) > MOST_OF_A_BASS:
            return OTHER
    return BASS if event.joined else FIRST_BASS


def groups_of(line: Line) -> Groups:
    """Return the groups of a line, of a slice those of its whole line; each line is looked through once."""
    whole = line if line.whole is None else line.whole
    kept: Groups | None = whole.__dict__.get("bass groups")
    if kept is None:
        kept = whole.__dict__["bass groups"] = Groups(whole)
    return kept
