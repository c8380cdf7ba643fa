"""The strokes of a hand or of a voice as whole numbers, and the chains of them that copy what lies so many strokes before.

Conventions
-----------
* Two strokes whose ``exact`` numbers are equal strike the same notes; where they differ by n times ``LETTER`` and m, the same n letters
  and m semitones higher. Two ``letters`` that differ by n are the same strokes n letters higher, altered in whatever way.
* ``rhythm`` is what lies between a stroke and the one before: how far apart they are, and how long the one before sounds, ties included.
  The first stroke after a cut, and one that no copy may go over, has a rhythm like no other.
* A stroke is told by all its notes, how they are held against each other, and the grace notes before it.

Rule of chains
--------------
* A chain begins with a run of strokes that are as their models; it goes on, either way, over odd strokes in the same rhythm.
* At most one stroke in three is odd, counted from its beginning, none in a copy of less than six notes; neither end is odd.

Source of the numbers: read off pages by eye, no source.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Container, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate, count, pairwise
from operator import eq, sub
from typing import NamedTuple

from annotator.figures.copies import FEWEST_WITH_ODD, PART_ODD, Move
from annotator.figures.figure import lawful_spans
from annotator.figures.lines import Event, Line, Texture, hand_of
from annotator.music.intervals import marked
from annotator.music.score import Bar, Note

LETTER = 256  # more than any key's number
OCTAVE = 7 * LETTER + 12
SHAPE = 1 << 20  # more than any single note's number
OTHERS = 8  # a voice is looked at apart if more than one in so many of its hand's notes is another's
ON_BAR, ON_BEAT, ELSEWHERE = range(3)
BEFORE = 3  # strokes at most that may be odd after a bar line, before what is copied
PACE = 1 << 24  # more than any number of a rhythm

Span = tuple[int, int]
"""First stroke and the one after the last."""

class Chain(NamedTuple):
    """Strokes from ``first`` up to ``stop`` that may be copies of what lies so far before them, those that are ``unlike`` it among them."""

    first: int
    stop: int
    unlike: Sequence[int]


Numbers = defaultdict[Hashable, int]
"""Gives equal things the same number, from 1, for all rows of a part."""

Graces = Mapping[tuple[int, int], list[Note]]
"""Grace notes by the moment and the staff of what they lean on."""


@dataclass(frozen=True)
class Row:
    """One hand's or voice's strokes.

    ``events`` are the strokes, ``ticks`` when each is struck, ``bars`` those of the part. ``segment`` is for each stroke the first one
    after the cut before it; ``signed`` are the part's notes with a sign of their own, ``fresh`` those read in a new clef or octave line.
    """

    line: Line
    events: tuple[Event, ...]
    bars: tuple[Bar, ...]
    ticks: list[int]
    exact: list[int]
    letters: list[int]
    rhythm: list[int]
    segment: list[int]
    signed: frozenset[int]
    fresh: frozenset[int]

    def __len__(self) -> int:
        return len(self.events)

    def strokes(self, first: int, stop: int) -> list[tuple[Note, ...]]:
        """Return the notes of some strokes."""
        return [event.notes for event in self.events[first:stop]]

    @cached_property
    def counted(self) -> list[int]:
        """How many notes come before each stroke, and in the end how many there are."""
        return list(accumulate([len(event.notes) for event in self.events], initial=0))

    def notes(self, first: int, stop: int) -> int:
        """Return how many notes some strokes have."""
        return self.counted[stop] - self.counted[first]

    @cached_property
    def signed_at(self) -> list[int]:
        """Which strokes have a note with a sign of its own."""
        return [place for place, event in enumerate(self.events) if any(note.number in self.signed for note in event.notes)]

    def plain(self, first: int, stop: int) -> bool:
        """Return whether some strokes go on by the same step: a scale, a chord's way up, one note."""
        return len({after - before for before, after in pairwise(self.letters[first:stop])}) < 2

    @cached_property
    def places(self) -> list[int]:
        """Where in its bar each stroke is."""
        return places_in(self.line)

    def bar_length(self, place: int) -> int:
        """Return how many ticks the bar of a stroke has, in free time those it really takes."""
        bar = self.bars[self.events[place].bar]
        return int(bar.time.quarters * self.line.resolution) if bar.time else bar.ticks


def places_in(line: Line) -> list[int]:
    """Return of each event whether it begins a bar (``ON_BAR``), is on a beat or after a rest (``ON_BEAT``), or elsewhere.

    What comes first in a full bar, after a rest on the bar line of no more than half the bar, begins it.
    """
    found = []
    sounding = 0
    before = -1
    for event in line.events:
        bar = line.bars[event.bar]
        offset = event.tick - bar.tick + bar.offset
        opens = event.bar != before and bar.offset == 0 and sounding <= bar.tick and 2 * offset <= bar.ticks
        if offset == 0 or opens:
            found.append(ON_BAR)
        elif offset % bar.beat_ticks(line.resolution) == 0 or event.tick > sounding:
            found.append(ON_BEAT)
        else:
            found.append(ELSEWHERE)
        before, sounding = event.bar, max(sounding, event.end)
    return found


def rows_of(texture: Texture) -> list[Row]:
    """Return the rows of a part: its hands, and where a hand has several voices, each of those."""
    numbers: Numbers = defaultdict(count(1).__next__)
    graces, signs = _graces(texture), (signed_notes(texture), fresh_notes(texture))
    return [_row(line, graces, signs, numbers) for line in played_lines(texture)]


def played_lines(texture: Texture) -> list[Line]:
    """Return the hands' lines of a part, and where a hand has several voices, those that are all its own, unless one plays nearly all."""
    found = []
    for hand, merged in texture.hands.items():
        notes = _notes(merged)
        voices = [line for line in texture.voices if line.hand == hand and OTHERS * (notes - _notes(line)) > notes]
        found += [merged, *[line.without([merged]) for line in voices if not _crosses(texture, line)]]
    return [line for line in found if len(line)]


def _crosses(texture: Texture, line: Line) -> bool:
    """Return whether a line passes from one hand's staff to the other's."""
    return len({hand_of(texture.part, note) for event in line.events for note in event.notes}) > 1


def _notes(line: Line) -> int:
    return sum([len(event.notes) for event in line.events])


def signed_notes(texture: Texture) -> frozenset[int]:
    """Return the numbers of the notes that are not altered as a note without a sign would be in their place."""
    return frozenset([note.number for note in texture.part.notes if marked(note, texture.bars)])


def fresh_notes(texture: Texture) -> frozenset[int]:
    """Return the numbers of the notes struck first on a staff after a change of clef, and where an octave line begins or has ended."""
    part = texture.part
    first = {change.staff: change for change in reversed(part.clefs)}
    changes = [(change.staff, change.tick) for change in part.clefs if change is not first[change.staff]]
    changes += [(line.staff, tick) for line in part.octave_lines for tick in (line.tick, line.until)]
    if not changes:
        return frozenset()
    struck = sorted([(note.staff, note.tick, note.number) for note in part.notes if note.visible and note.continues is None])
    fresh: set[int] = set()
    for staff, tick in changes:
        place = bisect_left(struck, (staff, tick, 0))
        stop = bisect_left(struck, (staff, struck[place][1] + 1, 0)) if place < len(struck) else place
        fresh.update([number for _, _, number in struck[place:stop]])
    return frozenset(fresh)


def _graces(texture: Texture) -> Graces:
    """Return the grace notes of a part by the moment and staff of what they lean on."""
    found: dict[tuple[int, int], list[Note]] = {}
    for note in texture.part.notes:
        if note.grace and not note.hidden:
            found.setdefault((note.tick, note.staff), []).append(note)
    return found


def _row(line: Line, graces: Graces, signs: tuple[frozenset[int], frozenset[int]], numbers: Numbers) -> Row:
    """Return the row of a line."""
    exact, letters, rhythm, segment = [], [], [], []
    before: Event | None = None
    sounded = first = 0
    for place, event in enumerate(line.events):
        low = event.notes[0].pitch
        shape = by_letter = 0
        if len(event.notes) > 1 or not event.whole or (graces and (event.tick, event.notes[0].staff) in graces):
            manner = _manner(event, _lasts(event.notes, line.ties), graces)
            diatonic, semitone = low.diatonic, int(low.semitone)
            heights = [(note.pitch.diatonic - diatonic, int(note.pitch.semitone) - semitone) for note in event.notes]
            shape = SHAPE * numbers["exact", tuple(heights), manner]
            by_letter = SHAPE * numbers["letters", tuple([height for height, _ in heights]), manner]
        exact.append(LETTER * low.diatonic + int(low.semitone) + shape)
        letters.append(low.diatonic + by_letter)
        if before is None or is_cut(line.bars, before, event):
            first = place
            rhythm.append(-1 - place)
        else:
            rhythm.append(numbers[event.tick - before.tick, sounded])
        segment.append(first)
        before, sounded = event, event.end - event.tick
    ticks = [event.tick for event in line.events]
    return Row(line, line.events, line.bars, ticks, exact, letters, rhythm, segment, *signs)


def _lasts(notes: Sequence[Note], ties: Mapping[int, tuple[Note, ...]]) -> list[int]:
    """Return how long each of some notes sounds, ties included."""
    if not ties:
        return [note.ticks for note in notes]
    return [ties[note.number][-1].tick + ties[note.number][-1].ticks - note.tick if note.number in ties else note.ticks for note in notes]


def _manner(event: Event, lasts: Sequence[int], graces: Graces) -> Hashable:
    """Return how a stroke is played: what is held longer, what was held before, what grace notes it has."""
    longest = max(lasts)
    low = event.notes[0].pitch
    small = tuple(
        [(note.pitch.diatonic - low.diatonic, note.pitch.semitone - low.semitone)
         for staff in sorted({note.staff for note in event.notes})
         for note in graces.get((event.tick, staff), ())]
    ) if graces else ()  # fmt: skip
    return tuple([longest - each for each in lasts]), event.whole, small


def is_cut(bars: Sequence[Bar], before: Event, event: Event) -> bool:
    """Return whether something that no copy goes over lies between two strokes."""
    key, earlier = event.notes[0].key, before.notes[0].key
    if key is not earlier and key != earlier:
        return True
    return event.bar != before.bar and any(bar.cut for bar in bars[before.bar + 1 : event.bar + 1])


def way_of(move: Move) -> int:
    """Return by how much the ``exact`` numbers of strokes moved so differ from those of their models."""
    return LETTER * move.steps + (move.keys or 0)


def compared(row: Row, move: Move) -> tuple[list[int], int]:
    """Return the numbers of a row's strokes that tell whether they are moved so, and by how much they then differ from their models'."""
    return (row.letters, move.steps) if move.keys is None else (row.exact, way_of(move))


def odd_within(row: Row, first: int, stop: int, distance: int, move: Move) -> set[int]:
    """Return the numbers of the odd notes of some strokes, as copies of those ``distance`` before them, moved."""
    numbers, way = compared(row, move)
    ways = map(sub, numbers[first:stop], numbers[first - distance : stop - distance])
    odd = [place for place, here in enumerate(ways, first) if here != way]
    if move.keys is None:
        odd += row.signed_at[bisect_left(row.signed_at, first) : bisect_left(row.signed_at, stop)]
    return {number for place in odd for number in _odd(row, place, distance, move)}


def _odd(row: Row, place: int, distance: int, move: Move) -> list[int]:
    """Return the numbers of the odd notes of one stroke."""
    return not_moved(row.events[place].notes, row.events[place - distance].notes, move, row.signed)


def not_moved(stroke: Sequence[Note], source: Sequence[Note], move: Move, signed: Container[int]) -> list[int]:
    """Return the numbers of a stroke's notes that are not those of its model, moved; all where the two have not as many notes.

    ``signed`` are notes with a sign of their own, which no move by letters gives.
    """
    if len(stroke) != len(source):
        return [note.number for note in stroke]
    pairs = zip(stroke, source, strict=True)
    keys = move.keys
    if keys is not None:
        return [note.number for note, model in pairs if note.pitch.semitone != model.pitch.semitone + keys]
    return [note.number for note, model in pairs if note.pitch.diatonic != model.pitch.diatonic + move.steps or note.number in signed]


def paces_of(row: Row, numbers: Sequence[int]) -> list[int]:
    """Return how each stroke of a row comes after the one before: equal where it is as far off in time and in the row's ``numbers``."""
    return [PACE * (after - before) + rhythm for before, after, rhythm in zip([0, *numbers], numbers, row.rhythm, strict=False)]


def runs_apart(paces: Sequence[int], distance: int, fewest: int, span: Span) -> list[Span]:
    """Return the runs of so many strokes and more within some that go, each stroke after the one before, as those ``distance`` before."""
    first, stop = span
    alike = map(eq, paces[first + 1 : stop], paces[first + 1 - distance : stop - distance])
    return [(first + begin, first + end + 1) for begin, end in runs(alike, fewest - 1)]


def runs(alike: Iterable[bool], fewest: int = 1) -> list[Span]:
    """Return where so many places and more are marked, run by run.

    >>> runs([False, True, True, False, True])
    [(1, 3), (4, 5)]
    """
    return [run.span() for run in re.finditer(b"\1{%d,}" % fewest, bytes(alike))]


def chain_around(row: Row, run: Span, distance: int, move: Move, group: int) -> Chain:
    """Return the chain of a run, and of the strokes on either side that are moved alike and in the rhythm of their models.

    No more strokes are between than may be odd in a copy of ``group`` strokes.
    """
    first, stop = run
    numbers, way = compared(row, move)
    most = max(1, group // PART_ODD)

    def reached(place: int, ahead: range, later: int) -> list[int]:
        """Return a stroke, and those of the chain ahead of it; ``later`` is 0 on the way on, 1 on the way back."""
        alike = [place]
        for here in ahead:
            if row.rhythm[here + later] != row.rhythm[here + later - distance]:
                break
            if numbers[here] - numbers[here - distance] == way:
                alike.append(here)
            elif abs(here - alike[-1]) > most:
                break
        return alike

    before, after = reached(first, range(first - 1, distance - 1, -1), 1), reached(stop - 1, range(stop, len(row)), 0)
    unlike = {*range(before[-1], first), *range(stop, after[-1])} - {*before, *after}
    return Chain(before[-1], after[-1] + 1, sorted(unlike))


def lawful(row: Row, chain: Chain, distance: int, move: Move) -> Iterator[Span]:
    """Yield a chain, cut where it has too many odd strokes."""
    first, stop, unlike = chain
    if not unlike:
        yield first, stop
        return
    odd = [0] * (stop - first)
    for place in unlike:
        odd[place - first] = bool(_odd(row, place, distance, move))
    yield from ((first + begin, first + end) for begin, end in lawful_spans([1] * len(odd), odd, PART_ODD))


def to_the_bar_line(row: Row, span: Span, distance: int, move: Move, group: int) -> int:
    """Return where a chain begins: on the bar line before it, if only a few odd notes lie between, else where it does."""
    first, stop = span
    for place in range(first, max(first - BEFORE, row.segment[first] + distance) - 1, -1):
        if row.places[place] == ON_BAR:
            notes, odd = row.notes(place, min(stop, place + group)), odd_within(row, place, first, distance, move)
            return place if notes >= FEWEST_WITH_ODD and (PART_ODD + 1) * len(odd) <= notes else first
        if row.rhythm[place] != row.rhythm[place - distance]:
            return first
    return first
