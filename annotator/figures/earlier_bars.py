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

import sys
from bisect import bisect_left
from collections import Counter
from collections.abc import Collection, Container, Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from annotator.figures.copies import AGAIN, OCTAVE, OCTAVES, SEQUENCE, Copy, Move, figure_of
from annotator.figures.copy_rows import OCTAVE as EXACT_OCTAVE
from annotator.figures.copy_rows import (
    ON_BAR,
    Row,
    Span,
    chain_around,
    lawful,
    odd_within,
    paces_of,
    to_the_bar_line,
)
from annotator.figures.figure import Figure
from annotator.figures.lines import Texture, hand_of

FEWEST_STROKES = 2
SAVED_BY_A_BAR = 3  # notes
SAVED_BY_LESS = 6  # notes: from a beat
ONE_BAR, TWO_BARS = 12, 24  # so many bars back one bar will do, two will do; beyond, a section
FARTHEST_BACK = {AGAIN: sys.maxsize, OCTAVE: 8, SEQUENCE: 4}  # bars
FARTHEST_OCTAVES, FARTHEST_STEPS = 2, 2
SECTION = 4  # bars
SAVED_BY_TWO_BARS = 8  # notes
EARLIEST, LATEST = 2, 4  # occurrences of a beat that are looked at: the first ones, the last ones
ODD_WITHIN = 24  # strokes among which at most one note in three may be odd

EXACTLY = {OCTAVES * octaves: OCTAVE if octaves else AGAIN for octaves in range(-FARTHEST_OCTAVES, FARTHEST_OCTAVES + 1)}
BY_LETTERS = {steps: SEQUENCE for steps in range(-FARTHEST_STEPS, FARTHEST_STEPS + 1) if steps}
KINDS = EXACTLY | BY_LETTERS
"""Kinds of copies by how many letters they are moved."""

Place = tuple[int, int]
"""A beat: the bar's index, and which beat of it, from 0."""

Held = Mapping[Place, list[tuple[int, int, int]]]
"""What a hand holds by ties, beat by beat: from where in the bar, how long, which letter."""


class Beat(NamedTuple):
    """What a row strikes in a beat: bar, strokes, the letter of the first, and a key that is equal for beats that are the same, moved."""

    bar: int
    first: int
    stop: int
    letter: int
    key: tuple[object, ...]


def copies_of_bars(texture: Texture, row: Row, kinds: Collection[str]) -> Iterator[Figure]:
    """Yield the copies of earlier bars in a row, of those kinds that are wanted: as they were, octaves away, or some steps away."""
    places, held = _places(row), _held(texture, row)
    count = Counter(bar.number for bar in row.bars)
    unclear = {bar.index for bar in row.bars if count[bar.number] > 1}
    for ways, beats in (EXACTLY, _beats), (BY_LETTERS, _bars):
        wanted = {steps: FARTHEST_BACK[kind] for steps, kind in ways.items() if kind in kinds}
        found = _moved_alike(row, beats(row, places, held), wanted) if wanted else {}
        for (distance, steps), runs in sorted(found.items()):
            yield from _at(row, distance, Move(steps), runs, unclear)


def _moved_alike(row: Row, beats: Iterable[Beat], farthest: Mapping[int, int]) -> Mapping[tuple[int, int], list[Span]]:
    """Return the runs of beats that were heard before, by how many strokes before and how many letters they are moved.

    ``farthest`` says how many bars back at most, by the letters.
    """
    heard: dict[tuple[object, ...], list[Beat]] = {}
    apart: dict[tuple[int, int], list[Span]] = {}
    for beat in beats:
        bar, first, stop, letter, key = beat
        before = heard.setdefault(key, [])
        for other in before[:EARLIEST] + before[max(EARLIEST, len(before) - LATEST) :]:
            steps = letter - other.letter
            if bar - other.bar > farthest.get(steps, -1):
                continue
            runs = apart.setdefault((first - other.first, steps), [])
            if runs and runs[-1][1] == first and row.rhythm[first] == row.rhythm[other.first]:
                runs[-1] = (runs[-1][0], stop)
            else:
                runs.append((first, stop))
        before.append(beat)
    return apart


def _held(texture: Texture, row: Row) -> Held:
    """Return what the hand of a row holds by ties."""
    found: dict[Place, list[tuple[int, int, int]]] = {}
    for tied in texture.ties.values():
        for note in tied:
            if hand_of(texture.part, note) == row.line.hand:
                bar = row.bars[note.bar]
                offset = note.tick - bar.tick + bar.offset
                place = note.bar, offset // bar.beat_ticks(row.line.resolution)
                found.setdefault(place, []).append((offset, note.ticks, note.pitch.diatonic))
    return found


def _places(row: Row) -> list[tuple[int, Place]]:
    """Return the first stroke in each beat of a row, and which beat it is."""
    found: list[tuple[int, Place]] = []
    begins, beat, before = 0, 1, (-1, -1)
    for place, event in enumerate(row.events):
        if event.bar != before[0]:
            bar = row.bars[event.bar]
            begins, beat = bar.tick - bar.offset, bar.beat_ticks(row.line.resolution)
        here = event.bar, (event.tick - begins) // beat
        if here != before:
            found.append((place, here))
            before = here
    return found


def _beats(row: Row, places: Sequence[tuple[int, Place]], held: Held) -> Iterator[Beat]:
    """Yield what is struck in each beat of a row, to be compared exactly, but for octaves."""
    paces = paces_of(row, row.exact)
    for (first, here), (stop, _) in pairwise([*places, (len(row), (-1, -1))]):
        event = row.events[first]
        octave = event.notes[0].pitch.diatonic // OCTAVES
        letter, low = OCTAVES * octave, row.exact[first] - EXACT_OCTAVE * octave
        yield Beat(here[0], first, stop, letter, (_offset(row, first), low, *paces[first + 1 : stop], *_ties(held, here, letter)))


def _bars(row: Row, places: Sequence[tuple[int, Place]], held: Held) -> Iterator[Beat]:
    """Yield what is struck in the first beat of each bar, to be compared letter by letter with that of the last bars."""
    paces = paces_of(row, row.letters)
    for (first, here), (stop, _) in pairwise([*places, (len(row), (-1, -1))]):
        if row.places[first] == ON_BAR:
            letter = row.events[first].notes[0].pitch.diatonic
            yield Beat(here[0], first, stop, letter, (_offset(row, first), *paces[first + 1 : stop], *_ties(held, here, letter)))


def _offset(row: Row, place: int) -> int:
    """Return where in its bar a stroke is, in ticks."""
    bar = row.bars[row.events[place].bar]
    return row.ticks[place] - bar.tick + bar.offset


def _ties(held: Held, place: Place, letter: int) -> list[tuple[int, int, int]]:
    """Return what is held into a beat by ties, compared with a letter."""
    return sorted([(start, ticks, tied - letter) for start, ticks, tied in held[place]]) if place in held else []


def _at(row: Row, distance: int, move: Move, runs: Sequence[Span], unclear: Container[int]) -> Iterator[Figure]:
    """Yield the copies of bars that lie so many strokes back; no copy is longer than the way back to its model."""
    begins = [first for first, _ in runs]
    for begin, end in _chains(row, distance, move, runs):
        start = to_the_bar_line(row, (begin, end), distance, move, ODD_WITHIN)
        if row.places[start] != ON_BAR:
            start = next((first for first in begins[bisect_left(begins, start) :]), end)
        if move.keys is None:
            start = next((place for place in range(start, end) if row.places[place] == ON_BAR), end)
        for first in range(start, end, distance):
            figure = _copy(row, distance, move, (first, min(end, first + distance)))
            if figure is not None and not any(stroke[0].bar in unclear for stroke in (figure.model[0], figure.model[-1])):
                yield figure


def _chains(row: Row, distance: int, move: Move, runs: Iterable[Span]) -> Iterator[Span]:
    """Yield the chains that some runs of beats make with what is moved alike near them: what is odd in a beat is a note, not the beat."""
    done = 0
    for run in runs:
        if run[0] >= done and row.notes(*run) >= SAVED_BY_A_BAR and 2 * _whole_bars(row, *run) >= _fewest_bars(row, run[0], distance):
            chain = chain_around(row, run, distance, move, ODD_WITHIN)
            done = chain.stop
            yield from lawful(row, chain, distance, move)


def _copy(row: Row, distance: int, move: Move, span: Span) -> Figure | None:
    """Return the copy of some earlier bars, if it is long enough for how far back they lie."""
    first, stop = span
    bars, fewest = _whole_bars(row, first, stop), _fewest_bars(row, first, distance)
    if bars < fewest or (move.steps and not bars):
        return None
    a_bar = row.places[first] == ON_BAR and bars and not move.steps
    least = SAVED_BY_TWO_BARS if fewest else SAVED_BY_A_BAR if a_bar else SAVED_BY_LESS
    if stop - first < FEWEST_STROKES or row.notes(first, stop) < least:
        return None
    strokes, model = row.strokes(first, stop), row.strokes(first - distance, stop - distance)
    odd = odd_within(row, first, stop, distance, move)
    if move.keys is None and row.plain(first, stop):
        return None
    figure = figure_of(Copy(KINDS[move.steps], row.line, move, strokes, model, odd, row.fresh, named=True))
    return figure if figure is not None and len(figure.grey) >= least else None


def _fewest_bars(row: Row, place: int, distance: int) -> int:
    """Return how many whole bars there must be from a stroke on, by how many bars back its model is."""
    back = row.events[place].bar - row.events[place - distance].bar
    return 0 if back <= ONE_BAR else 2 if back <= TWO_BARS else SECTION


def _whole_bars(row: Row, first: int, stop: int) -> int:
    """Return how many whole bars some strokes fill: all that is struck in them."""
    begin, end = row.events[first].bar, row.events[stop - 1].bar
    begin += first > 0 and row.events[first - 1].bar == begin
    end -= stop < len(row) and row.events[stop].bar == end
    return max(0, end - begin + 1)
