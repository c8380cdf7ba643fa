"""Chains: a pattern of broken chords followed from its first group as far as it goes, and what a row of runs knows of its patterns.

Conventions
-----------
* A pattern, and how it goes on, is what ``broken_chords`` says. Places are indices into a row of runs.
* Parts of a run are looked at again and again: each place is looked at once, and a pattern followed once is kept, and followed on where
  more is asked. Where notes beyond the end of a part had a say, the pattern is followed anew up to that end.

Source: common practice, no source.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator
from operator import eq, ne

from annotator.figures.chord_groups import Group
from annotator.figures.figure import Change, Figure
from annotator.figures.harmony import SAME, Row
from annotator.figures.voicing import Voicing, classes_of
from annotator.lines import Line
from annotator.theory.chords import Chord, same_harmony

KIND = "broken-chord"
SKIP = 8
"""Semitones from which on a step between two notes breaks a leg."""


class Patterns:
    """The patterns of a row of even runs."""

    def __init__(self, row: Row) -> None:
        self._row = row
        self._repeats: dict[int, list[tuple[int, int]]] = {}
        self._places: dict[tuple[int, int], list[int]] = {}
        self._chains: dict[tuple[int, int], Chain] = {}

    def places(self, size: int, phase: int) -> list[int]:
        """Return, in order, where a group stands whose contour comes again, among the groups that begin at ``phase``.

        A place from which nothing has come is no longer among them.
        """
        kept = self._places.get((size, phase))
        if kept is None:
            kept = self._places[size, phase] = []
            for first, stop in self._repeating(size):
                kept += range(first + (phase - first) % size, stop, size)
        return kept

    def _repeating(self, size: int) -> list[tuple[int, int]]:
        """Return the stretches of places (first, stop) at which a group stands whose contour comes again right after it."""
        kept = self._repeats.get(size)
        if kept is None:
            contour = self._row.contour
            equal = bytes(map(eq, contour, contour[size:]))
            inside = size - 1  # steps of a group
            kept = self._repeats[size] = [
                (found.start(), found.end() - inside + 1) for found in re.finditer(b"\x01{%d,}" % inside, equal)
            ]
        return kept

    def runs_on(self, size: int, place: int) -> bool:
        """Return whether a group runs on into the next in one direction without a skip: it is an arpeggio, and no pattern."""
        ways = set(self._row.contour[place : place + size])
        return len(ways) == 1 and ways != {SAME} and max(map(abs, self._row.steps[place : place + size])) < SKIP

    def between(self, size: int, first: int, end: int, limit: int) -> Iterator[tuple[Chain, int]]:
        """Yield the patterns of groups counted from ``first`` and where they stop if a run, which goes on to ``limit``, ends at ``end``."""
        places = self.places(size, first % size)
        at = bisect_left(places, first)
        while at < len(places) and places[at] + 2 * size <= end:
            place = places[at]
            chain = self._chains.get((size, place)) or self._begun(size, place, limit)
            if chain is None:
                del places[at]
                continue
            self._chains[size, place] = chain
            stop = chain.run_on(end)
            if stop is None:
                chain = self._begun(size, place, end)
                stop = None if chain is None else chain.run_on(end)
            elif chain.empty:
                del places[at]
                continue
            if chain is None or stop is None or stop <= place + size:
                at += 1
                continue
            yield chain, stop
            at = bisect_left(places, stop, at + 1)

    def _begun(self, size: int, place: int, limit: int) -> Chain | None:
        """Return the pattern that begins at a place, if one does, in a run up to ``limit``; the group after it lies before that.

        A chord that wants a tone is believed only if the next group confirms it.
        """
        row, looked = self._row, place + size
        if not row.shared(place, looked):
            return None
        group = row.group(place, size)
        chord = group.chord
        if chord is None or group.pattern is None or self.runs_on(size, place):
            return None
        if group.incomplete:
            coming = row.group(looked, size).chord
            looked += size
            if coming is None or not same_harmony(coming, chord):
                return None
        return Chain(row, place, limit, Voicing(group.pattern, list(group.heights), chord), looked)


def patterns_of(row: Row) -> Patterns:
    """Return the patterns of a row, kept with it."""
    kept: Patterns | None = row.__dict__.get("patterns")
    if kept is None:
        kept = row.__dict__["patterns"] = Patterns(row)
    return kept


class Chain:
    """Follows one pattern from its first group as far as it goes, or as far as is asked, and from there on when more is asked.

    The run is taken to end at ``limit``. ``seen`` tells, for each group tried, up to where the run has been looked at: a chord may be
    believed because of what comes next.
    """

    def __init__(self, row: Row, start: int, limit: int, voicing: Voicing, looked: int) -> None:
        self.row, self.start, self.limit, self.voicing, self.looked = row, start, limit, voicing, looked
        self.size = size = len(voicing.pattern.order)
        self.staves = self._staves(start)
        self.expected = voicing.in_force
        self.changes = [Change(0, row.notes[start], voicing.chord)]
        self.dark, self.odd = [True] * size, [False] * size
        self.foreign = 0
        self.goes_on = True
        self.seen = [looked]
        self.made: dict[int, Figure] = {}

    def run_on(self, end: int) -> int | None:
        """Take up groups until the pattern ends, or the run at ``end``; return where (an index after the last group).

        None where that is not known, because notes beyond ``end`` had a say.
        """
        start, size = self.start, self.size
        while self.goes_on and start + len(self.dark) + size <= end:
            self.goes_on = self._take(start + len(self.dark))
            self.seen.append(self.looked)
        room = (end - start) // size
        if self.seen[min(len(self.seen), room) - 1] > end:
            return None
        stop = min(len(self.dark), room * size)
        while stop and False not in self.dark[stop - size : stop]:
            stop -= size  # a last group that is all dark gives nothing
        return start + stop

    @property
    def empty(self) -> bool:
        """Whether nothing follows the first group, wherever the run may end."""
        return not self.goes_on and len(self.dark) == self.size and self.looked <= self.start + 2 * self.size

    def _chord_at(self, place: int) -> Chord | None:
        """Return the chord of a group that is still to come, None after the last."""
        stop = place + self.size
        if stop > self.limit:
            return None
        self.looked = max(self.looked, stop)
        return self.row.group(place, self.size).chord

    def _named(self, group: Group, place: int) -> Chord | None:
        """Return the chord of a group's notes; an incomplete one only if it is in force already or the next group confirms it."""
        chord = group.chord
        if chord is None or same_harmony(chord, self.voicing.chord):
            return chord
        if group.incomplete:
            coming = self._chord_at(place + self.size)
            return chord if coming is not None and same_harmony(coming, chord) else None
        return chord

    def _staves(self, place: int) -> tuple[int, ...]:
        """Return what must be alike in every group of a merged line: who plays which note."""
        return self.row.staves[place : place + self.size] if self.row.scope == "shared" else ()

    def _take(self, place: int) -> bool:
        """Add the group at ``place`` if the pattern goes on in it."""
        if self._staves(place) != self.staves:
            return False
        group = self.row.group(place, self.size)
        if group.keys == self.expected and (group.chord is None or same_harmony(group.chord, self.voicing.chord)):
            grey = [False] * self.size
            self.dark += grey
            self.odd += grey
            return True
        alike = group.order == self.voicing.pattern.order
        chord = self._named(group, place) if alike else None
        if chord is not None:
            return self._cover_tones(place, group, chord)
        chord = self._chord_with_odd_notes(place, group, alike)
        return chord is not None and self._cover(place, group.keys, chord)

    def _cover_tones(self, place: int, group: Group, chord: Chord) -> bool:
        """Add the group at ``place``, which has the pattern's order and stands under its own chord, if the pattern has a place there.

        All its notes are tones: what the voicing does not give is dark where first struck, and then in force.
        """
        voicing, order = self.voicing, group.order
        changed = not same_harmony(chord, voicing.chord)
        moved = changed or group.heights[0] != voicing.keys[0]
        given = group.given(voicing.pattern) if moved else voicing.keys
        if given is None:
            return False
        odd = [False] * self.size
        for height, (key, rule) in enumerate(zip(group.heights, given, strict=True)):
            if key != rule:
                odd[order.index(height)] = True
        self.odd += odd
        self.dark += odd
        self.dark[place - self.start + order.index(0)] = moved
        voicing.keys, self.expected = list(group.heights), group.keys
        if changed:
            voicing.chord = chord
            self.changes.append(Change(place - self.start, self.row.notes[place], chord))
        return True

    def _cover(self, place: int, keys: tuple[int, ...], chord: Chord) -> bool:
        """Add the group of ``keys`` at ``place``, which stands under a chord, if its first note and enough others are tones of it."""
        classes = classes_of(chord)
        foreign = self.foreign + sum([key % 12 not in classes for key in keys])
        if keys[0] % 12 not in classes or 4 * foreign > place + self.size - self.start:
            return False
        changed = None if same_harmony(chord, self.voicing.chord) else chord
        before = self.voicing.keys[0]
        try:
            dark = self.voicing.cover(keys, changed)
        except ValueError:
            return False
        self.foreign = foreign
        self.expected = self.voicing.in_force
        odd = list(dark)
        if changed is not None or self.voicing.keys[0] != before:
            odd[self.voicing.pattern.lowest] = False
        self.dark += dark
        self.odd += odd
        if changed is not None:
            self.changes.append(Change(place - self.start, self.row.notes[place], chord))
        return True

    def _chord_with_odd_notes(self, place: int, group: Group, alike: bool) -> Chord | None:
        """Return the chord of a group that no chord holds: the one in force, else one that comes in the next two groups."""
        most = max(1, self.size // 4)
        if sum(map(ne, group.keys, self.expected)) <= most:
            return self.voicing.chord
        for ahead in (1, 2) if alike else ():
            coming = self._chord_at(place + ahead * self.size)
            if coming is not None:
                classes = classes_of(coming)
                if sum([key % 12 not in classes for key in group.keys]) <= most and min(group.keys) % 12 in classes:
                    return coming
                break
        return group.chord_of_the_rest if alike else None

    def grey(self, first: int, stop: int) -> int:
        """Return how many notes from ``first`` up to ``stop`` are grey."""
        return self.dark[first - self.start : stop - self.start].count(False)

    def worth(self, stop: int) -> bool:
        """Return whether the groups before ``stop`` are a figure.

        Two groups under two harmonies are none where they are threes or a note is odd.
        """
        count = stop - self.start
        changed = len(self.changes) > 1 and self.changes[1].moment < count
        if count < 9 and changed and (self.size == 3 or any(self.odd[:count])):
            return False
        return self.grey(self.start, stop) > 1

    def figure(self, line: Line, stop: int) -> Figure:
        """Return the figure of the groups taken up, those before ``stop``, an index after one of them; it is made once."""
        made = self.made.get(stop)
        if made is None:
            start, count = self.start, stop - self.start
            made = self.made[stop] = self.row.figure(
                line,
                KIND,
                (start, stop),
                self.dark,
                self.odd,
                chord=self.changes[0].chord,
                changes=tuple([change for change in self.changes if change.moment < count]),
                group=self.size,
            )
        return made
