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

from collections.abc import Iterable, Iterator, Sequence
from functools import reduce
from itertools import accumulate
from operator import or_

from annotator.figures.assembly import figure_of
from annotator.figures.figure import Change, Covered, Figure, Spelling
from annotator.figures.harmony import Run, own_runs, shared_by_voices
from annotator.figures.voicing import Voicing, classes_of, order_of, pattern_of
from annotator.lines import Line
from annotator.score import Note
from annotator.settings import Options
from annotator.theory.chords import QUALITIES, Chord, chord_of, same_harmony, tones
from annotator.theory.names import class_of

KIND = "broken-chord"
SIZES = (3, 4, 6, 8)
"""Notes of a group."""
TRIAD = 3


def detect_broken_chords(line: Line, options: Options) -> list[Figure]:
    """Return the longest broken chords of a line, for each size of group."""
    found: list[Figure] = []
    for run in own_runs(line):
        if len(run) < 2 * SIZES[0]:
            continue
        beats = [_first_beat(line, run, size) for size in SIZES]
        here = list(_of_sizes(line, run, zip(SIZES, beats, strict=True)))
        if not here and any(beats):
            here = list(_of_sizes(line, run, ((size, 0) for size, beat in zip(SIZES, beats, strict=True) if beat)))
        found.extend(_telling(here))
    return found


def _telling(found: list[tuple[int, Figure]]) -> Iterator[Figure]:
    """Yield figures, given with their first index, but none that lies within another which leaves no more to read there."""
    outer: tuple[int, int, list[int]] = (0, 0, [0])
    for first, figure in sorted(found, key=lambda item: (item[0], -len(item[1].moments))):
        start, stop, grey = outer
        end = first + len(figure.moments)
        if end <= stop and grey[end - start] - grey[first - start] >= len(figure.grey):
            continue
        yield figure
        if end > stop:
            dark = {note.number for note in figure.anchors}
            counts = [0, *accumulate(moment[0].number not in dark for moment in figure.moments)]
            outer = (first, end, counts)


def _first_beat(line: Line, run: Run, size: int) -> int:
    """Return the index of the first note at which a group of this size stands on its beat; 0 where the bar does not tell."""
    head = run.events[0]
    bar = line.bars[head.bar]
    span = size * head.ticks
    if (bar.ticks + bar.offset) % span:
        return 0
    missing = (bar.tick - head.tick - bar.offset) % span
    return missing // head.ticks if missing % head.ticks == 0 else 0


def _of_sizes(line: Line, part: Run, starts: Iterable[tuple[int, int]]) -> Iterator[tuple[int, Figure]]:
    """Yield the figures of a run with their first index, for each (size, first note) of groups, but none that smaller groups make up."""
    told: set[int] = set()
    run, end = part.whole, part.begin + len(part)
    contour = run.contour
    for size, start in starts:
        place, last = part.begin + start, end - 2 * size
        while place <= last:
            after = place + size
            rows = contour[place : after - 1]
            again = rows == contour[after : after + size - 1] and not _one_leg(run, rows, place, after)
            if again and run.chord(place, after) is not None:
                chain, stop = _followed(line, run, size, place, end)
                if stop > after:
                    figure = chain.figure(line, stop)
                    if figure is not None and not told.issuperset(range(place, stop)):
                        told.update(range(place, stop))
                        yield place, figure
                    after = stop
            place = after


def _followed(line: Line, run: Run, size: int, place: int, end: int) -> tuple[_Chain, int]:
    """Return the pattern that begins at a place of a run, and where it ends if the run ends at ``end``.

    Parts of a run are looked at again and again: a pattern followed once is kept with its line, and followed on where it must be.
    """
    whole = line if line.whole is None else line.whole
    kept: dict[tuple[int, int], _Chain] = whole.__dict__.setdefault("patterns", {})
    chain = kept.get((size, run.place + place))
    if chain is None:
        chain = kept[(size, run.place + place)] = _Chain(line, run, size, place)
    stop = chain.run_on(end)
    if stop is None:
        chain = _Chain(line, run.part(0, end), size, place)
        stop = chain.run_on(end) or place
    return chain, stop


def _one_leg(run: Run, rows: list[int], place: int, after: int) -> bool:
    """Return whether a group runs on into the next in one direction without a skip: that is an arpeggio, not a pattern."""
    way = rows[0]
    return run.steps[after - 1] * way > 0 and all(step == way for step in rows) and all(abs(s) < 8 for s in run.steps[place:after])


class _Chain:
    """Follows one pattern from its first group as far as it goes, or as far as is asked, and from there on when more is asked.

    ``seen`` tells, for each group tried, up to where the run has been looked at: a chord may be believed because of what comes next.
    """

    def __init__(self, line: Line, run: Run, size: int, start: int) -> None:
        self.run, self.size, self.start, self.shared = run, size, start, line.scope == "shared"
        self.dark: list[bool] = []
        self.odd: list[bool] = []
        self.changes: list[tuple[int, Chord]] = []
        self.foreign = 0
        self.looked = start + size
        self.goes_on = self._begin(line)
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
        while stop and all(self.dark[stop - size : stop]):
            stop -= size  # a last group that is all dark gives nothing
        return start + stop

    def _begin(self, line: Line) -> bool:
        """Return whether the first group is a pattern, and if so take it up."""
        start, size = self.start, self.size
        first = self.run.keys[start : start + size]
        chord = self._named(start)
        if chord is None or len(set(first)) < 3 or not shared_by_voices(line, self.run.events[start : start + size]):
            return False
        try:
            self.pattern = pattern_of(first, chord)
        except ValueError:
            return False
        if _has_shorter_period(self.pattern.order) or (self.pattern.order == (0, 2, 1, 2) and self.pattern.steps == (0, 1, 2)):
            return False
        self.staves = self._staves(start)
        self.voicing = Voicing(self.pattern, sorted(set(first)), chord)
        self.changes.append((0, chord))
        self.dark, self.odd = [True] * size, [False] * size
        return True

    def _chord_at(self, place: int) -> Chord | None:
        """Return the chord of a group that is still to come, None after the last."""
        stop = place + self.size
        if stop > len(self.run):
            return None
        self.looked = max(self.looked, stop)
        return self.run.chord(place, stop)

    def _named(self, place: int, before: Chord | None = None) -> Chord | None:
        """Return the chord of a group's notes; an incomplete one only if it is in force already or the next group confirms it."""
        chord = self.run.chord(place, place + self.size)
        if chord is None or (before is not None and same_harmony(chord, before)):
            return chord
        if _incomplete(chord, self.run.keys[place : place + self.size]):
            coming = self._chord_at(place + self.size)
            return chord if coming is not None and same_harmony(coming, chord) else None
        return chord

    def _staves(self, place: int) -> tuple[object, ...]:
        """Return what must be alike in every group of a merged line: who plays which note."""
        if not self.shared:
            return ()
        return tuple(self.run.staves[place : place + self.size])

    def _take(self, place: int) -> bool:
        """Add the group at ``place`` if the pattern goes on in it."""
        group = self.run.keys[place : place + self.size]
        if self.shared and self._staves(place) != self.staves:
            return False
        alike = order_of(group) == self.pattern.order
        chord = self._named(place, self.voicing.chord) if alike else None
        if chord is None:
            chord = self._chord_with_odd_notes(place, group, alike)
        if chord is None:
            return False
        classes = classes_of(chord)
        if group[0] % 12 not in classes:
            return False
        changed = None if same_harmony(chord, self.voicing.chord) else chord
        foreign = sum([key % 12 not in classes for key in group])
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
        if sum([key != kept[at] for at, key in zip(self.pattern.order, group, strict=True)]) <= most:
            return self.voicing.chord
        for ahead in (1, 2) if alike else ():
            coming = self._chord_at(place + ahead * self.size)
            if coming is not None:
                classes = classes_of(coming)
                if sum([key % 12 not in classes for key in group]) <= most and min(group) % 12 in classes:
                    return coming
                break
        return self._named_by_the_rest(place) if alike else None

    def _named_by_the_rest(self, place: int) -> Chord | None:
        """Return the smallest whole chord of a group but for one passing or neighbour note, struck at most once in four notes."""
        bits, keys = self.run.bits[place : place + self.size], self.run.keys[place : place + self.size]
        lowest = bits[keys.index(min(keys))]
        found = set()
        for odd in {bit for bit in bits if 4 * bits.count(bit) <= self.size} - {bits[0], lowest}:
            if not all(_by_step(keys, at) for at, bit in enumerate(bits) if bit == odd):
                continue
            chord = chord_of(reduce(or_, {bit for bit in bits if bit != odd}), lowest.bit_length() - 1)
            if chord is not None and not _incomplete(chord, [key for key, bit in zip(keys, bits, strict=True) if bit != odd]):
                found.add((len(QUALITIES[chord.quality]), chord))
        least = min((size for size, _ in found), default=0)
        smallest = [chord for size, chord in found if size == least]
        return smallest[0] if len(smallest) == 1 else None

    def figure(self, line: Line, stop: int) -> Figure | None:
        """Return the figure of the groups taken up, those before ``stop``, an index after one of them; it is made once."""
        count = stop - self.start
        if count not in self.made:
            self.made[count] = self._figure(line, count)
        return self.made[count]

    def _figure(self, line: Line, count: int) -> Figure | None:
        """Make the figure of the first ``count`` notes."""
        dark, odd = self.dark[:count], self.odd[:count]
        changes = [change for change in self.changes if change[0] < count]
        if count < 9 and len(changes) > 1 and (self.size == 3 or any(odd)):
            return None
        events = self.run.events[self.start : self.start + count]
        notes: list[Note] = [event.notes[0] for event in events]
        return figure_of(
            line,
            KIND,
            events,
            [note for note, is_dark in zip(notes, dark, strict=True) if is_dark],
            [note for note, strange in zip(notes, odd, strict=True) if strange],
            bounded=True,
            chord=changes[0][1],
            changes=tuple(Change(at, notes[at], chord) for at, chord in changes),
            group=self.size,
        )


def _by_step(keys: list[int], at: int) -> bool:
    """Return whether a note of a group is a step from the notes before and after it."""
    return all(0 < abs(keys[at] - beside) <= 2 for beside in (*keys[at - 1 : at], *keys[at + 1 : at + 2]))


def _incomplete(chord: Chord, keys: Sequence[int]) -> bool:
    """Return whether a seventh chord is doubtful for want of a tone: any but a dominant that lacks what may be left out."""
    if len(QUALITIES[chord.quality]) == TRIAD:
        return False  # it would have no name
    classes = {key % 12 for key in keys}
    if len(classes) == len(QUALITIES[chord.quality]):
        return False
    return chord.quality != "dominant-seventh" or (chord.inversion != 2 and class_of(tones(chord)[2]) in classes)


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
