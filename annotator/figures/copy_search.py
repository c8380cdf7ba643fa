"""Finding copies of what lies directly before, of the way back, and of the other hand.

Conventions
-----------
* What lies directly before is found distance by distance: the runs of strokes that go, by letters, as those that many strokes before; in
  them those that go so exactly (again, octaves, real sequences); and the chains around them.
* All a hand's voices are copied, or one voice that has at least half of the hand's notes under the bracket.
* The turning stroke of a way back is struck once, and is the highest or the lowest of the way there and back. A way back does not end
  shortly after a bar line, and is no longer than the way there.

The numbers are those of the vocabulary; source: read off pages by eye, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import chain, pairwise

from annotator.figures.copies import (
    AGAIN,
    FEWEST_WITH_ODD,
    IMITATION,
    OCTAVE,
    OCTAVES,
    PART_ODD,
    PART_SIGNED,
    RETROGRADE,
    SEQUENCE,
    UNMOVED,
    Copy,
    Move,
    Stroke,
    fewest_of_one,
    figure_of,
    fitted,
    too_odd,
)
from annotator.figures.copy_rows import (
    ELSEWHERE,
    ON_BAR,
    Chain,
    Row,
    Span,
    chain_around,
    lawful,
    not_moved,
    odd_within,
    paces_of,
    runs_apart,
    to_the_bar_line,
    way_of,
)
from annotator.figures.earlier_bars import copies_of_bars
from annotator.figures.figure import Figure
from annotator.figures.lines import Texture

LONGEST_GROUP = 24  # strokes of a group that is copied directly, wherever it begins
PART_ALIKE = 5  # of its strokes one in so many, one after another, are as in the model
PART_MOVED = 4  # of the notes of a group that is moved more than one in so many
LONGEST_BARS = 64  # strokes of one bar or two that are copied directly
FEWEST_SAVED = 3  # notes
SAVED_BY_ONE = 4  # copy, or by copies of two notes, or of a sequence
SAVED_OFF_THE_BEAT = 6  # of one copy that begins there
SAVED_BY_A_SEQUENCE = 5  # of one copy
SAVED_BY_AN_IMITATION = 6  # and so many strokes at least
PART_ODD_REAL = 6  # at most one note in so many of a real sequence
FEWEST_MOVED = 3  # notes of a group that is moved
FARTHEST_STEPS = 4  # letters that one copy moves, as a sequence
FARTHEST_STEPS_OF_SEVERAL = 6
FARTHEST_OCTAVES = 3
FEWEST_IN_TURN = 6  # strokes of two notes
FARTHEST_BEHIND = 2  # bars
LONGEST_BACK = 16  # strokes of a way back
FEWEST_STROKES = 2
FEWEST_BACK = 4  # notes
FEWEST_THERE_AND_BACK = 5  # notes
SHORTLY = 4  # less than one in so many of a way back's strokes beyond a bar line are left out

Moves = Mapping[int, tuple[str, Move]]
"""Kind and move of what is copied directly, by how far the numbers of its strokes are from those of their models."""

STEPS = range(-FARTHEST_STEPS_OF_SEVERAL, FARTHEST_STEPS_OF_SEVERAL + 1)
BY_OCTAVES = [(OCTAVE if octaves else AGAIN, Move(OCTAVES * octaves)) for octaves in range(-FARTHEST_OCTAVES, FARTHEST_OCTAVES + 1)]
BY_KEYS = [(SEQUENCE, Move(steps, keys)) for steps in STEPS for keys in range(-11, 12) if steps * keys > 0 or abs(keys) == 1]
EXACTLY: Moves = {way_of(move): (kind, move) for kind, move in BY_OCTAVES + BY_KEYS}
BY_LETTERS: Moves = {steps: (SEQUENCE, Move(steps)) for steps in STEPS if steps}

Ways = tuple[Row, list[tuple[int, ...]], dict[tuple[int, ...], list[int]]]
"""A row, how it goes on from each of its strokes for as long as an imitation is, and the strokes from which it goes so."""


def find_copies(texture: Texture, kinds: Collection[str], rows: Sequence[Row]) -> Iterator[Figure]:
    """Yield the copies of some kinds in a part: every hand's, and every voice's where a hand has several. ``rows`` are theirs."""
    ways = [_ways(row) for row in rows] if IMITATION in kinds else []
    for row in rows:
        found = chain(
            _directly(row, kinds),
            copies_of_bars(texture, row, kinds),
            _ways_back(row) if RETROGRADE in kinds else (),
            _imitations(row, ways) if IMITATION in kinds else (),
        )
        yield from _main(rows, row, found)


def _main(rows: Sequence[Row], row: Row, figures: Iterable[Figure]) -> Iterator[Figure]:
    """Yield those figures of a row that have at least half of their hand's notes."""
    whole = next(other for other in rows if other.line.hand == row.line.hand)
    if whole is row:
        yield from figures
        return
    for figure in figures:
        first = bisect_left(whole.ticks, figure.moments[0][0].tick)
        stop = bisect_right(whole.ticks, figure.moments[-1][0].tick)
        if 2 * len(figure.struck) >= whole.notes(first, stop):
            yield figure


def _directly(row: Row, kinds: Collection[str]) -> Iterator[Figure]:
    """Yield the copies of some kinds of what lies directly before, the shortest group first."""
    if not {AGAIN, OCTAVE, SEQUENCE}.intersection(kinds):
        return
    paces = paces_of(row, row.letters), paces_of(row, row.exact)
    told = [0] * len(row)  # up to where a smaller group says the same again
    for distance in _distances(row):
        done: dict[Move, int] = {}
        for kind, move, (first, stop) in _runs(row, paces, distance):
            group, alike = row.notes(first - distance, first), row.notes(first, stop)
            few = group < FEWEST_WITH_ODD
            if kind not in kinds or done.get(move, 0) > first or (kind != AGAIN and group < FEWEST_MOVED):
                continue
            if kind == SEQUENCE and (alike <= (SAVED_BY_A_SEQUENCE if few else group // PART_MOVED) or row.plain(first - distance, stop)):
                continue
            chain = Chain(first, stop, ()) if few else chain_around(row, (first, stop), distance, move, distance)
            done[move] = chain.stop
            for span in _stretches(row, move, distance, chain):
                if kind == AGAIN and told[span[0]] >= span[1]:
                    continue
                if kind == OCTAVE:
                    yield from _and_back(row, move, span, distance)
                figure = _direct(row, kind, move, span, distance)
                if figure is not None:
                    yield figure
                    if kind == AGAIN and not figure.odd:
                        told[slice(*span)] = [max(span[1], before) for before in told[slice(*span)]]


def _runs(row: Row, paces: tuple[Sequence[int], Sequence[int]], distance: int) -> Iterator[tuple[str, Move, Span]]:
    """Yield the runs that are moved alike, with their kind and move: by letters, and exactly, which is a run by letters, too."""
    fewest = max(FEWEST_STROKES, distance // PART_ALIKE)
    for span in runs_apart(paces[0], distance, fewest, (distance, len(row))):
        steps = row.letters[span[0]] - row.letters[span[0] - distance]
        if row.notes(*span) < FEWEST_SAVED or (steps % OCTAVES and steps not in BY_LETTERS):
            continue
        if steps in BY_LETTERS:
            yield *BY_LETTERS[steps], span
        for first, stop in runs_apart(paces[1], distance, fewest, span):
            way = row.exact[first] - row.exact[first - distance]
            if way in EXACTLY:
                yield *EXACTLY[way], (first, stop)


def _distances(row: Row) -> list[int]:
    """Return how many strokes a group may have: few, or those of one bar or two."""
    starts = [place for place in range(len(row)) if place == 0 or row.events[place].bar != row.events[place - 1].bar]
    in_bars = {after - before for bars in (1, 2) for before, after in zip(starts, [*starts, len(row)][bars:], strict=False)}
    return [*range(2, LONGEST_GROUP + 1), *sorted(size for size in in_bars if LONGEST_GROUP < size <= LONGEST_BARS)]


def _stretches(row: Row, move: Move, distance: int, chain: Chain) -> Iterator[Span]:
    """Yield the stretches of a chain that are whole copies."""
    if chain.stop - chain.first < fewest_of_one(distance):
        return
    for span in lawful(row, chain, distance, move):
        first = max(span[0] if move.steps else to_the_bar_line(row, span, distance, move, distance), row.segment[span[0]] + distance)
        for begin, end in _without_strange(row, move, distance, (first, span[1])):
            stop = fitted(begin, end, distance) if begin < end else None
            if stop is not None:
                yield begin, stop


def _without_strange(row: Row, move: Move, distance: int, span: Span) -> Iterator[Span]:
    """Yield a stretch without those of its copies in which too much is odd; what is left neither begins nor ends with an odd note."""
    first, stop = span
    begin, as_it_is = first, not odd_within(row, first, stop, distance, move)
    for start in () if as_it_is else range(first, stop, distance):
        end = min(start + distance, stop)
        if _is_strange(row, move, distance, (start, end)):
            while begin < start and odd_within(row, start - 1, start, distance, move):
                start -= 1
            yield begin, start
            begin = end
            while begin < stop and row.places[begin] != ON_BAR and odd_within(row, begin, begin + 1, distance, move):
                begin += 1
    yield begin, stop


def _is_strange(row: Row, move: Move, distance: int, span: Span) -> bool:
    """Return whether more of a copy is odd than may be, a sign alone being no other note where it moves by letters."""
    odd = odd_within(row, *span, distance, move)
    new = odd - row.signed if move.steps and move.keys is None else odd
    return too_odd(row.strokes(*span), new, PART_ODD) or too_odd(row.strokes(*span), odd, PART_SIGNED)


def _direct(row: Row, kind: str, move: Move, span: Span, group: int) -> Figure | None:
    """Return the figure of a stretch that copies what lies directly before; None where it is none of the kind or saves too little."""
    first, stop = span
    least, notes = _least(row, kind, first, stop, group), row.notes(first, stop)
    if notes < least or not _near(row, kind, move, first, stop, group):
        return None
    odd = odd_within(row, first, stop, group, move)
    if notes - len(odd) < least or (kind == SEQUENCE and len(odd) * (PART_SIGNED if move.semitones is None else PART_ODD_REAL) > notes):
        return None
    strokes = row.strokes(first - group, stop)
    figure = figure_of(Copy(kind, row.line, move, strokes[group:], strokes[:group], odd, row.fresh))
    return figure if figure is not None and len(figure.grey) >= least else None


def _least(row: Row, kind: str, first: int, stop: int, group: int) -> int:
    """Return how many notes a copy must save."""
    if stop - first > group:
        return SAVED_BY_ONE if kind == SEQUENCE or (group == 2 and row.notes(first, stop) == stop - first) else FEWEST_SAVED
    least = SAVED_OFF_THE_BEAT if row.places[first] == ELSEWHERE else SAVED_BY_ONE
    return max(least, SAVED_BY_A_SEQUENCE) if kind == SEQUENCE else least


def _near(row: Row, kind: str, move: Move, first: int, stop: int, group: int) -> bool:
    """Return whether a group is one of its kind: neither one note, nor a plain way that goes on, nor too long, nor too far off."""
    begin = first - group
    if row.exact[begin:first].count(row.exact[begin]) == group:
        return False
    if kind == AGAIN:
        return not _in_turn(row, begin, stop)
    length = row.ticks[first] - row.ticks[begin]
    bars = 2 if row.places[first] == ON_BAR and move.semitones is None else 1
    if length > bars * row.bar_length(begin):
        return False
    return kind == OCTAVE or stop - first > group or abs(move.steps) <= FARTHEST_STEPS


def _in_turn(row: Row, first: int, stop: int) -> bool:
    """Return whether some strokes are two single notes in even alternation: a trill or tremolo."""
    return (
        stop - first >= FEWEST_IN_TURN
        and row.notes(first, stop) == stop - first
        and row.exact[first + 2 : stop] == row.exact[first : stop - 2]
        and len({after - before for before, after in pairwise(row.ticks[first:stop])}) == 1
    )


def _ways_back(row: Row) -> Iterator[Figure]:
    """Yield the ways back in a row."""
    exact = row.exact
    for turn in range(2, len(row) - 2):
        if exact[turn - 1] != exact[turn + 1] or exact[turn - 2] != exact[turn + 2]:
            continue
        size = _up_to_the_bar_line(row, turn, _way_back(row, turn))
        if size < FEWEST_STROKES or not _turns(row, turn, size):
            continue
        model, strokes = row.strokes(turn - size, turn), row.strokes(turn + 1, turn + size + 1)
        figure = figure_of(Copy(RETROGRADE, row.line, UNMOVED, strokes, model, (), row.fresh))
        if figure is not None and len(figure.grey) >= FEWEST_BACK:
            yield figure


def _and_back(row: Row, move: Move, span: Span, group: int) -> Iterator[Figure]:
    """Yield the copies by octaves from the beginning of a stretch on that turn on their last stroke and go back, if the stretch does so."""
    first, stop = span
    there = (stop - first) // group * group
    turn = first + there - 1
    if not there or turn + FEWEST_STROKES >= len(row) or not _near(row, OCTAVE, move, first, stop, group):
        return
    back = min(_up_to_the_bar_line(row, turn, _way_back(row, turn)), turn - first + group)
    if back < FEWEST_STROKES or not _turns(row, turn, back):
        return
    model, strokes = row.strokes(first - group, first), row.strokes(first, turn + 1 + back)
    odd = odd_within(row, first, stop, group, move)
    figure = figure_of(Copy(OCTAVE, row.line, move, strokes, model, odd, row.fresh, back=back))
    if figure is not None and len(figure.grey) >= FEWEST_THERE_AND_BACK:
        yield figure


def _turns(row: Row, turn: int, size: int) -> bool:
    """Return whether a stroke is higher, or lower, than those of the way to it."""
    heights = [row.events[place].notes[-1].pitch.semitone for place in range(turn - size, turn)]
    return not min(heights) <= row.events[turn].notes[-1].pitch.semitone <= max(heights)


def _way_back(row: Row, turn: int) -> int:
    """Return how many strokes are struck backwards after a turning stroke."""
    size = 0
    first = row.segment[turn]
    exact, rhythm = row.exact, row.rhythm
    while (
        size < LONGEST_BACK
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


def _ways(row: Row) -> Ways:
    """Return a row, how it goes on from each stroke, and where it goes so."""
    paces, size = paces_of(row, row.letters), SAVED_BY_AN_IMITATION
    ways = [tuple(paces[place + 1 : place + size]) for place in range(len(paces) - size + 1)]
    places: dict[tuple[int, ...], list[int]] = {}
    for place, way in enumerate(ways):
        places.setdefault(way, []).append(place)
    return row, ways, places


def _imitations(row: Row, rows: Sequence[Ways]) -> Iterator[Figure]:
    """Yield what follows the other hand, up to two bars behind, beat by beat."""
    own = {tick: place for place, tick in enumerate(row.ticks)}
    ways = next(ways for other, ways, _ in rows if other is row)
    for other, _, places in rows:
        if other.line.hand == row.line.hand:
            continue
        for first, stop, model in _taken_over(row, ways, other, places):
            if not _takes_up_its_own(row, own, first, stop, row.ticks[first] - other.ticks[model]):
                move = Move(row.letters[first] - other.letters[model])
                yield from _imitation(row, (first, stop), other.strokes(model, model + stop - first), move)


def _taken_over(
    row: Row, ways: Sequence[tuple[int, ...]], other: Row, places: Mapping[tuple[int, ...], Sequence[int]]
) -> list[tuple[int, int, int]]:
    """Return the longest stretches of a row that go as another row went some beats before, and where each began there."""
    beat = row.bars[row.events[0].bar].beat_ticks(row.line.resolution)
    farthest = FARTHEST_BEHIND * row.bar_length(0)
    apart: dict[int, list[Span]] = {}
    for place, way in enumerate(ways):
        if way not in places:
            continue
        heard, tick = places[way], row.ticks[place]
        for model in heard[bisect_left(heard, tick - farthest, key=other.ticks.__getitem__) :]:
            lag = tick - other.ticks[model]
            if lag <= 0:
                break
            if lag % beat == 0:
                found = apart.setdefault(place - model, [])
                begin = found.pop()[0] if found and found[-1][1] == place + SAVED_BY_AN_IMITATION - 1 else place
                found.append((begin, place + SAVED_BY_AN_IMITATION))
    return sorted((first, stop, first - distance) for distance, found in apart.items() for first, stop in found)


def _imitation(row: Row, span: Span, model: Sequence[Stroke], move: Move) -> Iterator[Figure]:
    """Yield the figure of a stretch that follows the other hand, if all of it follows."""
    strokes = row.strokes(*span)
    if any(not_moved(stroke, source, move, row.signed) for stroke, source in zip(strokes, model, strict=True)):
        return
    figure = figure_of(Copy(IMITATION, row.line, move, strokes, model, (), row.fresh))
    if figure is not None and len(figure.grey) >= SAVED_BY_AN_IMITATION:
        yield figure


def _takes_up_its_own(row: Row, places: dict[int, int], first: int, stop: int, lag: int) -> bool:
    """Return whether most of what a hand seems to take over it has just played itself, at whatever height."""
    ways = [row.letters[place] - row.letters[places[tick]] for place in range(first, stop) if (tick := row.ticks[place] - lag) in places]
    return bool(ways) and 4 * max(map(ways.count, set(ways))) >= 3 * (stop - first)
