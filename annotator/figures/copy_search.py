"""Finding copies of what lies directly before, of the way back, and of the other hand.

Conventions
-----------
* What lies directly before is found distance by distance: the stretches in which a stroke is, moved, the one that many strokes before.
* All a hand's voices are copied, or one voice that has at least half of the hand's notes under the bracket.

The numbers are those of the vocabulary; source: read off pages by eye, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from itertools import chain, pairwise
from operator import eq, sub

from annotator.figures.copies import AGAIN, IMITATION, OCTAVE, RETROGRADE, SEQUENCE, Copy, Move, Stroke, figure_of, fitted
from annotator.figures.copy_chains import Span, chained, runs_apart, runs_beside, to_the_bar_line
from annotator.figures.copy_rows import ELSEWHERE, NO_PLACE, ON_BAR, Row, odd_notes, rows_of
from annotator.figures.copy_rows import OCTAVE as EXACT_OCTAVE
from annotator.figures.earlier_bars import copies_of_bars
from annotator.figures.figure import Figure
from annotator.lines import Texture
from annotator.theory.beats import beat_ticks

LONGEST_GROUP = 24  # strokes of a group that is copied directly, wherever it begins
LONGEST_BARS = 64  # strokes of one bar or two that are copied directly
FEWEST_SAVED = 3  # notes
SAVED_BY_ONE = 4  # copy, or by copies of two notes
SAVED_OFF_THE_BEAT = 6  # of one copy that begins there
SAVED_BY_A_SEQUENCE = 5  # of one copy
SAVED_BY_AN_IMITATION = 6
FEWEST_MOVED = 3  # notes of a group that is moved
FARTHEST_STEPS = 4  # letters that one copy moves, as a sequence
FARTHEST_STEPS_OF_SEVERAL = 6
FARTHEST_OCTAVES = 3
LONGEST_WAY_BACK = 16  # strokes
FEWEST_BACK = 4  # notes
SHORTLY = 4  # less than one in so many of a copy's strokes beyond a bar line are left out
FEWEST_IN_TURN = 6  # strokes of two notes
FARTHEST_BEHIND = 2  # bars

Moves = Callable[[Row, int, int, int], Move | None]
"""The move of a run, from its row, how many strokes apart, its first stroke, and how far its numbers move. None: it is none of the kind."""


def find_copies(texture: Texture, kinds: Collection[str]) -> Iterator[Figure]:
    """Yield the copies of some kinds in a part: every hand's, and every voice's where a hand has several."""
    rows = rows_of(texture)
    for row in rows:
        found = chain(
            _directly(texture, row, row.exact, AGAIN, _unmoved) if AGAIN in kinds else (),
            copies_of_bars(texture, row) if AGAIN in kinds else (),
            _directly(texture, row, row.exact, OCTAVE, _by_octaves) if OCTAVE in kinds else (),
            _directly(texture, row, row.letters, SEQUENCE, _by_letters) if SEQUENCE in kinds else (),
            _directly(texture, row, row.keys, SEQUENCE, _by_semitones) if SEQUENCE in kinds else (),
            _backwards(texture, row) if RETROGRADE in kinds else (),
            _imitations(texture, row, rows) if IMITATION in kinds else (),
        )
        yield from _main(rows, row, found)


def _main(rows: Sequence[Row], row: Row, figures: Iterable[Figure]) -> Iterator[Figure]:
    """Yield those figures of a row that have at least half of their hand's notes."""
    whole = next(other for other in rows if other.line.hand == row.line.hand)
    for figure in figures:
        first = bisect_left(whole.ticks, figure.moments[0][0].tick)
        stop = bisect_right(whole.ticks, figure.moments[-1][0].tick)
        if whole is row or 2 * len(figure.struck) >= whole.notes(first, stop):
            yield figure


def _unmoved(_row: Row, _distance: int, _first: int, way: int) -> Move | None:
    return None if way else Move()


def _by_octaves(_row: Row, _distance: int, _first: int, way: int) -> Move | None:
    octaves, rest = divmod(way, EXACT_OCTAVE)
    return Move(7 * octaves) if octaves and not rest and abs(octaves) <= FARTHEST_OCTAVES else None


def _by_letters(_row: Row, _distance: int, _first: int, way: int) -> Move | None:
    return Move(way) if 0 < abs(way) <= FARTHEST_STEPS_OF_SEVERAL else None


def _by_semitones(row: Row, distance: int, first: int, way: int) -> Move | None:
    if not 0 < abs(way) < 12:
        return None
    steps = row.events[first].notes[0].pitch.diatonic - row.events[first - distance].notes[0].pitch.diatonic
    return Move(steps, way) if abs(way) == 1 or steps * way > 0 else None


def _directly(texture: Texture, row: Row, numbers: Sequence[int], kind: str, moves: Moves) -> Iterator[Figure]:
    """Yield the copies of one kind of what lies directly before, the shortest group first."""
    told: dict[Move, list[int]] = {}
    for distance in _distances(row, kind):
        for way, runs in runs_apart(row, numbers, distance).items():
            if 2 * sum([stop - first for first, stop in runs]) < distance:
                continue  # three quarters of a group, one note in three of them odd, is more
            by_move: dict[Move, list[Span]] = {}
            for run in runs:
                move = moves(row, distance, run[0], way)
                if move is not None:
                    by_move.setdefault(move, []).append(run)
            for move, those in by_move.items():
                for first, stop in _stretches(row, move, distance, those):
                    up_to = told.setdefault(move, [0] * (len(row) + 1))
                    if kind != SEQUENCE and up_to[first] >= stop:
                        continue  # a smaller group has told it
                    figure = _direct(texture, row, kind, move, first, stop, distance)
                    if figure is not None:
                        yield figure
                        if not figure.odd:
                            up_to[first:stop] = [max(stop, before) for before in up_to[first:stop]]


def _distances(row: Row, kind: str) -> list[int]:
    """Return how many strokes a group may have: few, and if it is moved no more than a bar has; or those of one bar or two."""
    starts = [place for place in range(len(row)) if place == 0 or row.events[place].bar != row.events[place - 1].bar]
    in_one = {after - before for before, after in pairwise([*starts, len(row)])}
    most = LONGEST_GROUP if kind == AGAIN else min(LONGEST_GROUP, max(in_one))
    bars = in_one | {after - before for before, after in zip(starts, starts[2:], strict=False)}
    return [*range(2, most + 1), *sorted(size for size in bars if most < size <= LONGEST_BARS)]


def _stretches(row: Row, move: Move, distance: int, runs: Sequence[Span]) -> Iterator[Span]:
    """Yield the stretches of some runs with one move and distance that are whole copies."""

    def odd(place: int) -> int:
        """Return how many notes of a stroke are odd."""
        return len(odd_notes(row, place, row.events[place - distance].notes, move))

    for begin, end in chained(row, runs, distance, distance, -(-3 * distance // 4), odd):
        first = max(begin if move.steps else to_the_bar_line(row, (begin, end), distance, distance, odd), row.segment[begin] + distance)
        stop = fitted(first, end, distance) if first < end else None
        if stop is not None:
            yield first, stop


def _direct(texture: Texture, row: Row, kind: str, move: Move, first: int, stop: int, group: int) -> Figure | None:
    """Return the figure of a stretch that copies what lies directly before; None where it is none of the kind or saves too little."""
    if not _near(row, kind, move, first, stop, group):
        return None
    strokes = row.strokes(first - group, stop)
    odd = _odd_numbers(row, kind, move, first, stop, group)
    figure = figure_of(Copy(kind, row.line.hand, move, strokes[group:], strokes[:group], odd, row.bars, texture.ties, row.fresh))
    return figure if figure is not None and _worthy(row, figure, first) else None


def _odd_numbers(row: Row, kind: str, move: Move, first: int, stop: int, group: int) -> set[int]:
    """Return the numbers of the odd notes of a stretch; most strokes are told to be moved alike by their own numbers."""
    if kind == SEQUENCE:
        numbers, way = (row.letters, move.steps) if move.semitones is None else (row.keys, move.semitones)
    else:
        numbers, way = row.exact, move.steps // 7 * EXACT_OCTAVE
    by_letters = move.keys is None
    odd: set[int] = set()
    for place in range(first, stop):
        if numbers[place] - numbers[place - group] != way:
            odd.update([note.number for note in odd_notes(row, place, row.events[place - group].notes, move)])
        elif by_letters:
            odd.update([note.number for note in row.events[place].notes if note.number in row.signed])
    return odd


def _near(row: Row, kind: str, move: Move, first: int, stop: int, group: int) -> bool:
    """Return whether a group is one of its kind: neither one note, nor a plain way that goes on, nor too long, nor too far off."""
    begin = first - group
    if row.exact[begin:first].count(row.exact[begin]) == group:
        return False
    if kind == AGAIN:
        return not _in_turn(row, begin, stop)
    length = row.ticks[first] - row.ticks[begin]
    bars = 2 if row.places[first] == ON_BAR and move.semitones is None else 1
    if length > bars * row.bar_length(begin) or row.notes(begin, first) < FEWEST_MOVED:
        return False
    if kind == OCTAVE:
        return True
    if stop - first <= group and abs(move.steps) > FARTHEST_STEPS:
        return False
    return len({after - before for before, after in pairwise(row.letters[begin:stop])}) > 1


def _in_turn(row: Row, first: int, stop: int) -> bool:
    """Return whether some strokes are two single notes in even alternation: a trill or tremolo."""
    return (
        stop - first >= FEWEST_IN_TURN
        and row.notes(first, stop) == stop - first
        and row.exact[first + 2 : stop] == row.exact[first : stop - 2]
        and len({after - before for before, after in pairwise(row.ticks[first:stop])}) == 1
    )


def _worthy(row: Row, figure: Figure, first: int) -> bool:
    """Return whether a copy saves enough."""
    least = SAVED_BY_ONE if figure.group == 2 and len(figure.moments) == len(figure.struck) else FEWEST_SAVED
    if figure.times == 1:
        least = SAVED_OFF_THE_BEAT if row.places[first] == ELSEWHERE else SAVED_BY_ONE
    if figure.kind == SEQUENCE:
        if figure.times == 1:
            least = max(least, SAVED_BY_A_SEQUENCE)
        if 2 * len(figure.odd) > len(figure.struck) or (figure.semitones is not None and figure.odd):
            return False
    return len(figure.grey) >= least


def _backwards(texture: Texture, row: Row) -> Iterator[Figure]:
    """Yield the ways back."""
    exact = row.exact
    for turn in range(2, len(row) - 2):
        if exact[turn - 1] != exact[turn + 1] or exact[turn - 2] != exact[turn + 2]:
            continue
        size = _up_to_the_bar_line(row, turn, _way_back(row, turn))
        heights = [row.events[place].notes[-1].pitch.semitone for place in range(turn - size, turn + 1)]
        peak = heights.pop()
        if size < 2 or min(heights) <= peak <= max(heights):
            continue
        model, strokes = row.strokes(turn - size, turn), row.strokes(turn + 1, turn + size + 1)
        figure = figure_of(Copy(RETROGRADE, row.line.hand, Move(), strokes, model, (), row.bars, texture.ties, row.fresh))
        if figure is not None and len(figure.grey) >= FEWEST_BACK:
            yield figure


def _way_back(row: Row, turn: int) -> int:
    """Return how many strokes are struck backwards after a turning stroke."""
    size = 0
    first = row.segment[turn]
    exact, rhythm = row.exact, row.rhythm
    while (
        size < LONGEST_WAY_BACK
        and turn - size > first
        and turn + size + 1 < len(row)
        and exact[turn - size - 1] == exact[turn + size + 1]
        and rhythm[turn - size] == rhythm[turn + size + 1]
    ):
        size += 1
    return size


def _up_to_the_bar_line(row: Row, turn: int, size: int) -> int:
    """Return how long a way back is that does not end shortly after a bar line."""
    bars = [row.events[place].bar for place in range(turn + 1, turn + size + 1)]
    over = sum(bar == bars[-1] for bar in bars) if bars and bars[-1] != bars[0] else 0
    return size - over if SHORTLY * over <= size else size


def _imitations(texture: Texture, row: Row, rows: Sequence[Row]) -> Iterator[Figure]:
    """Yield what follows the other hand, up to two bars behind, beat by beat."""
    beat = beat_ticks(row.bars[row.events[0].bar], row.line.resolution)
    own = {tick: place for place, tick in enumerate(row.ticks)}
    for other in rows:
        if other.line.hand == row.line.hand:
            continue
        places = {tick: place for place, tick in enumerate(other.ticks)}
        for lag in range(beat, FARTHEST_BEHIND * row.bar_length(0) + 1, beat):
            models = [places.get(tick - lag, -1) for tick in row.ticks]
            moves = list(map(sub, row.letters, [other.letters[place] if place >= 0 else NO_PLACE for place in models]))
            paced = map(eq, row.rhythm[1:], [other.rhythm[place] if place >= 0 else NO_PLACE for place in models[1:]])
            for way, runs in runs_beside(moves, paced).items():
                for first, stop in runs:
                    if stop - first >= SAVED_BY_AN_IMITATION and models[first] >= 0 and not _takes_up_its_own(row, own, first, stop, lag):
                        model = other.strokes(models[first], models[first] + stop - first)
                        yield from _imitation(texture, row, (first, stop), model, Move(way))


def _imitation(texture: Texture, row: Row, span: Span, model: Sequence[Stroke], move: Move) -> Iterator[Figure]:
    """Yield the figure of a stretch that follows the other hand, if all of it follows."""
    strokes = row.strokes(*span)
    if any(odd_notes(row, place, source, move) for place, source in zip(range(*span), model, strict=True)):
        return
    figure = figure_of(Copy(IMITATION, row.line.hand, move, strokes, model, (), row.bars, texture.ties, row.fresh))
    if figure is not None and len(figure.grey) >= SAVED_BY_AN_IMITATION:
        yield figure


def _takes_up_its_own(row: Row, places: dict[int, int], first: int, stop: int, lag: int) -> bool:
    """Return whether most of what a hand seems to take over it has just played itself, at whatever height."""
    ways = [row.letters[place] - row.letters[places[tick]] for place in range(first, stop) if (tick := row.ticks[place] - lag) in places]
    return bool(ways) and 4 * max(map(ways.count, set(ways))) >= 3 * (stop - first)
