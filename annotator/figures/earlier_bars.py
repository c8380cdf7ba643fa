"""Copies of earlier bars, which the label names: found by an index of beats.

Rule
----
* The copy stands at the same place of its bars as the model: whole bars, or from a beat; whole bars up to eight back may be octaves away,
  whole bars up to four back a step or two of the key.
* One bar may lie up to twelve bars back; two bars, further; beyond twenty-four bars back only a section of four.
* A bar whose printed number comes twice is not named.

Source of the numbers: read off pages by eye, no source.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Collection, Container, Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from annotator.figures.copies import AGAIN, OCTAVE, OCTAVES, SEQUENCE, Copy, Move, figure_of
from annotator.figures.copy_rows import (
    FEWEST_WITH_ODD,
    ON_BAR,
    PART_ODD,
    Odd,
    Row,
    Span,
    chained,
    compared,
    odd_notes,
    odd_within,
    to_the_bar_line,
)
from annotator.figures.copy_rows import OCTAVE as EXACT_OCTAVE
from annotator.figures.figure import Figure
from annotator.figures.lines import Texture, hand_of
from annotator.music.beats import beat_ticks

FEWEST_STROKES = 2
SAVED_BY_A_BAR = 3  # notes
SAVED_BY_LESS = 6  # notes: from a beat
ONE_BAR, TWO_BARS = 12, 24  # so many bars back one bar will do, two will do; beyond, a section
OCTAVES_AWAY, FARTHEST_OCTAVES = 8, 2  # so many bars back they may be octaves away, and so many octaves
STEPS_AWAY, FARTHEST_STEPS = 4, 2  # so many bars back they may be some steps of the key away, and so many steps
SECTION = 4  # bars
SAVED_BY_TWO_BARS = 8  # notes
EARLIEST, LATEST = 2, 12  # occurrences of a beat that are looked at: the first ones, the last ones
ODD_WITHIN = 24  # strokes among which at most one note in three may be odd
ODD_GAP = ODD_WITHIN // PART_ODD  # strokes

Place = tuple[int, int]
"""A beat: the bar's index, and which beat of it, from 0."""

Held = Mapping[Place, list[tuple[int, int, int]]]
"""What a hand holds by ties, beat by beat: from where in the bar, how long, which letter."""


class Beat(NamedTuple):
    """What a row strikes in one beat: the strokes, the letter of the first, and a key that is equal for beats that are the same, moved."""

    first: int
    stop: int
    letter: int
    key: tuple[object, ...]


def copies_of_bars(texture: Texture, row: Row, kinds: Collection[str]) -> Iterator[Figure]:
    """Yield the copies of earlier bars in a row, of those kinds that are wanted: as they were, octaves away, or some steps away."""
    held = _held(texture, row)
    count = Counter(bar.number for bar in row.bars)
    unclear = {bar.index for bar in row.bars if count[bar.number] > 1}
    for by_letters in (False, True):
        wanted = {SEQUENCE} if by_letters else {AGAIN, OCTAVE}
        found = _moved_alike(row, _beats(row, held, by_letters), wanted.intersection(kinds)) if wanted.intersection(kinds) else {}
        for (distance, steps), runs in sorted(found.items()):
            yield from _at(row, distance, Move(steps), runs, unclear)


def _moved_alike(row: Row, beats: Iterable[Beat], kinds: Collection[str]) -> Mapping[tuple[int, int], list[Span]]:
    """Return the runs of beats that are of wanted kinds, by how many strokes back the same was heard and how many letters it is moved."""
    heard: dict[tuple[object, ...], list[Beat]] = {}
    apart: dict[tuple[int, int], list[Span]] = {}
    for beat in beats:
        before = heard.setdefault(beat.key, [])
        while SEQUENCE in kinds and before and _bars_back(row, beat.first, before[0].first) > STEPS_AWAY:
            del before[0]
        for other in before[:EARLIEST] + before[EARLIEST:][-LATEST:]:
            steps = beat.letter - other.letter
            if _kind(Move(steps)) not in kinds or abs(steps) > (FARTHEST_STEPS if SEQUENCE in kinds else OCTAVES * FARTHEST_OCTAVES):
                continue
            runs = apart.setdefault((beat.first - other.first, steps), [])
            if runs and runs[-1][1] == beat.first and row.rhythm[beat.first] == row.rhythm[other.first]:
                runs[-1] = (runs[-1][0], beat.stop)
            else:
                runs.append((beat.first, beat.stop))
        before.append(beat)
    return apart


def _bars_back(row: Row, place: int, model: int) -> int:
    """Return how many bars before a stroke another one is."""
    return row.events[place].bar - row.events[model].bar


def _kind(move: Move) -> str:
    """Return which kind of copy is moved so."""
    return AGAIN if not move.steps else SEQUENCE if move.keys is None else OCTAVE


def _held(texture: Texture, row: Row) -> Held:
    """Return what the hand of a row holds by ties."""
    found: dict[Place, list[tuple[int, int, int]]] = {}
    for tied in texture.ties.values():
        for note in tied:
            if hand_of(texture.part, note) == row.line.hand:
                bar = row.bars[note.bar]
                offset = note.tick - bar.tick + bar.offset
                place = note.bar, offset // beat_ticks(bar, row.line.resolution)
                found.setdefault(place, []).append((offset, note.ticks, note.pitch.diatonic))
    return found


def _beats(row: Row, held: Held, by_letters: bool) -> Iterator[Beat]:
    """Yield what is struck in each beat of a row, to be compared letter by letter, or else exactly."""
    starts: list[tuple[int, Place]] = []
    begins, beat, before = 0, 1, (-1, -1)
    for place, event in enumerate(row.events):
        if event.bar != before[0]:
            bar = row.bars[event.bar]
            begins, beat = bar.tick - bar.offset, beat_ticks(bar, row.line.resolution)
        here = event.bar, (event.tick - begins) // beat
        if here != before:
            starts.append((place, here))
            before = here
    for (first, here), (stop, _) in pairwise([*starts, (len(row), (-1, -1))]):
        bar = row.bars[here[0]]
        offset = row.ticks[first] - bar.tick + bar.offset
        letter = row.events[first].notes[0].pitch.diatonic
        if by_letters:
            struck = tuple([number - letter for number in row.letters[first:stop]])
        else:
            octave = letter // OCTAVES
            letter = OCTAVES * octave
            struck = tuple([number - EXACT_OCTAVE * octave for number in row.exact[first:stop]])
        ties = tuple(sorted([(start, ticks, tied - letter) for start, ticks, tied in held[here]])) if here in held else ()
        yield Beat(first, stop, letter, (offset, struck, tuple(row.rhythm[first + 1 : stop]), ties))


def _at(row: Row, distance: int, move: Move, runs: Sequence[Span], unclear: Container[int]) -> Iterator[Figure]:
    """Yield the copies of bars that lie so many strokes back; no copy is longer than the way back to its model."""
    odd = odd_notes(row, distance, move)
    begins = [first for first, _ in runs]
    for begin, end in chained(row, _stroke_by_stroke(row, runs, distance, move), distance, ODD_WITHIN, 1, odd):
        start = to_the_bar_line(row, (begin, end), distance, ODD_WITHIN, odd)
        if row.places[start] != ON_BAR:
            start = next((first for first in begins[bisect_left(begins, start) :]), end)
        if move.keys is None:
            start = next((place for place in range(start, end) if row.places[place] == ON_BAR), end)
        for first in range(start, end, distance):
            figure = _copy(row, distance, move, (first, min(end, first + distance)), odd)
            if figure is not None and not any(stroke[0].bar in unclear for stroke in (figure.model[0], figure.model[-1])):
                yield figure


def _stroke_by_stroke(row: Row, runs: Iterable[Span], distance: int, move: Move) -> list[Span]:
    """Return some runs of beats, and what is moved alike near them: what is odd in a beat is a note, not the beat."""
    numbers, way = compared(row, move)
    near = {place for first, stop in runs for place in range(max(distance, first - ODD_GAP), min(len(row), stop + ODD_GAP))}
    found: list[Span] = []
    for place in sorted([place for place in near if numbers[place] - numbers[place - distance] == way]):
        if found and found[-1][1] == place and row.rhythm[place] == row.rhythm[place - distance]:
            found[-1] = found[-1][0], place + 1
        else:
            found.append((place, place + 1))
    return found


def _copy(row: Row, distance: int, move: Move, span: Span, told: Odd) -> Figure | None:
    """Return the copy of some earlier bars, if it is long enough for how far back they lie."""
    first, stop = span
    back = _bars_back(row, first, first - distance)
    bars = _whole_bars(row, first, stop)
    by_letters = move.keys is None
    if bars < (0 if back <= ONE_BAR else 2 if back <= TWO_BARS else SECTION):
        return None
    if move.steps and (not bars or back > (STEPS_AWAY if by_letters else OCTAVES_AWAY)):
        return None
    a_bar = row.places[first] == ON_BAR and bars and not move.steps
    least = SAVED_BY_TWO_BARS if back > ONE_BAR else SAVED_BY_A_BAR if a_bar else SAVED_BY_LESS
    if stop - first < FEWEST_STROKES or row.notes(first, stop) < least:
        return None
    strokes, model = row.strokes(first, stop), row.strokes(first - distance, stop - distance)
    odd = odd_within(told, first, stop)
    if odd and (row.notes(first, stop) < FEWEST_WITH_ODD or PART_ODD * len(odd) > row.notes(first, stop)):
        return None
    if by_letters and _plain_way(row, first, stop):
        return None
    figure = figure_of(Copy(_kind(move), row.line, move, strokes, model, odd, row.fresh, named=True))
    return figure if figure is not None and len(figure.grey) >= least else None


def _plain_way(row: Row, first: int, stop: int) -> bool:
    """Return whether some strokes go on by the same step: a scale, a chord's way up."""
    return len({after - before for before, after in pairwise(row.letters[first:stop])}) < 2


def _whole_bars(row: Row, first: int, stop: int) -> int:
    """Return how many whole bars some strokes fill: all that is struck in them."""
    begin, end = row.events[first].bar, row.events[stop - 1].bar
    begin += first > 0 and row.events[first - 1].bar == begin
    end -= stop < len(row) and row.events[stop].bar == end
    return max(0, end - begin + 1)
