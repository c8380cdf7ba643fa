"""Broken intervals: thirds to octaves played as two notes, pair after pair.

Conventions
-----------
* Three pairs at least, of single joined notes of equal value (the last may be longer), each pair the same interval in the same direction.
* The pairs move by step; a leg goes one way, and legs of at least three pairs join at their turning pair. Pairs in octaves may move any
  way, but do move: the same two notes again and again are a tremolo.
* Where the notes could be paired in two ways, a pair begins where the bar's count of pairs does.
* Anchors are the first pair, the last and the turning ones. Octaves that do not move by step keep the first note of each pair dark.

Rule
----
From anchor to anchor the pairs go by letters; each note is altered as in the scale the label names, without one as an unmarked note
would be, else it is odd. The second note of an octave is the copy of the first.

Source: common practice, no source; as an accompaniment, octaves are the "murky bass".
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from annotator.figures.figure import CannotSpellOut, Covered, Figure, LabelData, Spelling, figure_of, stations
from annotator.figures.lines import Event, Line
from annotator.music.intervals import DOWN, LETTERS, OTHER, UP, direction_of, interval_name, is_given, ways
from annotator.music.names import Scale
from annotator.music.scales import name_whole_run
from annotator.music.score import STEPS, Note

FEWEST = 3  # pairs
OCTAVE = LETTERS["octave"]
INTERVALS = ("third", "fourth", "fifth", "sixth", "seventh", "octave")
_MOVES = {1: UP, -1: DOWN}
_ONE_WAY = re.compile(f"{UP * 2 * (FEWEST - 1)}+|{DOWN * 2 * (FEWEST - 1)}+")

Events = Sequence[Event]
"""Those of one even run."""


class Leg(NamedTuple):
    """Events ``first`` up to ``stop`` of an even run: pairs ``letters`` wide (negative: downwards) that move ``way`` = 1 up or -1 down."""

    first: int
    stop: int
    letters: int
    way: int


def detect_broken_intervals(line: Line) -> Iterator[Figure]:
    """Yield the broken thirds to octaves of a line: rows of legs, each leg of a row, and octaves that move any other way."""
    if line.scope == "shared":
        return
    for run in line.runs:
        for row in _rows(list(_legs(line, run.events))):
            yield from _figure(line, run.events, row)
            if len(row) > 1:
                for leg in row:
                    yield from _figure(line, run.events, [leg])
        for first, stop in _octaves(run.events):
            yield from _any_way(line, run.events[first:stop])


def spell_out_broken_interval(covered: Covered) -> Spelling:
    """Rebuild broken intervals: octaves any way from the first notes, all others from pair to pair.

    Rule:

    * ``broken-…``: The two notes of the first black pair, moved step by step, in the key or in the scale that is named, to the next black
      pair.
    * ``broken-octaves``: Each note and the same an octave away, above or below as in the first pair; pairs without a black note go step by
      step.
    """
    slots = covered.slots
    if len(slots) % 2:
        raise CannotSpellOut("broken intervals are pairs")
    if covered.direction is None:
        return _spell_out_octaves(covered)
    pillars = [
        place
        for place in range(0, len(slots), 2)
        if all(slots[i].known[0] is not None and not slots[i].odd[0] for i in (place, place + 1))
    ]
    if not pillars or pillars[0] != 0 or pillars[-1] != len(slots) - 2:
        raise CannotSpellOut("the first and the last pair must be dark")
    keys = [0] * len(slots)
    for before, after in pairwise(pillars):
        _fill(covered, before, after, keys)
    return tuple((key,) for key in keys)


def _fill(covered: Covered, before: int, after: int, keys: list[int]) -> None:
    """Write the keys from one dark pair to the next."""
    slots = covered.slots
    begin, second, end = slots[before].dark(), slots[before + 1].dark(), slots[after].dark()
    rise, width = end.diatonic - begin.diatonic, second.diatonic - begin.diatonic
    if abs(rise) != (after - before) // 2:
        raise CannotSpellOut("the dark pairs are not as many steps apart as there are pairs")
    way = 1 if rise > 0 else -1
    for place in range(before, after + 2):
        slot, half = slots[place], place % 2
        known = slot.known[0]
        if known is not None:
            keys[place] = int(known.semitone)
        elif half and covered.interval == "octave":
            keys[place] = keys[place - 1] + (12 if width > 0 else -12)
        else:
            letter = begin.diatonic + way * ((place - before) // 2) + half * width
            keys[place] = int(slot.by_letter(letter, covered.scale, way > 0).semitone)


def _spell_out_octaves(covered: Covered) -> Spelling:
    """Return octaves from the first note of each pair; the first pair, dark as a whole, tells which way they go."""
    size = int(covered.slots[1].dark().semitone - covered.slots[0].dark().semitone)
    spelled = []
    for slot in covered.slots[::2]:
        key = int(slot.dark().semitone)
        spelled += [(key,), (key + size,)]
    return tuple(spelled)


def _rows(legs: Sequence[Leg]) -> Iterator[list[Leg]]:
    """Gather the legs of a run into rows in which each begins with the pair that the one before ends with, and goes the other way."""
    row: list[Leg] = []
    for leg in legs:
        if row and not (leg.first == row[-1].stop - 2 and leg.letters == row[-1].letters and leg.way != row[-1].way):
            yield row
            row = []
        row.append(leg)
    if row:
        yield row


def _legs(line: Line, events: Events) -> Iterator[Leg]:
    """Yield the legs of a run: where every note is a letter away from the note before the last, always the same way."""
    letters = [event.notes[0].pitch.diatonic for event in events]
    moves = "".join([_MOVES.get(after - before, OTHER) for before, after in zip(letters, letters[2:], strict=False)])
    for found in _ONE_WAY.finditer(moves):
        yield from _paired(line, events, letters, (found.start(), found.end() + 2), 1 if found[0][0] == UP else -1)


def _paired(line: Line, events: Events, letters: Sequence[int], span: tuple[int, int], way: int) -> Iterator[Leg]:
    """Yield the leg in a span of notes, paired as the bar counts; the other way where that gives no interval with a name."""
    first, stop = span
    lead = 0 if line.bars[events[first].bar].on_count(events[first].tick, 2 * events[0].ticks) else 1
    for start in (first + lead, first + 1 - lead):
        end = stop - (stop - start) % 2
        width = letters[start + 1] - letters[start]
        if end - start >= 2 * FEWEST and interval_name(width) in INTERVALS:
            yield Leg(start, end, width, way)
            return


def _figure(line: Line, events: Events, row: Sequence[Leg]) -> Iterator[Figure]:
    """Yield the figure of legs that join."""
    first, stop = row[0].first, row[-1].stop
    events = events[first:stop]
    notes = [event.notes[0] for event in events]
    pillars = {0, *(leg.stop - 2 - first for leg in row)}
    interval = interval_name(row[0].letters)
    if interval == "octave" and not all(_octave(notes[i], notes[i + 1]) for i in range(0, len(notes), 2)):
        return
    scale = _scale(line, notes)
    odd = _odd(line, notes, scale, pillars)
    if scale:
        unnamed = _odd(line, notes, None, pillars)
        if len(unnamed) + 1 < len(odd):
            scale, odd = None, unnamed
    figure = figure_of(
        line,
        f"broken-{interval}s",
        events,
        [notes[i + half] for i in pillars for half in (0, 1)],
        odd,
        interval=interval,
        scale=scale,
        direction=direction_of([note.pitch.diatonic for note in notes[::2]]),
    )
    if figure:
        yield figure


def _scale(line: Line, notes: Sequence[Note]) -> Scale | None:
    """Return the scale that the first notes of the pairs run through, the second notes telling the letters they lack."""
    heard = {note.pitch.step: int(note.pitch.alter) for note in notes[1::2]}
    key = notes[0].key
    in_force = [heard.get(step, alter) for step, alter in zip(STEPS, key.alters, strict=True)]
    return name_whole_run([note.pitch for note in notes[::2]], key, in_force, line.keys[notes[0].bar])


def _odd(line: Line, notes: Sequence[Note], scale: Scale | None, pillars: set[int]) -> list[Note]:
    """Return the notes between the anchors that the rule does not give. The second of an octave is as the first."""
    octaves = abs(notes[1].pitch.diatonic - notes[0].pitch.diatonic) == OCTAVE
    rising = ways([note.pitch.diatonic for note in notes[::2]])
    return [
        note
        for place, note in enumerate(notes)
        if place - place % 2 not in pillars and not (place % 2 and octaves) and not is_given(note, scale, rising[place // 2], line.bars)
    ]


def _octaves(events: Events) -> Iterator[tuple[int, int]]:
    """Yield the longest rows of exact octaves in one direction, pair after pair."""
    notes = [event.notes[0] for event in events]
    steps = [after.pitch.semitone - before.pitch.semitone for before, after in pairwise(notes)]
    place = 0
    for first, size in enumerate(steps):
        if abs(size) != 12 or first < place:
            continue
        stop = first
        while stop + 1 < len(notes) and steps[stop] == size and _octave(notes[stop], notes[stop + 1]):
            stop += 2
        if stop - first >= 2 * FEWEST:
            yield first, stop
            place = stop


def _octave(one: Note, other: Note) -> bool:
    """Return whether two notes have one name."""
    return one.pitch.step == other.pitch.step and one.pitch.alter == other.pitch.alter


def _any_way(line: Line, events: Events) -> Iterator[Figure]:
    """Yield octaves whose first notes are all dark, unless they stay on one pair."""
    firsts = [event.notes[0] for event in events[::2]]
    if all(note.pitch == firsts[0].pitch for note in firsts):
        return
    figure = figure_of(line, "broken-octaves", events, [*firsts, events[1].notes[0]], interval="octave")
    if figure:
        yield figure


def label(figure: Figure) -> LabelData:
    """Name the interval, the way of the first notes of the pairs, and the scale, if it is of one."""
    return LabelData("plain" if figure.scale is None else "scale", scale=figure.scale, path=stations(figure, every=2))
