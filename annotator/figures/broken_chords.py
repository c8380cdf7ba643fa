"""Broken chord: any repeated pattern of a chord's notes one after another, in threes, fours, sixes or eights.

Conventions
-----------
* Notes of equal value (the last may be longer). Groups begin on a beat where a figure can be found so, else where the row of notes
  begins. Two groups or more, but two groups of three notes only under one harmony (two triads in a row are no pattern yet). At least
  three different notes in a group (two are a tremolo). The pattern of Alberti bass is left to it.
* The pattern is the first group: which of its notes is the lowest, the next higher … (``order``), and for each of these which chord tone
  it is above the lowest. It stays, while the chord may change from group to group.
* The voicing is what is in force for each note of the pattern. A change of harmony, or another lowest note that is a tone of the chord,
  sets it anew: the pattern's chord tones above that lowest note. A dark note that is a tone of the chord takes its place in the voicing
  until the next change; a passing or neighbour note does not. Of these there is at most one in four notes (one in a group of three).
* A group that no chord holds stands under the harmony in force, or, a suspension, under the one it falls to in the next two groups.
* In a merged line voices, or hands, share the figure, and share it alike in every group.

Rule
----
Anchors are the whole first group, then the lowest note wherever harmony or lowest note change, and each note that the voicing does not
give (odd). Everything else is the voicing.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from annotator.figures.assembly import figure_of
from annotator.figures.figure import Change, Covered, Figure, Spelling
from annotator.figures.harmony import Run, even_runs, shared_by_voices
from annotator.lines import Line
from annotator.score import Note
from annotator.settings import Options
from annotator.theory.chords import QUALITIES, Chord, rungs, same_harmony, tones
from annotator.theory.names import class_of

KIND = "broken-chord"
SIZES = (3, 4, 6, 8)
"""Notes of a group."""


def order_of(keys: Sequence[int]) -> tuple[int, ...]:
    """Return each note's place among the different notes of a group from low to high.

    >>> order_of([60, 67, 64, 67])
    (0, 2, 1, 2)
    """
    heights = {key: place for place, key in enumerate(sorted(set(keys)))}
    return tuple(heights[key] for key in keys)


@dataclass(frozen=True, slots=True)
class Pattern:
    """What the first group shows: the ``order`` of its notes, the ladder ``steps`` of each different note, whether the ladder is sparse."""

    order: tuple[int, ...]
    steps: tuple[int, ...]
    sparse: bool

    @property
    def lowest(self) -> int:
        """The place in the group where its lowest note first stands."""
        return self.order.index(0)


def pattern_of(keys: Sequence[int], chord: Chord) -> Pattern:
    """Return the pattern of a group of one chord; raise ``ValueError`` where a note is no tone of it."""
    heights = sorted(set(keys))
    bass = heights[0]
    for sparse in (True, False):
        try:
            ladder = rungs(chord, bass % 12, sparse)
            steps = tuple((key - bass) // 12 * len(ladder) + ladder.index((key - bass) % 12) for key in heights)
        except ValueError:
            if sparse:
                continue
            raise
        return Pattern(order_of(keys), steps, sparse and (len(heights) == 3 or len(QUALITIES[chord.quality]) == 4))
    raise AssertionError("the whole ladder was the last to be tried")


@dataclass(slots=True)
class Voicing:
    """The notes in force, one for each different note of the pattern; both finding and rebuilding go through it, group by group."""

    pattern: Pattern
    keys: list[int]
    chord: Chord
    classes: frozenset[int] = field(init=False)

    def __post_init__(self) -> None:
        self.classes = classes_of(self.chord)

    def change(self, chord: Chord, bass: int) -> None:
        """Set the voicing anew: the pattern above ``bass``."""
        self.chord, self.classes = chord, classes_of(chord)
        ladder = rungs(chord, bass % 12, self.pattern.sparse)
        self.keys = [bass + ladder[step % len(ladder)] + 12 * (step // len(ladder)) for step in self.pattern.steps]

    def read(self, known: Sequence[int | None], changed: Chord | None) -> list[int]:
        """Return the keys of a group from its dark notes (None for grey ones) and the harmony that begins with it, if any."""
        bass = known[self.pattern.lowest]
        if changed is not None:
            if bass is None:
                raise ValueError("the lowest note stays dark where the harmony changes")
            self.change(changed, bass)
        elif bass is not None and bass != self.keys[0] and bass % 12 in self.classes:
            self.change(self.chord, bass)
        read = []
        for place, key in zip(self.pattern.order, known, strict=True):
            if key is None:
                key = self.keys[place]
            elif key % 12 in self.classes:
                self.keys[place] = key
            read.append(key)
        return read

    def cover(self, keys: Sequence[int], changed: Chord | None) -> list[bool]:
        """Return which notes of a written group must stay dark, and go on from it. The inverse of ``read``."""
        lowest = self.pattern.lowest
        bass = keys[lowest]
        moved = changed is not None or (bass != self.keys[0] and bass % 12 in self.classes)
        if moved:
            self.change(changed or self.chord, bass)
        dark = []
        for at, (place, key) in enumerate(zip(self.pattern.order, keys, strict=True)):
            dark.append(key != self.keys[place] or (moved and at == lowest))
            if key % 12 in self.classes:
                self.keys[place] = key
        return dark


@lru_cache(maxsize=4096)
def classes_of(chord: Chord) -> frozenset[int]:
    """Return the pitch classes of a chord's tones."""
    return frozenset(class_of(name) for name in tones(chord))


def detect_broken_chords(line: Line, options: Options) -> list[Figure]:
    """Return the longest broken chords of a line, for each size of group."""
    found: list[Figure] = []
    for run in even_runs(line):
        if len(run) < 2 * SIZES[0]:
            continue
        beats = [_first_beat(line, run, size) for size in SIZES]
        here = list(_of_sizes(line, run, zip(SIZES, beats, strict=True)))
        if not here and any(beats):
            here = list(_of_sizes(line, run, ((size, 0) for size, beat in zip(SIZES, beats, strict=True) if beat)))
        found.extend(here)
    return found


def _first_beat(line: Line, run: Run, size: int) -> int:
    """Return the index of the first note at which a group of this size stands on its beat; 0 where the bar does not tell."""
    head = run.events[0]
    bar = line.bars[head.bar]
    span = size * head.ticks
    if (bar.ticks + bar.offset) % span:
        return 0
    missing = (bar.tick - head.tick - bar.offset) % span
    return missing // head.ticks if missing % head.ticks == 0 else 0


def _of_sizes(line: Line, run: Run, starts: Iterable[tuple[int, int]]) -> Iterator[Figure]:
    """Yield the figures of a run for each (size of group, index of the first note), but none that smaller groups make up wholly."""
    told: set[int] = set()
    contour = [(step > 0) - (step < 0) for step in run.steps]
    for size, start in starts:
        place, last = start, len(run) - 2 * size
        while place <= last:
            after = place + size
            if contour[place : after - 1] == contour[after : after + size - 1]:
                chain = _Chain(line, run, size, place)
                stop = chain.run_on()
                if stop > after:
                    figure = chain.figure()
                    if figure is not None and not told.issuperset(range(place, stop)):
                        told.update(range(place, stop))
                        yield figure
                    after = stop
            place = after


class _Chain:
    """Follows one pattern from its first group as far as it goes."""

    def __init__(self, line: Line, run: Run, size: int, start: int) -> None:
        self.line, self.run, self.size, self.start = line, run, size, start
        self.dark: list[bool] = [True] * size
        self.odd: list[bool] = [False] * size
        self.changes: list[tuple[int, Chord]] = []
        self.foreign = 0

    def run_on(self) -> int:
        """Take up groups until the pattern ends; return where (an index after the last group)."""
        start, size = self.start, self.size
        first = self.run.keys[start : start + size]
        chord = self.run.chord(start, start + size)
        if chord is None or len(set(first)) < 3 or not shared_by_voices(self.line, self.run.events[start : start + size]):
            return start
        try:
            self.pattern = pattern_of(first, chord)
        except ValueError:
            return start
        if _has_shorter_period(self.pattern.order) or (self.pattern.order == (0, 2, 1, 2) and self.pattern.steps == (0, 1, 2)):
            return start
        self.staves = self._staves(start)
        self.voicing = Voicing(self.pattern, sorted(set(first)), chord)
        self.changes.append((0, chord))
        place = start + size
        while place + size <= len(self.run) and self._take(place):
            place += size
        while place > start and all(self.dark[place - size - start : place - start]):
            place -= size  # a last group that is all dark gives nothing
            del self.dark[place - start :], self.odd[place - start :]
        self.changes = [change for change in self.changes if change[0] < place - start]
        return place

    def _staves(self, place: int) -> tuple[object, ...]:
        """Return what must be alike in every group of a merged line: who plays which note."""
        if self.line.scope != "shared":
            return ()
        return tuple(event.notes[0].staff for event in self.run.events[place : place + self.size])

    def _take(self, place: int) -> bool:
        """Add the group at ``place`` if the pattern goes on in it."""
        group = self.run.keys[place : place + self.size]
        if self.line.scope == "shared" and self._staves(place) != self.staves:
            return False
        alike = order_of(group) == self.pattern.order
        chord = self.run.chord(place, place + self.size) if alike else None
        if chord is None:
            chord = self._chord_with_odd_notes(place, group, alike)
        if chord is None:
            return False
        changed = None if same_harmony(chord, self.voicing.chord) else chord
        foreign = sum(key % 12 not in classes_of(chord) for key in group)
        if 4 * (self.foreign + foreign) > place + self.size - self.start:
            return False
        before = list(self.voicing.keys)
        try:
            dark = self.voicing.cover(group, changed)
        except ValueError:
            self.voicing.keys = before
            return False
        self.foreign += foreign
        self.dark += dark
        lowest = self.pattern.lowest
        moved = changed is not None or self.voicing.keys[0] != before[0]
        self.odd += [is_dark and not (moved and i == lowest) for i, is_dark in enumerate(dark)]
        if changed is not None:
            self.changes.append((place - self.start, chord))
        return True

    def _chord_with_odd_notes(self, place: int, group: list[int], alike: bool) -> Chord | None:
        """Return the chord of a group that no chord holds: the one in force, else one that comes in the next two groups."""
        most = max(1, self.size // 4)
        kept = self.voicing.keys
        if sum(key != kept[at] for at, key in zip(self.pattern.order, group, strict=True)) <= most:
            return self.voicing.chord
        for ahead in (1, 2) if alike else ():
            start = place + ahead * self.size
            coming = self.run.chord(start, start + self.size) if start + self.size <= len(self.run) else None
            if coming is not None:
                strange = sum(key % 12 not in classes_of(coming) for key in group)
                return coming if strange <= most and min(group) % 12 in classes_of(coming) else None
        return None

    def figure(self) -> Figure | None:
        """Make the figure of the groups taken up."""
        if len(self.dark) < 9 and len(self.changes) > 1 and self.size == 3:
            return None
        events = self.run.events[self.start : self.start + len(self.dark)]
        notes: list[Note] = [event.notes[0] for event in events]
        figure = figure_of(
            self.line,
            KIND,
            events,
            [note for note, dark in zip(notes, self.dark, strict=True) if dark],
            chord=self.changes[0][1],
            changes=tuple(Change(at, notes[at], chord) for at, chord in self.changes),
            group=self.size,
        )
        return figure and replace(figure, odd=tuple(note for note, odd in zip(notes, self.odd, strict=True) if odd))


def _has_shorter_period(order: tuple[int, ...]) -> bool:
    """Return whether a pattern is a shorter one twice or more (it is then found in that size)."""
    size = len(order)
    return any(size % part == 0 and order == order[:part] * (size // part) for part in range(1, size // 2 + 1))


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
