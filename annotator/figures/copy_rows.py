"""The strokes of a hand or of a voice as whole numbers, so that copies can be looked for by comparing numbers.

Conventions
-----------
* Two strokes whose ``exact`` numbers are equal strike the same notes; where they differ by n times ``OCTAVE``, the same n octaves higher.
  Two ``letters`` that differ by n are the same strokes n letters higher, two ``keys`` by n semitones.
* ``rhythm`` is what lies between a stroke and the one before: how far apart they are, and how long the one before sounds, ties included.
  The first stroke after a cut, and one that no copy may go over, has a rhythm like no other.
* A stroke is told by all its notes, how they are held against each other, and the grace notes before it.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Container, Hashable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate

from annotator.figures.copies import Move
from annotator.figures.lines import Event, Line, Texture
from annotator.music.beats import bar_ticks, beat_ticks
from annotator.music.score import Bar, Note, Sign

OCTAVE = 7 * 256 + 12
SHAPE = 1 << 20  # more than any single note's number
OTHERS = 8  # a voice is looked at apart if more than one in so many of its hand's notes is another's
ON_BAR, ON_BEAT, ELSEWHERE = range(3)

Odd = Callable[[int], list[int]]
"""The numbers of those notes of a stroke that are not as its model has them."""

Graces = Mapping[tuple[int, int], list[Note]]
"""Grace notes by the moment and the staff of what they lean on."""


class Numbers:
    """Gives equal things the same number, for all rows of a part."""

    def __init__(self) -> None:
        self._known: dict[Hashable, int] = {}

    def of(self, thing: Hashable) -> int:
        """Return the number of a thing, from 1."""
        return self._known.setdefault(thing, len(self._known) + 1)


@dataclass(frozen=True)
class Row:
    """One hand's or voice's strokes.

    ``events`` are the strokes, ``ticks`` when each is struck, ``bars`` those of the part. ``cuts`` are the strokes that follow a cut, the
    first of all among them; ``signed`` are the part's notes that have a sign of their own, ``fresh`` those that are read in a new clef or
    octave line.
    """

    line: Line
    events: tuple[Event, ...]
    bars: tuple[Bar, ...]
    ticks: list[int]
    exact: list[int]
    letters: list[int]
    keys: list[int]
    rhythm: list[int]
    cuts: list[int]
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
    def segment(self) -> list[int]:
        """For each stroke the first one after the cut before it."""
        found, cuts = [], set(self.cuts)
        first = 0
        for place in range(len(self)):
            if place in cuts:
                first = place
            found.append(first)
        return found

    @cached_property
    def places(self) -> list[int]:
        """Where in its bar each stroke is."""
        return places_in(self.line)

    def bar_length(self, place: int) -> int:
        """Return how many ticks the bar of a stroke has, in free time those it really takes."""
        bar = self.bars[self.events[place].bar]
        return bar_ticks(bar, self.line.resolution) or bar.ticks


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
        elif offset % beat_ticks(bar, line.resolution) == 0 or event.tick > sounding:
            found.append(ON_BEAT)
        else:
            found.append(ELSEWHERE)
        before, sounding = event.bar, max(sounding, event.end)
    return found


def rows_of(texture: Texture) -> list[Row]:
    """Return the rows of a part: its hands, and where a hand has several voices, each of those."""
    numbers = Numbers()
    graces, marked = _graces(texture), (signed_notes(texture), fresh_notes(texture))
    return [_row(line, graces, marked, numbers) for line in played_lines(texture)]


def played_lines(texture: Texture) -> list[Line]:
    """Return the hands' lines of a part, and where a hand has several voices, those too, unless one plays nearly all."""
    lines = []
    for hand, merged in texture.hands.items():
        notes = _notes(merged)
        lines += [merged, *[voice for voice in texture.voices if voice.hand == hand and OTHERS * (notes - _notes(voice)) > notes]]
    return [line for line in lines if len(line)]


def _notes(line: Line) -> int:
    return sum([len(event.notes) for event in line.events])


def signed_notes(texture: Texture) -> frozenset[int]:
    """Return the numbers of the notes that are not altered as a note without a sign would be in their place."""
    found = []
    alters: dict[tuple[int, str, int], list[Sign]] = {}
    bar = -1
    for note in texture.part.notes:
        if note.bar != bar:
            bar, alters = note.bar, {}
            for sign in texture.bars[bar].signs:
                alters.setdefault((sign.staff, sign.step, sign.octave), []).append(sign)
        pitch = note.pitch
        usual: object = note.key.alters[pitch.diatonic % 7]
        if alters:
            for sign in alters.get((note.staff, pitch.step, pitch.octave), ()):
                if sign.tick < note.tick:
                    usual = sign.alter
        if pitch.alter != usual:
            found.append(note.number)
    return frozenset(found)


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


def _row(line: Line, graces: Graces, marked: tuple[frozenset[int], frozenset[int]], numbers: Numbers) -> Row:
    """Return the row of a line."""
    exact, letters, keys, rhythm, cuts = [], [], [], [], []
    before: Event | None = None
    sounded = 0
    for place, event in enumerate(line.events):
        low = event.notes[0].pitch
        shape = by_letter = by_key = 0
        if len(event.notes) > 1 or not event.whole or (graces and (event.tick, event.notes[0].staff) in graces):
            manner = _manner(event, _lasts(event.notes, line.ties), graces)
            diatonic, semitone = low.diatonic, int(low.semitone)
            heights = [(note.pitch.diatonic - diatonic, int(note.pitch.semitone) - semitone) for note in event.notes]
            shape = SHAPE * numbers.of(("exact", tuple(heights), manner))
            by_letter = SHAPE * numbers.of(("letters", tuple([height for height, _ in heights]), manner))
            by_key = SHAPE * numbers.of(("keys", tuple([height for _, height in heights]), manner))
        exact.append(256 * low.diatonic + int(low.semitone) + shape)
        letters.append(low.diatonic + by_letter)
        keys.append(int(low.semitone) + by_key)
        if before is None or is_cut(line.bars, before, event):
            cuts.append(place)
            rhythm.append(-1 - place)
        else:
            rhythm.append(numbers.of((event.tick - before.tick, sounded)))
        before, sounded = event, event.end - event.tick
    ticks = [event.tick for event in line.events]
    return Row(line, line.events, line.bars, ticks, exact, letters, keys, rhythm, cuts, *marked)


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


def compared(row: Row, move: Move) -> tuple[list[int], int]:
    """Return the numbers of a row's strokes that tell whether they are moved so, and by how much they then differ from their models'."""
    if move.semitones is not None:
        return row.keys, move.semitones
    if move.steps % 7:
        return row.letters, move.steps
    return row.exact, move.steps // 7 * OCTAVE


def odd_notes(row: Row, distance: int, move: Move) -> Odd:
    """Return a function that tells the odd notes of a row's strokes, as copies of those ``distance`` before them, moved.

    Most strokes are told to be moved alike by their own numbers.
    """
    numbers, way = compared(row, move)

    def odd(place: int) -> list[int]:
        """Return the numbers of the odd notes of a stroke."""
        stroke = row.events[place].notes
        if numbers[place] - numbers[place - distance] != way:
            return not_moved(stroke, row.events[place - distance].notes, move, row.signed)
        return [note.number for note in stroke if note.number in row.signed] if numbers is row.letters else []

    return odd


def odd_within(odd: Odd, first: int, stop: int) -> set[int]:
    """Return the numbers of the odd notes of some strokes."""
    return {number for place in range(first, stop) for number in odd(place)}


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
