"""Sequence: a group repeated on another step of the scale, at least twice more, its shape kept.

Conventions
-----------
* A group is a beat, half bar, bar or two bars of at least three notes; it begins on a beat; the rhythm of each repeat is equal, and each
  moves as many steps of letters as the one before (``steps``, negative down). ``times`` counts the repeats, ``group`` the moments of one.
* ``notes`` are the model and the repeats; the whole model and what each repeat begins with are dark.
* ``scale`` and ``direction`` are set where the line moves by step throughout.
* A sequence by semitones alone, however spelled, is exact too; ``steps`` is 0 where each repeat is a semitone from the last.

Rule
----
A repeat has the letters of the model, moved as its first note is; each note is altered as an unmarked note would be there, else it is
odd. An ``exact`` sequence keeps the model's semitones instead; it is chosen where that leaves fewer notes dark, and has no odd notes.

Source: common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterator, Sequence
from operator import attrgetter, sub
from typing import Any

from annotator.figures.assembly import figure_of, kept
from annotator.figures.figure import CannotSpellOut, Covered, Figure, Slot, Spelling
from annotator.figures.groups import FEWEST, Row, rows_of_groups
from annotator.figures.label_data import LabelData
from annotator.lines import Line
from annotator.score import Note, Pitch
from annotator.theory.intervals import direction_of, marked
from annotator.theory.scales import COLLECTIONS, name_run

KIND = "sequence"
REPEATS = 2  # the fewest

Span = tuple[int, int, int]
"""First group of a row, the group after the last, and how far each moves."""


class _Way:
    """How a line moves, in letters or in semitones, for groups to be compared by. ``chords`` says which events are chords.

    ``heights`` are those of the lowest notes; ``rises`` is the way to each event from the one before, the first has none.
    """

    def __init__(self, line: Line, height: Callable[[Pitch], int], chords: Sequence[bool]) -> None:
        self.heights = list(map(height, line.lowest))
        self.rises = [0, *map(sub, self.heights[1:], self.heights)]
        self.ticks, self.chords = line.ticks, chords
        self._events, self._height = line.events, height

    def shapes(self, first: int, stop: int) -> list[list[int]]:
        """Return how high above its lowest note, event by event, each note is."""
        heights = [[self._height(note.pitch) for note in event.notes] for event in self._events[first:stop]]
        return [[height - event[0] for height in event] for event in heights]


def detect_sequences(line: Line) -> Iterator[Figure]:
    """Yield the longest sequences of a line, by beats, half bars, bars and pairs of bars."""
    if line.scope == "shared":
        return
    chords = [len(event.notes) > 1 for event in line.events]
    letters = _Way(line, attrgetter("diatonic"), chords)
    semitones = _Way(line, attrgetter("semitone"), chords)
    for row in rows_of_groups(line):
        if len(row) > REPEATS + 1:
            by_letters = list(_moving(letters, row))
            for first, stop, steps in by_letters:
                yield from _figures(line, row[first : stop + 1], steps, semitones)
            yield from _by_semitones(line, row, semitones, by_letters)


def spell_out_sequence(covered: Covered) -> Spelling:
    """Return the model, then each repeat from its first moment and the model's shape."""
    size = covered.group or 0
    if not size or len(covered.slots) % size:
        raise CannotSpellOut("a sequence needs groups of one size")
    model = [_all_known(slot.known) for slot in covered.slots[:size]]
    spelled = [tuple(int(pitch.semitone) for pitch in moment) for moment in model]
    for begin in range(size, len(covered.slots), size):
        start = _all_known(covered.slots[begin].known)[0]
        letters = start.diatonic - model[0][0].diatonic
        semitones = int(start.semitone - model[0][0].semitone)
        for slot, moment in zip(covered.slots[begin : begin + size], model, strict=True):
            spelled.append(_moved(slot, moment, letters, semitones if covered.exact else None))
    return tuple(spelled)


def _all_known(known: Sequence[Pitch | None]) -> list[Pitch]:
    """Return the pitches of a moment that is dark as a whole."""
    pitches = [pitch for pitch in known if pitch is not None]
    if len(pitches) < len(known):
        raise CannotSpellOut("the model and the beginning of each repeat must be dark")
    return pitches


def _moved(slot: Slot, model: Sequence[Pitch], letters: int, semitones: int | None) -> tuple[int, ...]:
    """Return the keys of one moment of a repeat: those that are dark, and the model's notes moved."""
    keys = []
    for place, (pitch, known) in enumerate(zip(model, slot.known, strict=True)):
        if known is not None:
            keys.append(int(known.semitone))
        elif semitones is not None:
            keys.append(int(pitch.semitone) + semitones)
        else:
            keys.append(int(slot.unmarked(pitch.diatonic + letters, place).semitone))
    return tuple(keys)


def _moving(way: _Way, row: Row) -> Iterator[Span]:
    """Yield the spans of a row in which every group moves as far from the one before."""
    heights = [way.heights[start] for start in row[:-1]]
    moves = list(map(sub, heights[1:], heights))
    first = 0
    for stop, move in enumerate([*moves[1:], None], start=1):
        if move == moves[first]:
            continue
        if stop - first >= REPEATS and moves[first]:
            for begin, end in _alike(way, row[first : stop + 2]):
                yield first + begin, first + end, moves[first]
        first = stop


def _alike(way: _Way, row: Row) -> Iterator[tuple[int, int]]:
    """Yield the (first, stop) groups of a row, enough for a sequence, that have one rhythm and one shape."""
    rises, ticks, chords = way.rises, way.ticks, way.chords
    begun = 0
    for place, (first, second, stop) in enumerate(zip(row, row[1:], row[2:], strict=False)):
        if (
            rises[first + 1 : second] == rises[second + 1 : stop]  # as many events, too; most groups end here
            and ticks[first:second] == ticks[second:stop]
            and (True not in chords[first:stop] or way.shapes(first, second) == way.shapes(second, stop))
        ):
            continue
        if place - begun >= REPEATS:
            yield begun, place + 1
        begun = place + 1
    if len(row) - 2 - begun >= REPEATS:
        yield begun, len(row) - 1


def _by_semitones(line: Line, row: Row, semitones: _Way, by_letters: Sequence[Span]) -> Iterator[Figure]:
    """Yield the exact sequences of a row that are none by letters: those whose spelling changes on the way."""
    for first, stop, move in _moving(semitones, row):
        near = bisect_right(by_letters, first, key=lambda span: span[0]) - 1
        if near >= 0 and by_letters[near][1] >= stop:
            continue
        begin, after = (line.events[row[first + place]].notes[0].pitch.diatonic for place in (0, 1))
        steps = 0 if abs(move) == 1 else after - begin
        if abs(move) == 1 or steps * move > 0:
            groups = row[first : stop + 1]
            if sum(len(event.notes) for event in line.events[groups[0] : groups[1]]) >= FEWEST:
                yield from _figure(line, groups, steps, (), exact=True)


def _figures(line: Line, row: Row, steps: int, semitones: _Way) -> Iterator[Figure]:
    """Yield the sequence over a row of moving groups, cut where a repeat has too many odd notes; such a repeat is a new model."""
    size = row[1] - row[0]
    model = line.events[row[0] : row[1]]
    if sum(len(event.notes) for event in model) < FEWEST:
        return
    odd = [
        [note for event in line.events[start + 1 : start + size] for note in event.notes if marked(note, line.bars)] for start in row[1:-1]
    ]
    if any(odd) and list(_alike(semitones, row)) == [(0, len(row) - 1)]:  # each keeps the semitones of the one before
        yield from _figure(line, row, steps, (), exact=True)
        return
    first = 0
    for place, strange in enumerate([*odd, None], start=1):
        notes = sum(len(event.notes) for event in line.events[row[place] : row[place] + size]) if strange else 0
        if strange is not None and kept(notes, len(strange)):
            continue
        if place - first > REPEATS:
            found = [note for repeat in odd[first : place - 1] for note in repeat]
            yield from _figure(line, row[first : place + 1], steps, found)
        first = place


def _figure(line: Line, row: Row, steps: int, odd: Sequence[Note], **label: Any) -> Iterator[Figure]:
    """Yield the figure over the groups of a row."""
    events = line.events[row[0] : row[-1]]
    size = row[1] - row[0]
    begins = [note for start in row[1:-1] for note in line.events[start].notes]
    anchors = [*(note for event in events[:size] for note in event.notes), *begins, *odd]
    figure = figure_of(
        line,
        KIND,
        events,
        anchors,
        odd,
        steps=steps,
        times=len(row) - 2,
        group=size,
        **_by_step(line, row[0], row[-1]),
        **label,
    )
    if figure:
        yield figure


def _by_step(line: Line, first: int, stop: int) -> dict[str, Any]:
    """Return scale and direction where a line moves by step throughout, from one event up to another, else nothing."""
    if not all(move is not None and abs(move[0]) == 1 for move in line.moves[first : stop - 1]):
        return {}
    events = line.events[first:stop]
    pitches = [event.notes[0].pitch for event in events]
    key = events[0].notes[0].key
    scale = name_run(pitches, key, key.alters, line.keys[events[0].bar])
    if scale is None or scale.type in COLLECTIONS:
        return {}
    return {"scale": scale, "direction": direction_of([pitch.diatonic for pitch in pitches])}


def label(figure: Figure) -> LabelData:
    """Say how far the group moves each time, which way, and how often."""
    steps = figure.steps or 0
    down = steps < 0
    if steps == 0:  # the same letters, altered: the group moves by a semitone
        model, repeat = figure.moments[0][0], figure.moments[figure.group or 0][0]
        down = repeat.pitch.semitone < model.pitch.semitone
    if figure.exact:
        return LabelData("exact-down" if down else "exact-up", distance=abs(steps), times=figure.times or 1)
    return LabelData("down" if down else "up", distance=abs(steps), times=figure.times or 1)
