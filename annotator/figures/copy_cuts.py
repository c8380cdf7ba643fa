"""Copies for choice: those that lie within better ones dropped, the others cut short where further figures begin or end.

Conventions: a copy lies within another of its hand that begins no worse (bar line, beat, elsewhere) and greys as much of the same stretch;
then it would only be a second name for it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from operator import itemgetter

from annotator.figures.copies import KINDS, LABEL_COST, cut
from annotator.figures.copy_rows import fresh_notes, places_in, played_lines
from annotator.figures.figure import Figure
from annotator.figures.lines import Texture

MANY_CUTS = 6  # with more cuts than this inside one copy not every pair of cuts is tried, but pieces between near ones
NEAR = 3  # how many cuts such a piece may span

Reach = tuple[int, int, int]
"""Where a figure begins, the tick after its last stroke, and how many notes it greys."""


def cut_short(texture: Texture, copies: Sequence[Figure], others: Iterable[Figure]) -> Iterator[Figure]:
    """Yield copies, and each of them cut short where another copy or figure of its hand would take its place."""
    by_hand: dict[str, list[Reach]] = {}
    for figure in [*others, *copies]:
        by_hand.setdefault(figure.hand, []).append((*_edges(figure), len(figure.grey)))
    begins = {hand: sorted(set(own)) for hand, own in by_hand.items()}
    ends = {hand: sorted(own, key=itemgetter(1)) for hand, own in begins.items()}
    fresh = fresh_notes(texture)
    for copy in copies:
        yield copy
        edges = _cutting(copy, begins[copy.hand], ends[copy.hand])
        if edges:
            yield from _pieces(texture, fresh, copy, edges)


def _cutting(copy: Figure, begins: Sequence[Reach], ends: Sequence[Reach]) -> set[int]:
    """Return the ticks within a copy at which figures begin or end that reach beyond it, or grey more than it does in their stretch."""
    start, stop = _edges(copy)
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


def pruned(texture: Texture, copies: Iterable[Figure]) -> list[Figure]:
    """Return the copies that do not lie within better ones of their hand."""
    by_hand: dict[str, list[Figure]] = {}
    for copy in copies:
        by_hand.setdefault(copy.hand, []).append(copy)
    places: dict[int, int] = {}
    for line in played_lines(texture):
        for event, place in zip(line.events, places_in(line), strict=True):
            number = event.notes[0].number
            places[number] = min(place, places.get(number, place))
    return [copy for own in by_hand.values() for copy in _pruned(own, places)]


def _edges(figure: Figure) -> tuple[int, int]:
    """Return the tick at which a figure begins, and the one after that of its last stroke."""
    return figure.moments[0][0].tick, figure.moments[-1][0].tick + 1


def _pruned(copies: Sequence[Figure], places: Mapping[int, int]) -> list[Figure]:
    """Return the copies of one hand that do not lie within better ones; ``places`` are those in the bar, by a stroke's lowest note."""
    kept: list[Figure] = []
    near: list[tuple[int, int, int, int, list[int]]] = []  # end, beginning's place, label, how far back a named model is, ticks of grey

    def rank(copy: Figure) -> tuple[object, ...]:
        """Return a key by start, the longest and greyest first, then what is said most simply, then the earliest model."""
        start, stop = _edges(copy)
        kind = KINDS.index(copy.kind)
        return start, -stop, -len(copy.grey), copy.model_bars is not None, kind, copy.model[0][0].tick, copy.group or 0

    for copy in sorted(copies, key=rank):
        start, stop = _edges(copy)
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


def _pieces(texture: Texture, fresh: frozenset[int], copy: Figure, edges: Iterable[int]) -> Iterator[Figure]:
    """Yield a copy cut short at edges of other figures."""
    ticks = [moment[0].tick for moment in copy.moments]
    inside = {bisect_left(ticks, tick) for tick in edges}
    cuts = [0, *sorted(inside - {0, len(ticks)}), len(ticks)]
    reach = len(cuts) if len(cuts) <= MANY_CUTS + 2 else NEAR
    spans = {(begin, end) for place, begin in enumerate(cuts) for end in cuts[place + 1 : place + 1 + reach]}
    if reach == NEAR:
        spans |= {(0, cuts[-2]), (cuts[1], cuts[-1])}
    odd = {note.number for note in copy.odd}
    for begin, end in sorted(spans - {(0, len(ticks))}):
        piece = cut(copy, begin, end, odd, texture.bars, texture.ties, fresh)
        if piece is not None and len(piece.grey) >= 3:
            yield piece
