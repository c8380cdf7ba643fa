"""Finding copies: of what lies directly before, of earlier bars, backwards, and from the other hand.

Conventions
-----------
* What lies directly before is found distance by distance: the stretches in which a stroke is, moved, the one that many strokes before.
* An earlier bar is found by an index of beats: a beat that has been heard at the same place of a bar is where a copy may lie.
* All a hand's voices are copied, or one voice that has at least half of the hand's notes under the bracket.

The numbers are those of the vocabulary; source: read off pages by eye, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from annotator.figures.copies import AGAIN, IMITATION, OCTAVE, RETROGRADE, SEQUENCE, Copy, Move, figure_of, fitted, odd_in
from annotator.figures.copy_chains import Span, chained, runs_apart
from annotator.figures.copy_rows import ELSEWHERE, ON_BAR, Row, rows_of
from annotator.figures.copy_rows import OCTAVE as EXACT_OCTAVE
from annotator.figures.figure import Figure
from annotator.lines import Texture
from annotator.score import Note
from annotator.settings import Options
from annotator.strokes import hand_of
from annotator.theory.beats import beat_ticks

LONGEST_GROUP = 24  # strokes of a group that is copied directly
FEWEST_SAVED = 3  # notes
SAVED_OFF_THE_BEAT = 6  # of one copy that begins there, or of less than a bar
SAVED_BY_A_SEQUENCE = 5  # of one copy
FARTHEST_STEPS = 4  # letters that one copy moves, as a sequence
FARTHEST_STEPS_OF_SEVERAL = 6
FARTHEST_OCTAVES = 3
LONGEST_WAY_BACK = 16  # strokes
FEWEST_BACK = 4  # notes
SHORTLY = 4  # less than one in so many of a copy's strokes beyond a bar line are left out
ONE_BAR, TWO_BARS = 8, 16  # so many bars back one bar will do, two will do; beyond, a section of four
SAVED_BY_TWO_BARS = 8
EARLIEST, LATEST = 2, 12  # occurrences of a beat that are looked at: the first ones, the last ones


def detect_repeated_groups(texture: Texture, options: Options) -> Iterator[Figure]:
    """Yield what a hand has just played and plays again, and the earlier bars that it plays again."""
    rows = rows_of(texture)
    for row in rows:
        yield from _main(rows, row, _directly(texture, row, row.exact, AGAIN, _unmoved))
        yield from _main(rows, row, _earlier(texture, row))


def detect_octave_copies(texture: Texture, options: Options) -> Iterator[Figure]:
    """Yield what a hand has just played and plays again one or more octaves away."""
    rows = rows_of(texture)
    for row in rows:
        yield from _main(rows, row, _directly(texture, row, row.exact, OCTAVE, _by_octaves))


def detect_sequences(texture: Texture, options: Options) -> Iterator[Figure]:
    """Yield what a hand has just played and plays again some steps away, by letters or by semitones."""
    rows = rows_of(texture)
    for row in rows:
        yield from _main(rows, row, _directly(texture, row, row.letters, SEQUENCE, _by_letters))
        yield from _main(rows, row, _directly(texture, row, row.keys, SEQUENCE, _by_semitones))


def detect_retrogrades(texture: Texture, options: Options) -> Iterator[Figure]:
    """Yield the way back from a turning stroke."""
    rows = rows_of(texture)
    for row in rows:
        yield from _main(rows, row, _backwards(texture, row))


def detect_imitations(texture: Texture, options: Options) -> Iterator[Figure]:
    """Yield what one hand takes over from the other."""
    rows = rows_of(texture)
    for row in rows:
        for other in rows:
            if other.line.hand != row.line.hand:
                yield from _main(rows, row, _from_the_other(texture, row, other))


def _main(rows: Sequence[Row], row: Row, figures: Iterable[Figure]) -> Iterator[Figure]:
    """Yield those figures of a row that have at least half of their hand's notes."""
    whole = next(other for other in rows if other.line.hand == row.line.hand)
    if whole is row:
        yield from figures
        return
    from bisect import bisect_left, bisect_right

    for figure in figures:
        first = bisect_left(whole.ticks, figure.moments[0][0].tick)
        stop = bisect_right(whole.ticks, figure.moments[-1][0].tick)
        if 2 * len(figure.struck) >= whole.notes(first, stop):
            yield figure


Moves = Callable[[Row, int, Span, int], Move | None]
"""The move of a run: from its row, how far apart, where it is, and how far its number moves. None: it is no copy of the kind."""


def _unmoved(_row: Row, _distance: int, _run: Span, way: int) -> Move | None:
    return None if way else Move()


def _by_octaves(_row: Row, _distance: int, _run: Span, way: int) -> Move | None:
    octaves, rest = divmod(way, EXACT_OCTAVE)
    return Move(7 * octaves) if octaves and not rest and abs(octaves) <= FARTHEST_OCTAVES else None


def _by_letters(row: Row, distance: int, run: Span, way: int) -> Move | None:
    return Move(way) if 0 < abs(way) <= FARTHEST_STEPS_OF_SEVERAL else None


def _by_semitones(row: Row, distance: int, run: Span, way: int) -> Move | None:
    if not 0 < abs(way) <= 11:
        return None
    first = run[0]
    steps = row.events[first].notes[0].pitch.diatonic - row.events[first - distance].notes[0].pitch.diatonic
    return Move(steps, way) if abs(way) == 1 or steps * way > 0 else None


def _directly(texture: Texture, row: Row, numbers: Sequence[int], kind: str, moves: Moves) -> Iterator[Figure]:
    """Yield the copies of one kind of what lies directly before."""
    for distance in range(2, min(LONGEST_GROUP, len(row) // 2) + 1):
        for way, runs in runs_apart(row, numbers, distance).items():
            by_move: dict[Move, list[Span]] = {}
            for run in runs:
                move = moves(row, distance, run, way)
                if move is not None:
                    by_move.setdefault(move, []).append(run)
            for move, those in by_move.items():
                yield from _of_move(texture, row, kind, move, distance, those)


def _of_move(texture: Texture, row: Row, kind: str, move: Move, distance: int, runs: Sequence[Span]) -> Iterator[Figure]:
    """Yield the copies that some runs with one move and distance make."""

    def odd(place: int) -> int:
        """Return how many notes of a stroke are odd."""
        return len(odd_in(row.events[place].notes, row.events[place - distance].notes, move, row.bars))

    for first, stop in chained(row, runs, distance, distance, odd):
        first = max(first, row.segment[first] + distance)
        end = fitted(first, stop, distance) if first < stop else None
        if end is not None and _near(row, kind, move, first, end, distance):
            figure = _figure(texture, row, kind, move, first, end, distance)
            if figure is not None and _worthy(row, figure, first):
                yield figure


def _near(row: Row, kind: str, move: Move, first: int, stop: int, group: int) -> bool:
    """Return whether a group is one of its kind: neither one note, nor a plain way that goes on, nor too long, nor too far off."""
    begin = first - group
    if row.exact[begin:first].count(row.exact[begin]) == group:
        return False
    if kind == AGAIN:
        plain = group == 2 and row.notes(begin, first) == 2 and stop - begin > 5
        return not plain or len(set(row.rhythm[begin + 1 : stop])) > 1
    length = row.ticks[first] - row.ticks[begin]
    bars = 2 if row.places[first] == ON_BAR and move.semitones is None else 1
    if length > bars * row.bar_length(begin) or row.notes(begin, first) < 3:
        return False
    if kind == OCTAVE:
        return True
    single = stop - first <= group
    if single and abs(move.steps) > FARTHEST_STEPS:
        return False
    ways = {after - before for before, after in pairwise(row.letters[begin:stop])}
    return len(ways) > 1


def _figure(texture: Texture, row: Row, kind: str, move: Move, first: int, stop: int, group: int) -> Figure | None:
    """Return the figure of a stretch that copies what lies directly before."""
    strokes = row.strokes(first - group, stop)
    copy = Copy(kind, row.line.hand, move, strokes[group:], strokes[: stop - first], strokes[:group], row.bars, texture.ties)
    return figure_of(copy)


def _worthy(row: Row, figure: Figure, first: int) -> bool:
    """Return whether a copy saves enough."""
    saved = len(figure.grey)
    least = FEWEST_SAVED
    if figure.times == 1 and row.places[first] == ELSEWHERE:
        least = SAVED_OFF_THE_BEAT
    if figure.kind == SEQUENCE:
        if figure.times == 1:
            least = max(least, SAVED_BY_A_SEQUENCE)
        if figure.semitones is not None and figure.odd:
            return False
        if 2 * len(figure.odd) > len(figure.struck):
            return False
    return saved >= least


@dataclass(frozen=True, slots=True)
class Beat:
    """What a row strikes in one beat: the strokes, and a key that is equal for beats that are alike."""

    first: int
    stop: int
    key: tuple[object, ...]


def _earlier(texture: Texture, row: Row) -> Iterator[Figure]:
    """Yield the copies of earlier bars, named by their bars."""
    held = _held(texture, row)
    heard: dict[tuple[object, ...], list[Beat]] = {}
    apart: dict[int, list[Span]] = {}
    for beat in _beats(row, held):
        before = heard.setdefault(beat.key, [])
        for other in before[:EARLIEST] + before[EARLIEST:][-LATEST:]:
            distance = beat.first - other.first
            runs = apart.setdefault(distance, [])
            rhythm = row.rhythm[beat.first] == row.rhythm[other.first]
            if runs and runs[-1][1] == beat.first and rhythm:
                runs[-1] = (runs[-1][0], beat.stop)
            else:
                runs.append((beat.first, beat.stop))
        before.append(beat)
    for distance, runs in sorted(apart.items()):
        yield from _named(texture, row, distance, runs)


def _held(texture: Texture, row: Row) -> dict[tuple[int, int], list[tuple[int, int, int]]]:
    """Return by bar and beat what a hand holds there by ties: when, how long, which letter."""
    found: dict[tuple[int, int], list[tuple[int, int, int]]] = {}
    for tied in texture.ties.values():
        for note in tied:
            if hand_of(texture.part, note) == row.line.hand:
                bar = row.bars[note.bar]
                offset = note.tick - bar.tick + bar.offset
                beat = offset // beat_ticks(bar, row.line.resolution)
                found.setdefault((note.bar, beat), []).append((offset, note.ticks, note.pitch.diatonic))
    return found


def _beats(row: Row, held: dict[tuple[int, int], list[tuple[int, int, int]]]) -> Iterator[Beat]:
    """Yield what is struck in each beat of a row."""
    first = 0
    here: tuple[int, int] | None = None
    starts: list[tuple[int, tuple[int, int]]] = []
    for place, event in enumerate(row.events):
        bar = row.bars[event.bar]
        beat = event.bar, (event.tick - bar.tick + bar.offset) // beat_ticks(bar, row.line.resolution)
        if beat != here:
            starts.append((place, beat))
            here = beat
    starts.append((len(row), (-1, -1)))
    for (first, beat), (stop, _) in pairwise(starts):
        bar = row.bars[beat[0]]
        offset = row.ticks[first] - bar.tick + bar.offset
        ties = tuple(sorted(held.get(beat, ())))
        yield Beat(first, stop, (offset, tuple(row.exact[first:stop]), tuple(row.rhythm[first + 1 : stop]), ties))


def _named(texture: Texture, row: Row, distance: int, runs: Sequence[Span]) -> Iterator[Figure]:
    """Yield the copies of bars that lie so many strokes back."""
    move = Move()

    def odd(place: int) -> int:
        """Return how many notes of a stroke are odd."""
        return len(odd_in(row.events[place].notes, row.events[place - distance].notes, move, row.bars))

    for first, stop in chained(row, runs, distance, 24, odd):
        begin = first
        while begin < stop:
            end = min(stop, begin + distance)
            figure = _of_bars(texture, row, distance, begin, end)
            if figure is not None:
                yield figure
            begin = end


def _of_bars(texture: Texture, row: Row, distance: int, first: int, stop: int) -> Figure | None:
    """Return the copy of some earlier bars if it is long enough for how far back they lie."""
    model = row.strokes(first - distance, stop - distance)
    strokes = row.strokes(first, stop)
    figure = figure_of(Copy(AGAIN, row.line.hand, Move(), strokes, model, model, row.bars, texture.ties, named=True))
    if figure is None or not _named_once(row, model):
        return None
    back = row.events[first].bar - row.events[first - distance].bar
    bars = _whole_bars(row, first, stop)
    saved = len(figure.grey)
    if back <= ONE_BAR:
        enough = saved >= (FEWEST_SAVED if bars else SAVED_OFF_THE_BEAT)
    elif back <= TWO_BARS:
        enough = bars >= 2 and saved >= SAVED_BY_TWO_BARS
    else:
        enough = bars >= 4
    return figure if enough else None


def _whole_bars(row: Row, first: int, stop: int) -> int:
    """Return how many whole bars some strokes fill: all that is struck in them."""
    begin, end = row.events[first].bar, row.events[stop - 1].bar
    begin += first > 0 and row.events[first - 1].bar == begin
    end -= stop < len(row) and row.events[stop].bar == end
    return max(0, end - begin + 1)


def _named_once(row: Row, model: Sequence[tuple[Note, ...]]) -> bool:
    """Return whether the bars of a model can be told by their printed numbers."""
    numbers = [bar.number for bar in row.bars]
    return all(numbers.count(row.bars[stroke[0].bar].number) == 1 for stroke in (model[0], model[-1]))


def _backwards(texture: Texture, row: Row) -> Iterator[Figure]:
    """Yield the ways back."""
    told = 0
    for turn in range(2, len(row) - 2):
        if row.exact[turn - 1] != row.exact[turn + 1] or turn < told:
            continue
        size = _to_the_bar_line(row, turn, _way_back(row, turn))
        heights = [row.events[place].notes[-1].pitch.semitone for place in range(turn - size, turn + size + 1)]
        peak = heights[size]
        if size < 2 or not (peak > max(heights[:size]) or peak < min(heights[:size])):
            continue
        model, strokes = row.strokes(turn - size, turn), row.strokes(turn + 1, turn + size + 1)
        copy = Copy(RETROGRADE, row.line.hand, Move(), strokes, model[::-1], model, row.bars, texture.ties)
        figure = figure_of(copy)
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


def _to_the_bar_line(row: Row, turn: int, size: int) -> int:
    """Return how long a way back is that does not end shortly after a bar line."""
    bars = [row.events[place].bar for place in range(turn + 1, turn + size + 1)]
    over = sum(bar == bars[-1] for bar in bars) if bars and bars[-1] != bars[0] else 0
    return size - over if SHORTLY * over <= size else size


def _from_the_other(texture: Texture, row: Row, other: Row) -> Iterator[Figure]:
    """Yield what follows the other hand, up to two bars behind, beat by beat."""
    places = {tick: place for place, tick in enumerate(other.ticks)}
    beat = beat_ticks(row.bars[row.events[0].bar], row.line.resolution)
    for lag in range(beat, 2 * row.bar_length(0) + 1, beat):
        pairs = [places.get(tick - lag, -1) for tick in row.ticks]
        for kind_numbers, moves in ((_exact_of, _octaves_or_none), (_letters_of, _by_letters)):
            mine, theirs = kind_numbers(row), kind_numbers(other)
            begin = 0
            while begin < len(pairs):
                if pairs[begin] < 0:
                    begin += 1
                    continue
                way = mine[begin] - theirs[pairs[begin]]
                stop = begin + 1
                while (
                    stop < len(pairs)
                    and pairs[stop] == pairs[stop - 1] + 1
                    and mine[stop] - theirs[pairs[stop]] == way
                    and row.rhythm[stop] == other.rhythm[pairs[stop]]
                ):
                    stop += 1
                if stop - begin >= SAVED_OFF_THE_BEAT:
                    move = moves(row, 0, (begin, stop), way)
                    model = other.strokes(pairs[begin], pairs[stop - 1] + 1)
                    if move is not None and not _own(row, begin, stop, lag):
                        strokes = row.strokes(begin, stop)
                        copy = Copy(IMITATION, row.line.hand, move, strokes, model, model, row.bars, texture.ties)
                        figure = figure_of(copy)
                        if figure is not None and len(figure.grey) >= SAVED_OFF_THE_BEAT and not figure.odd:
                            yield figure
                begin = stop


def _own(row: Row, first: int, stop: int, lag: int) -> bool:
    """Return whether most of what a hand seems to take over it has just played itself, at whatever height."""
    places = {tick: place for place, tick in enumerate(row.ticks[:stop])}
    ways = [row.letters[place] - row.letters[places[tick]] for place in range(first, stop) if (tick := row.ticks[place] - lag) in places]
    return bool(ways) and 4 * max(ways.count(way) for way in set(ways)) >= 3 * (stop - first)


def _exact_of(row: Row) -> list[int]:
    return row.exact


def _letters_of(row: Row) -> list[int]:
    return row.letters


def _octaves_or_none(row: Row, distance: int, run: Span, way: int) -> Move | None:
    return _unmoved(row, distance, run, way) or _by_octaves(row, distance, run, way)
