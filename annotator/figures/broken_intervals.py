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
from dataclasses import dataclass
from operator import sub
from typing import Any

from annotator.figures.assembly import figure_of
from annotator.figures.broken_spelling import followed
from annotator.figures.figure import Figure
from annotator.figures.harmony import Run, even_runs
from annotator.figures.label_data import LabelData, stations
from annotator.figures.stepping import DOWN, OTHER, UP
from annotator.lines import Line
from annotator.score import STEPS, Note
from annotator.settings import Options
from annotator.theory.intervals import LETTERS, interval_name
from annotator.theory.names import Scale
from annotator.theory.scales import COLLECTIONS, name_run

FEWEST = 3  # pairs
OCTAVE = LETTERS["octave"]
_MOVES = {1: UP, -1: DOWN}
_ONE_WAY = re.compile(f"{UP * 2 * (FEWEST - 1)}+|{DOWN * 2 * (FEWEST - 1)}+")
INTERVALS = ("third", "fourth", "fifth", "sixth", "seventh", "octave")


@dataclass(frozen=True, slots=True)
class Leg:
    """Notes ``first`` up to ``stop`` of a run: pairs ``letters`` wide (negative: downwards) that move ``way`` = 1 up or -1 down."""

    run: Run
    first: int
    stop: int
    letters: int
    way: int


def detect_broken_thirds(line: Line, options: Options) -> Iterator[Figure]:
    """Yield the broken thirds of a line."""
    return _broken(line, "third")


def detect_broken_fourths(line: Line, options: Options) -> Iterator[Figure]:
    """Yield the broken fourths of a line."""
    return _broken(line, "fourth")


def detect_broken_fifths(line: Line, options: Options) -> Iterator[Figure]:
    """Yield the broken fifths of a line."""
    return _broken(line, "fifth")


def detect_broken_sixths(line: Line, options: Options) -> Iterator[Figure]:
    """Yield the broken sixths of a line."""
    return _broken(line, "sixth")


def detect_broken_sevenths(line: Line, options: Options) -> Iterator[Figure]:
    """Yield the broken sevenths of a line."""
    return _broken(line, "seventh")


def detect_broken_octaves(line: Line, options: Options) -> Iterator[Figure]:
    """Yield the broken octaves of a line, by step and any other way."""
    yield from _broken(line, "octave")
    if line.scope != "shared" and not {OCTAVE, -OCTAVE}.isdisjoint(line.letters.rises):
        for run in even_runs(line):
            for first, stop in _octaves(run):
                yield from _any_way(line, run, first, stop)


def _broken(line: Line, interval: str) -> Iterator[Figure]:
    """Yield the rows of legs of one interval."""
    if line.scope == "shared":
        return
    row: list[Leg] = []
    for leg in [*(leg for leg in _legs(line) if interval_name(leg.letters) == interval), None]:
        joins = row and leg and leg.run is row[-1].run and leg.letters == row[-1].letters and leg.way != row[-1].way
        if joins and leg and leg.first == row[-1].stop - 2:
            row.append(leg)
            continue
        yield from _figures(line, row, interval)
        row = [leg] if leg else []


def _legs(line: Line) -> list[Leg]:
    """Return the legs of a line; each line is looked through once, whichever the interval."""
    kept: list[Leg] | None = line.__dict__.get("broken legs")
    if kept is None:
        kept = line.__dict__["broken legs"] = list(_all_legs(line))
    return kept


def _all_legs(line: Line) -> Iterator[Leg]:
    """Yield the legs of a line: where every note of a run is a letter away from the note before the last, always the same way."""
    whole = line if line.whole is None else line.whole  # where runs know their place
    moves = _moves(whole)
    if not _ONE_WAY.search(moves):
        return
    for run in even_runs(line):
        stop = run.place + len(run)
        for found in _ONE_WAY.finditer(moves, run.place, stop - 2):
            letters = whole.letters.heights[run.place : stop]
            span = found.start() - run.place, found.end() - run.place + 2
            yield from _paired(line, run, letters, span, 1 if found[0][0] == UP else -1)


def _moves(line: Line) -> str:
    """Return how each event but the last two is left for the next but one: up or down by a letter, or otherwise."""
    kept: str | None = line.__dict__.get("moves two apart")
    if kept is None:
        heights = line.letters.heights
        kept = line.__dict__["moves two apart"] = "".join([_MOVES.get(move, OTHER) for move in map(sub, heights[2:], heights)])
    return kept


def _paired(line: Line, run: Run, letters: Sequence[int], span: tuple[int, int], way: int) -> Iterator[Leg]:
    """Yield the leg in a span of notes, paired as the bar counts; the other way where that gives no interval with a name."""
    first, stop = span
    lead = 0 if _on_count(line, run, first) else 1
    for start in (first + lead, first + 1 - lead):
        end = stop - (stop - start) % 2
        width = letters[start + 1] - letters[start]
        if end - start >= 2 * FEWEST and interval_name(width) in INTERVALS:
            yield Leg(run, start, end, width, way)
            return


def _on_count(line: Line, run: Run, place: int) -> bool:
    """Return whether a note stands a whole number of pairs after the bar line."""
    event = run.events[place]
    bar = line.bars[event.bar]
    return (event.tick - bar.tick + bar.offset) % (2 * run.events[0].ticks) == 0


def _figures(line: Line, row: Sequence[Leg], interval: str) -> Iterator[Figure]:
    """Yield the figure of a row of legs, and of each leg where it has several."""
    if not row:
        return
    yield from _figure(line, row, interval)
    if len(row) > 1:
        for leg in row:
            yield from _figure(line, [leg], interval)


def _figure(line: Line, row: Sequence[Leg], interval: str) -> Iterator[Figure]:
    """Yield the figure of legs that join."""
    run, first, stop = row[0].run, row[0].first, row[-1].stop
    notes = [event.notes[0] for event in run.events[first:stop]]
    pillars = {0, *(leg.stop - 2 - first for leg in row)}
    if interval == "octave" and not all(_octave(notes[i], notes[i + 1]) for i in range(0, len(notes), 2)):
        return
    ways = [leg.way for leg in row for _ in range(leg.first, leg.stop - (0 if leg is row[-1] else 2))]
    found: list[tuple[int, Scale | None, list[Note]]] = []
    for rank, scale in enumerate((_scale(line, notes), None)):
        if rank or scale:
            odd = _odd(line, notes, ways, row[0].letters, scale, pillars)
            found.append((len(odd) + rank, scale, odd))
    _, scale, odd = min(found, key=lambda choice: choice[0])
    anchors = [notes[i + half] for i in pillars for half in (0, 1)]
    direction = "turning" if len(row) > 1 else "up" if row[0].way > 0 else "down"
    label: dict[str, Any] = {"interval": interval, "scale": scale, "direction": direction}
    figure = figure_of(line, f"broken-{interval}s", run.events[first:stop], anchors, odd, **label)
    if figure:
        yield figure


def _scale(line: Line, notes: Sequence[Note]) -> Scale | None:
    """Return the scale that the first notes of the pairs run through, the second notes telling the letters they lack."""
    heard = {note.pitch.step: int(note.pitch.alter) for note in notes[1::2]}
    key = notes[0].key
    scale = name_run(
        [note.pitch for note in notes[::2]],
        key,
        lambda step: heard.get(step, key.alters[STEPS.index(step)]),
        line.keys[notes[0].bar],
    )
    return None if scale is None or scale.type in COLLECTIONS else scale


def _odd(
    line: Line, notes: Sequence[Note], ways: Sequence[int], letters: int, scale: Scale | None, pillars: set[int]
) -> list[Note]:
    """Return the notes between the anchors that the rule does not give."""
    odd = []
    for place, note in enumerate(notes):
        if place - place % 2 in pillars:
            continue
        if place % 2 and abs(letters) == OCTAVE:
            continue
        given = followed(line.bars[note.bar], note.staff, note.tick, note.key, note.pitch.diatonic, scale, ways[place] > 0)
        if note.pitch != given:
            odd.append(note)
    return odd


def _octaves(run: Run) -> Iterator[tuple[int, int]]:
    """Yield the longest rows of exact octaves in one direction, pair after pair."""
    events, steps, total = run.events, run.steps, len(run)
    place = 0
    for first, size in enumerate(steps):
        if size not in (12, -12) or first < place or total - first < 2 * FEWEST:
            continue
        stop = first
        while stop + 1 < total and steps[stop] == size and _octave(events[stop].notes[0], events[stop + 1].notes[0]):
            stop += 2
        if stop - first >= 2 * FEWEST:
            yield first, stop
            place = stop


def _octave(one: Note, other: Note) -> bool:
    """Return whether two notes have one name."""
    return one.pitch.step == other.pitch.step and one.pitch.alter == other.pitch.alter


def _any_way(line: Line, run: Run, first: int, stop: int) -> Iterator[Figure]:
    """Yield octaves whose first notes are all dark, unless they stay on one pair."""
    events = run.events[first:stop]
    firsts = [event.notes[0] for event in events[::2]]
    if all(note.pitch == firsts[0].pitch for note in firsts):
        return
    second = events[1].notes[0]
    figure = figure_of(line, "broken-octaves", events, [*firsts, second], interval="octave")
    if figure:
        yield figure


def label(figure: Figure) -> LabelData:
    """Name the interval, the way of the first notes of the pairs, and the scale, if it is of one."""
    return LabelData("plain" if figure.scale is None else "scale", scale=figure.scale, path=stations(figure, every=2))
