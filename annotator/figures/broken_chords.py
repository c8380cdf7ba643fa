"""Broken chord: any repeated pattern of a chord's notes one after another, in threes, fours, sixes or eights.

Conventions
-----------
* Notes of equal value (the last may be longer). Groups begin on a beat where a figure can be found so, else where the row of notes
  begins. Two groups or more. Two groups under two harmonies are no pattern yet where they are threes, or fours with an odd note. At least
  three different notes in a group (two are a tremolo). The pattern of Alberti bass is left to it, and a group that runs on into the
  next in one direction to the arpeggio.
* The pattern is the first group: which of its notes is the lowest, the next higher … (``order``), and for each of these which chord tone
  it is above the lowest. It stays, while the chord may change from group to group.
* The voicing is what is in force for each note of the pattern. A change of harmony, or another lowest note that is a tone of the chord,
  sets it anew: the pattern's chord tones above that lowest note. A dark note that is a tone of the chord takes its place in the voicing
  until the next change; a passing or neighbour note does not. Of these there is at most one in four notes (one in a group of three).
* Three notes of a seventh chord that is no dominant are believed only where two groups in a row have them.
* A group that no chord holds stands under the harmony in force, or, a suspension, under the one it falls to in the next two groups;
  else under the chord that its other notes name, if one passing or neighbour note is all that is too much. The first note of a group is
  always a tone of its chord.
* In a merged line voices, or hands, share the figure, and share it alike in every group.

Rule
----
Anchors are the whole first group, then the lowest note wherever harmony or lowest note change, and each note that the voicing does not
give (odd). Everything else is the voicing.

Source: common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator
from itertools import compress
from operator import ne

from annotator.figures.assembly import figure_of
from annotator.figures.chord_groups import Group
from annotator.figures.figure import Change, Covered, Figure, Spelling
from annotator.figures.harmony import DOWN, UP, Run, own_runs
from annotator.figures.voicing import Voicing, classes_of, pattern_of
from annotator.lines import Line
from annotator.score import Note
from annotator.settings import Options
from annotator.theory.chords import Chord, same_harmony

KIND = "broken-chord"
SIZES = (3, 4, 6, 8)
"""Notes of a group."""
SKIP = 8
"""Semitones from which on a step between two notes breaks a leg."""


def detect_broken_chords(line: Line, options: Options) -> list[Figure]:
    """Return the longest broken chords of a line, for each size of group."""
    found: list[Figure] = []
    for run in own_runs(line):
        sizes = [size for size in SIZES if 2 * size <= len(run)]
        starts = [(size, _first_beat(line, run, size)) for size in sizes]
        here = list(_of_sizes(run, starts))
        if not here and any(beat for _, beat in starts):
            here = list(_of_sizes(run, [(size, 0) for size, beat in starts if beat]))
        for chain, stop in _telling(here):
            figure = chain.figure(line, stop)
            if figure is not None:
                found.append(figure)
    return found


def _telling(found: list[tuple[_Chain, int]]) -> Iterator[tuple[_Chain, int]]:
    """Yield patterns and where they end, but none that lies within another which leaves no more to read there."""
    outer, last = None, 0
    for chain, stop in sorted(found, key=lambda item: (item[0].start, -item[1])):
        if outer is not None and stop <= last and outer.grey(chain.start, stop) >= chain.grey(chain.start, stop):
            continue
        yield chain, stop
        if stop > last:
            outer, last = chain, stop


def _first_beat(line: Line, run: Run, size: int) -> int:
    """Return the index of the first note at which a group of this size stands on its beat; 0 where the bar does not tell."""
    head = run.events[0]
    bar = line.bars[head.bar]
    span = size * head.ticks
    if (bar.ticks + bar.offset) % span:
        return 0
    missing = (bar.tick - head.tick - bar.offset) % span
    return missing // head.ticks if missing % head.ticks == 0 else 0


def _of_sizes(part: Run, starts: Iterable[tuple[int, int]]) -> Iterator[tuple[_Chain, int]]:
    """Yield the patterns of a run and where they end, for each (size, first note) of groups, but none that smaller groups make up."""
    patterns, end = _patterns_of(part.whole), part.begin + len(part)
    told = 0  # one bit a note
    for size, start in starts:
        places = patterns.places(size, (part.begin + start) % size)
        at = bisect_left(places, part.begin + start)
        while at < len(places) and places[at] + 2 * size <= end:
            chain, stop = patterns.followed(size, places[at], end)
            at += 1
            if stop <= chain.start + size:
                continue
            notes = (1 << stop) - (1 << chain.start)
            if told & notes != notes and chain.worth(stop):
                told |= notes
                yield chain, stop
            at = bisect_left(places, stop, at)


class _Patterns:
    """The patterns of a whole run. Parts of it are looked at again and again: what is known of the run need only be looked up."""

    def __init__(self, run: Run) -> None:
        self._run = run
        self._places: dict[tuple[int, int], list[int]] = {}
        self._chains: dict[tuple[int, int], _Chain] = {}

    def places(self, size: int, phase: int) -> list[int]:
        """Return, in order, where a group of a chord stands whose contour comes again, among the groups that begin at ``phase``."""
        kept = self._places.get((size, phase))
        if kept is None:
            run, contour = self._run, self._run.contour
            again = [
                place
                for place in range(phase, len(run) - 2 * size + 1, size)
                if contour.startswith(contour[place : place + size - 1], place + size)
            ]
            kept = [place for place in again if not _one_leg(run, place, size) and run.group(place, size).chord is not None]
            self._places[size, phase] = kept
        return kept

    def followed(self, size: int, place: int, end: int) -> tuple[_Chain, int]:
        """Return the pattern that begins at a place, and where it ends if the run ends at ``end``.

        A pattern followed once is kept, and followed on where it must be.
        """
        chain = self._chains.get((size, place))
        if chain is None:
            chain = self._chains[size, place] = _Chain(self._run, size, place, len(self._run))
        stop = chain.run_on(end)
        if stop is None:
            chain = _Chain(self._run, size, place, end)
            stop = chain.run_on(end) or place
        return chain, stop


def _patterns_of(run: Run) -> _Patterns:
    """Return the patterns of a whole run, kept with it."""
    kept: _Patterns | None = run.__dict__.get("patterns")
    if kept is None:
        kept = run.__dict__["patterns"] = _Patterns(run)
    return kept


def _one_leg(run: Run, place: int, size: int) -> bool:
    """Return whether a group runs on into the next in one direction without a skip: that is an arpeggio, not a pattern."""
    ways = run.contour[place : place + size]
    return ways.count(ways[0]) == size and ways[0] in (UP, DOWN) and max(map(abs, run.steps[place : place + size])) < SKIP


class _Chain:
    """Follows one pattern from its first group as far as it goes, or as far as is asked, and from there on when more is asked.

    The run is taken to end at ``limit``. ``seen`` tells, for each group tried, up to where the run has been looked at: a chord may be
    believed because of what comes next.
    """

    def __init__(self, run: Run, size: int, start: int, limit: int) -> None:
        self.run, self.size, self.start, self.limit = run, size, start, limit
        self.dark: list[bool] = []
        self.odd: list[bool] = []
        self.greys = [0]
        self.changes: list[tuple[int, Chord]] = []
        self.foreign = 0
        self.looked = start + size
        self.goes_on = self._begin()
        self.seen = [self.looked]
        self.made: dict[int, Figure | None] = {}

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
        while stop and self.greys[stop] == self.greys[stop - size]:
            stop -= size  # a last group that is all dark gives nothing
        return start + stop

    def _begin(self) -> bool:
        """Return whether the first group is a pattern, and if so take it up."""
        start, size = self.start, self.size
        group = self.run.group(start, size)
        chord = self._named(group, start)
        pattern = None if chord is None else group.pattern
        if chord is None or pattern is None or not self.run.shared(start, start + size):
            return False
        self.staves = self._staves(start)
        self.voicing = Voicing(pattern, sorted(set(group.keys)), chord)
        self.changes.append((0, chord))
        self._add([True] * size, [False] * size)
        return True

    def _add(self, dark: list[bool], odd: list[bool]) -> None:
        """Add a group, note by note dark or not, odd or not."""
        self.dark += dark
        self.odd += odd
        greys = self.greys
        for is_dark in dark:
            greys.append(greys[-1] + (not is_dark))

    def _chord_at(self, place: int) -> Chord | None:
        """Return the chord of a group that is still to come, None after the last."""
        stop = place + self.size
        if stop > self.limit:
            return None
        self.looked = max(self.looked, stop)
        return self.run.group(place, self.size).chord

    def _named(self, group: Group, place: int, before: Chord | None = None) -> Chord | None:
        """Return the chord of a group's notes; an incomplete one only if it is in force already or the next group confirms it."""
        chord = group.chord
        if chord is None or (before is not None and same_harmony(chord, before)):
            return chord
        if group.incomplete:
            coming = self._chord_at(place + self.size)
            return chord if coming is not None and same_harmony(coming, chord) else None
        return chord

    def _staves(self, place: int) -> tuple[int, ...]:
        """Return what must be alike in every group of a merged line: who plays which note."""
        return self.run.staves[place : place + self.size] if self.run.scope == "shared" else ()

    def _take(self, place: int) -> bool:
        """Add the group at ``place`` if the pattern goes on in it."""
        if self._staves(place) != self.staves:
            return False
        group, voicing = self.run.group(place, self.size), self.voicing
        if group.keys == voicing.in_force and (group.chord is None or same_harmony(group.chord, voicing.chord)):
            self._add([False] * self.size, [False] * self.size)
            return True
        alike = group.order == voicing.pattern.order
        chord = self._named(group, place, voicing.chord) if alike else None
        if chord is None:
            chord = self._chord_with_odd_notes(place, group, alike)
        return chord is not None and self._cover(place, group.keys, chord)

    def _cover(self, place: int, keys: tuple[int, ...], chord: Chord) -> bool:
        """Add the group of ``keys`` at ``place``, which stands under a chord, if it leaves the pattern clear."""
        classes = classes_of(chord)
        foreign = sum([key % 12 not in classes for key in keys])
        if keys[0] % 12 not in classes or 4 * (self.foreign + foreign) > place + self.size - self.start:
            return False
        changed = None if same_harmony(chord, self.voicing.chord) else chord
        before = list(self.voicing.keys)
        try:
            dark = self.voicing.cover(keys, changed)
        except ValueError:
            self.voicing.keys = before
            return False
        self.foreign += foreign
        odd = list(dark)
        if changed is not None or self.voicing.keys[0] != before[0]:
            odd[self.voicing.pattern.lowest] = False
        self._add(dark, odd)
        if changed is not None:
            self.changes.append((place - self.start, chord))
        return True

    def _chord_with_odd_notes(self, place: int, group: Group, alike: bool) -> Chord | None:
        """Return the chord of a group that no chord holds: the one in force, else one that comes in the next two groups."""
        most = max(1, self.size // 4)
        if sum(map(ne, group.keys, self.voicing.in_force)) <= most:
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
        return self.greys[stop - self.start] - self.greys[first - self.start]

    def worth(self, stop: int) -> bool:
        """Return whether the groups before ``stop`` are a figure: two groups under two harmonies are not, if threes or if a note is odd."""
        count = stop - self.start
        if count < 9 and len(self.changes) > 1 and self.changes[1][0] < count and (self.size == 3 or any(self.odd[:count])):
            return False
        return self.greys[count] > 1

    def figure(self, line: Line, stop: int) -> Figure | None:
        """Return the figure of the groups taken up, those before ``stop``, an index after one of them; it is made once."""
        count = stop - self.start
        if count not in self.made:
            self.made[count] = self._figure(line, count)
        return self.made[count]

    def _figure(self, line: Line, count: int) -> Figure | None:
        """Make the figure of the first ``count`` notes."""
        events = self.run.events[self.start : self.start + count]
        notes: list[Note] = [event.notes[0] for event in events]
        return figure_of(
            line,
            KIND,
            events,
            compress(notes, self.dark),
            compress(notes, self.odd),
            bounded=True,
            chord=self.changes[0][1],
            changes=tuple([Change(at, notes[at], chord) for at, chord in self.changes if at < count]),
            group=self.size,
        )


def spell_out_broken_chord(covered: Covered) -> Spelling:
    """Rebuild a broken chord from its first group, its harmonies and its dark notes."""
    size = covered.group
    chords = dict(covered.changes)
    if not size:
        raise ValueError("a broken chord has groups")
    known = [None if slot.known[0] is None else int(slot.known[0].semitone) for slot in covered.slots]
    keys = [key for key in known[:size] if key is not None]
    if len(keys) < size:
        raise ValueError("the first group stays dark")
    voicing = Voicing(pattern_of(keys, chords[0]), sorted(set(keys)), chords[0])
    for at in range(size, len(known), size):
        keys += voicing.read(known[at : at + size], chords.get(at))
    return tuple((key,) for key in keys)
