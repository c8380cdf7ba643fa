"""All figures that might be shown: what the kinds find, and those figures cut short where they get into each other's way.

A run and an arpeggio often share the note where one ends and the other begins. Each note belongs to one figure only, so besides the
longest figures their shortened forms must stand for choice as well: each kind looks again at the part of the line up to, and from, every
place where another figure begins or ends inside its own. A copy that lies within another of its hand is dropped first, where that begins
no worse (bar line, beat, elsewhere) and greys as much of the same stretch: it would only be a second name for it. Whether they obey
the law is asked where they are chosen (``cover.py``).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from operator import itemgetter

from annotator.figures.copies import KINDS as COPIES
from annotator.figures.copies import LABEL_COST, cut
from annotator.figures.copy_rows import Row, rows_of
from annotator.figures.copy_search import find_copies
from annotator.figures.figure import Figure
from annotator.figures.joining import there_and_back
from annotator.figures.lines import Line, Texture, hand_of
from annotator.figures.registry import KINDS, KINDS_BY_NAME, Kind
from annotator.options.settings import Options

FEWEST_STROKES = 2  # a piece of one stroke is no stretch of a line

Reach = tuple[int, int, int]
"""Where a figure begins, the tick after its last stroke, and how many notes it greys."""


def kinds_wanted(options: Options) -> tuple[Kind, ...]:
    """Return the kinds to look for: those asked for, or all that are on by default, less those not wanted."""
    wanted = [kind for kind in KINDS if (kind.default if options.kinds is None else kind.name in options.kinds)]
    return tuple(kind for kind in wanted if kind.name not in options.without)


def find_candidates(texture: Texture, options: Options) -> list[Figure]:
    """Return every figure of one part, shortened forms included, lawful or not, some of them twice: from a voice and from its hand."""
    wanted = {kind.name: kind for kind in kinds_wanted(options)}

    def asked_for(figure: Figure) -> bool:
        """Return whether a figure is of a kind that is wanted, and long enough if it is a run."""
        kind = wanted.get(figure.kind)
        return kind is not None and (kind.family != "run" or len(figure.moments) >= options.shortest)

    in_part = dict.fromkeys(kind.detect_part for kind in wanted.values() if kind.detect_part)
    in_line = dict.fromkeys(kind.detect for kind in wanted.values() if kind.detect)
    wide = [figure for detect in in_part for figure in detect(texture) if asked_for(figure)]
    rows = rows_of(texture)
    copies = pruned(rows, find_copies(texture, [name for name, kind in wanted.items() if kind.repeat], rows))
    found = wide.copy()
    for line in texture.lines:
        whole = [figure for detect in in_line for figure in detect(line) if asked_for(figure)]
        of_line = [*whole, *filter(asked_for, _shortened(line, whole, [*wide, *copies]))]
        found += [_in_its_hand(texture, figure) for figure in of_line] if line.scope == "shared" else of_line
    return [*found, *cut_short(texture, rows, copies, found), *there_and_back(copies, texture.bars)]


def _shortened(line: Line, whole: Sequence[Figure], wide: Sequence[Figure]) -> Iterator[Figure]:
    """Yield the figures of a line cut short at the places where others begin or end within them."""
    cut = [figure for figure in whole if not KINDS_BY_NAME[figure.kind].repeat]
    if not cut:
        return
    ticks = [event.tick for event in line.events]
    edges = _edges(line, whole, wide)
    pieces: dict[tuple[str, int, int], None] = {}  # each once, in order
    for figure in cut:
        first = bisect_left(ticks, figure.moments[0][0].tick)
        stop = bisect_right(ticks, figure.moments[-1][0].tick)
        inside = edges[bisect_right(edges, first) : bisect_left(edges, stop)]
        pieces |= {(figure.kind, *piece): None for piece in sorted({*_pieces(first, inside, stop), *pairwise(inside)})}
    for name, start, end in pieces:
        detect = KINDS_BY_NAME[name].detect
        if detect and end - start >= FEWEST_STROKES:
            yield from (figure for figure in detect(line.slice(start, end)) if figure.kind == name)


def _edges(line: Line, figures: Iterable[Figure], wide: Iterable[Figure]) -> list[int]:
    """Return, sorted, the indices of the events of a line before which some figure ends or begins.

    A figure that lies inside a longer one which greys as much of the same stretch needs no room: it would never be chosen.
    """
    ticks = [event.tick for event in line.events]
    edges: set[int] = set()
    last, greys = -1, [0]  # of the figure that reaches furthest so far: its last moment, and the moments of its grey notes
    for figure in sorted([*figures, *(f for f in wide if f.hand == line.hand)], key=_by_reach):
        start, end = figure.moments[0][0].tick, figure.moments[-1][0].tick
        own = [note.tick for note in figure.grey]
        if end <= last and len(own) <= bisect_right(greys, end) - bisect_left(greys, start):
            continue
        edges.update((bisect_left(ticks, start), bisect_right(ticks, end)))
        if end >= last and not KINDS_BY_NAME[figure.kind].repeat:
            last, greys = end, own
    return sorted(edges)


def _by_reach(figure: Figure) -> tuple[int, int, int]:
    """Return a key by start, then the longest and the greyest first."""
    return figure.moments[0][0].tick, -figure.moments[-1][0].tick, -len(figure.grey)


def _pieces(first: int, inside: Iterable[int], stop: int) -> Iterator[tuple[int, int]]:
    """Yield what lies before each cut of the range (first, stop), and what lies after it."""
    for at in inside:
        yield from ((first, at), (at, stop))


def _in_its_hand(texture: Texture, figure: Figure) -> Figure:
    """Return a figure that both hands share with the hand in which it begins."""
    hand = hand_of(texture.part, figure.moments[0][0])
    return figure if figure.hand == hand else replace(figure, hand=hand)


def cut_short(texture: Texture, rows: Sequence[Row], copies: Sequence[Figure], others: Iterable[Figure]) -> Iterator[Figure]:
    """Yield copies, found in the rows of a part, and each cut short where another copy or figure of its hand would take its place."""
    by_hand: dict[str, list[Reach]] = {}
    for figure in [*others, *copies]:
        by_hand.setdefault(figure.hand, []).append((*_ends(figure), len(figure.grey)))
    begins = {hand: sorted(set(own)) for hand, own in by_hand.items()}
    ends = {hand: sorted(own, key=itemgetter(1)) for hand, own in begins.items()}
    fresh = rows[0].fresh if rows else frozenset()
    for copy in copies:
        yield copy
        edges = _cutting(copy, begins[copy.hand], ends[copy.hand])
        if edges:
            yield from _cut_pieces(texture.hands[copy.hand], fresh, copy, edges)


def _cutting(copy: Figure, begins: Sequence[Reach], ends: Sequence[Reach]) -> set[int]:
    """Return the ticks within a copy at which figures begin or end that reach beyond it, or grey more than it does in their stretch."""
    start, stop = _ends(copy)
    grey = [note.tick for note in copy.grey]
    found: set[int] = set()
    for begin, end, _ in ends[bisect_right(ends, start, key=itemgetter(1)) : bisect_left(ends, stop, key=itemgetter(1))]:
        if begin < start:
            found.add(end)
    for begin, end, saves in begins[bisect_left(begins, (start,)) : bisect_left(begins, (stop,))]:
        if end > stop:
            found.add(begin)
        elif saves > bisect_left(grey, end) - bisect_left(grey, begin):
            found |= {begin, end}
    return found - {start, stop}


def pruned(rows: Iterable[Row], copies: Iterable[Figure]) -> list[Figure]:
    """Return the copies, found in the rows of a part, that do not lie within better ones of their hand."""
    by_hand: dict[str, list[Figure]] = {}
    for copy in copies:
        by_hand.setdefault(copy.hand, []).append(copy)
    places: dict[int, int] = {}
    for row in rows:
        for event, place in zip(row.events, row.places, strict=True):
            number = event.notes[0].number
            places[number] = min(place, places.get(number, place))
    return [copy for own in by_hand.values() for copy in _pruned(own, places)]


def _ends(figure: Figure) -> tuple[int, int]:
    """Return the tick at which a figure begins, and the one after that of its last stroke."""
    return figure.moments[0][0].tick, figure.moments[-1][0].tick + 1


def _pruned(copies: Sequence[Figure], places: Mapping[int, int]) -> list[Figure]:
    """Return the copies of one hand that do not lie within better ones; ``places`` are those in the bar, by a stroke's lowest note."""
    kept: list[Figure] = []
    near: list[tuple[int, int, int, int, list[int]]] = []  # end, beginning's place, label, how far back a named model is, ticks of grey

    def rank(copy: Figure) -> tuple[object, ...]:
        """Return a key by start, the longest and greyest first, then what is said most simply, then the earliest model."""
        start, stop = _ends(copy)
        kind = COPIES.index(copy.kind)
        return start, -stop, -len(copy.grey), copy.model_bars is not None, kind, copy.model[0][0].tick, copy.group or 0

    for copy in sorted(copies, key=rank):
        start, stop = _ends(copy)
        greys = [note.tick for note in copy.grey]
        place = places[copy.moments[0][0].number]
        cost = LABEL_COST[copy.kind]
        near = [each for each in near if each[0] > start]
        back = start - copy.model[0][0].tick if copy.model_bars else 0
        if any(
            end >= stop
            and begins <= place
            and label <= cost
            and (not farther or farther >= back > 0)  # a model named may prove to be a pointer itself, an earlier one not
            and bisect_left(ticks, stop) - bisect_left(ticks, start) >= len(greys)
            for end, begins, label, farther, ticks in near
        ):
            continue
        kept.append(copy)
        near.append((stop, place, cost, back, greys))
    return kept


def _cut_pieces(line: Line, fresh: frozenset[int], copy: Figure, edges: Iterable[int]) -> Iterator[Figure]:
    """Yield a copy of a hand's line cut short at edges of other figures."""
    ticks = [moment[0].tick for moment in copy.moments]
    inside = {bisect_left(ticks, tick) for tick in edges} - {0, len(ticks)}
    odd = {note.number for note in copy.odd}
    for begin, end in _pieces(0, inside, len(ticks)):
        piece = cut(copy, begin, end, odd, line, fresh) if end - begin >= FEWEST_STROKES else None
        if piece is not None and len(piece.grey) >= 3:
            yield piece
