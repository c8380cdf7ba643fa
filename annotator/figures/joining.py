"""One label for what is one copy: both hands that copy the same bars, and neighbouring copies of the same bars, are one figure.

Rule
----
* Both hands are one figure where their copies have one kind, move and distance in time and lie for the most part under one bracket, or
  in the same bars.
* Neighbours of one hand are one where they are moved alike and copy neighbouring places as far back, and no other figure is between.
* What would not follow as one figure stays two. Notes between neighbours stay dark: what is dark is new.

It is done after the choice: as candidates such figures would chain both hands together. Only what goes octaves away and back stands for
choice as one figure, too.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from annotator.figures.copies import IMITATION, KINDS, RETROGRADE, TURNING, Stroke
from annotator.figures.figure import Figure
from annotator.figures.law import holds
from annotator.music.score import Bar, Note


def join(figures: Iterable[Figure], bars: tuple[Bar, ...]) -> list[Figure]:
    """Return the chosen figures of one part, copies that are one put together, in order of time."""
    others = [figure for figure in figures if figure.kind not in KINDS]
    copies = sorted((figure for figure in figures if figure.kind in KINDS), key=_start)
    copies = _neighbours(_hands(_neighbours(copies, others, bars), bars), others, bars)
    return sorted([*others, *copies], key=_start)


def there_and_back(copies: Iterable[Figure], bars: tuple[Bar, ...]) -> list[Figure]:
    """Return as one figure, for choice, what both hands play an octave away and back: where one hand has a dearer name, it may lose it."""
    turning = sorted((figure for figure in copies if figure.direction == TURNING), key=_start)
    return [figure for figure in _hands(turning, bars) if figure.both_hands]


def _start(figure: Figure) -> tuple[int, int]:
    return figure.moments[0][0].tick, figure.moments[0][0].number


def _move(figure: Figure) -> tuple[object, ...]:
    """Return what two copies have in common that can be one: kind, move, how far back in time, whether bars are named."""
    first, model = figure.moments[0][0].tick, figure.model
    back = first + model[-1][0].tick if figure.kind == RETROGRADE else first - model[0][0].tick
    turning = figure.times if figure.direction == TURNING else None
    return figure.kind, figure.steps, figure.semitones, back, figure.model_bars is None, turning


def _hands(copies: Sequence[Figure], bars: tuple[Bar, ...]) -> list[Figure]:
    """Return copies, those of the right and the left hand that are one put together."""
    found: list[Figure] = []
    waiting: dict[tuple[object, ...], list[int]] = {}
    for copy in copies:
        partners = waiting.setdefault(_move(copy), [])
        near = (place for place in reversed(partners[-2:]) if _of_two_hands(found[place], copy) and _together(found[place], copy))
        place = None if copy.kind == IMITATION else next(near, None)
        joined = None if place is None else _both(found[place], copy, bars)
        if place is None or joined is None:
            partners.append(len(found))
            found.append(copy)
        else:
            found[place] = joined
            partners.remove(place)
    return sorted(found, key=_start)


def _of_two_hands(one: Figure, other: Figure) -> bool:
    """Return whether two copies are one hand's each."""
    return one.hand != other.hand and not (one.both_hands or other.both_hands)


def _together(one: Figure, other: Figure) -> bool:
    """Return whether two copies lie for the most part under one bracket: most of their time, or from one bar to one bar."""
    first, last = [[figure.moments[end][0].bar for figure in (one, other)] for end in (0, -1)]
    if first[0] == first[1] and last[0] == last[1] > first[0]:
        return True
    begins = [figure.moments[0][0].tick for figure in (one, other)]
    ends = [figure.moments[-1][0].tick for figure in (one, other)]
    shared = min(ends) - max(begins)
    return shared > 0 and 2 * shared >= max(end - begin for begin, end in zip(begins, ends, strict=True))


def _both(one: Figure, other: Figure, bars: tuple[Bar, ...]) -> Figure | None:
    """Return two hands' copies as one figure, if it follows as one."""
    right, left = (one, other) if one.hand == "right" else (other, one)
    if one.direction == TURNING:
        end = min(one.moments[-1][0].tick, other.moments[-1][0].tick)
        right, left = _until(right, end), _until(left, end)
    return _one(right, left, bars)


def _until(figure: Figure, end: int) -> Figure:
    """Return a figure up to a tick if its last stroke, of one note, is all that comes after it; else the figure."""
    last = figure.moments[-1]
    if figure.moments[-2][0].tick > end or last[0].tick <= end or len(last) > 1:
        return figure
    anchors, odd = [tuple([note for note in notes if note is not last[0]]) for notes in (figure.anchors, figure.odd)]
    tied = tuple([note for note in figure.tied if note.tick < last[0].tick])
    return replace(figure, moments=figure.moments[:-1], anchors=anchors, odd=odd, tied=tied)


def _neighbours(copies: Sequence[Figure], others: Sequence[Figure], bars: tuple[Bar, ...]) -> list[Figure]:
    """Return copies, neighbours that are one put together."""
    struck: dict[int, set[int]] = {}
    for figure in [*others, *copies]:
        for note in figure.struck:
            struck.setdefault(note.staff, set()).add(note.tick)
    ticks = {staff: sorted(found) for staff, found in struck.items()}
    found: list[Figure] = []
    last: dict[str, int] = {}
    for copy in copies:
        place = last.get(copy.hand)
        joined = _one(found[place], copy, bars) if place is not None and _follow(found[place], copy, ticks) else None
        if joined is None or place is None:
            last[copy.hand] = len(found)
            found.append(copy)
        else:
            found[place] = joined
    return found


def _follow(before: Figure, after: Figure, ticks: Mapping[int, Sequence[int]]) -> bool:
    """Return whether a copy follows another that is moved alike, with no note of a figure between: ``ticks`` are those by staff."""
    if before.kind == RETROGRADE or before.direction == TURNING or _move(before) != _move(after) or before.staves != after.staves:
        return False
    begin, end = before.moments[-1][0].tick, after.moments[0][0].tick
    length = max(end - before.moments[0][0].tick, after.moments[-1][0].tick - begin)
    if end <= begin or 4 * (end - begin) > 3 * length:
        return False
    return all(bisect_right(ticks[staff], begin) == bisect_left(ticks[staff], end) for staff in before.staves)


def _one(first: Figure, second: Figure, bars: tuple[Bar, ...]) -> Figure | None:
    """Return two copies as one figure, which goes by the first of them; None where the one does not follow."""
    moments = _merged([*first.moments, *second.moments])
    source = first.model_bars is not None or first.kind in (IMITATION, RETROGRADE)
    apart = second.moments[0][0].tick > first.moments[-1][0].tick
    model = _merged([*first.model, *(second.model if source or not apart else ())])
    anchors = {note.number for note in (*first.anchors, *second.anchors)}
    odd = {note.number for note in (*first.odd, *second.odd)}
    struck = [note for moment in moments for note in moment]
    joined = replace(
        first,
        moments=moments,
        model=model,
        anchors=tuple([note for note in struck if note.number in anchors]),
        odd=tuple([note for note in struck if note.number in odd]),
        group=len(model),
        times=first.times if first.direction == TURNING else -(-len(moments) // len(model)),
        model_bars=first.model_bars and (bars[model[0][0].bar].number, bars[model[-1][0].bar].number),
        both_hands=first.both_hands or first.hand != second.hand,
        tied=(*first.tied, *second.tied),
    )
    return joined if holds(joined, bars) else None


def _merged(strokes: Iterable[Stroke]) -> tuple[Stroke, ...]:
    """Return strokes in order of time, those at one moment as one, from low to high."""
    found: dict[int, list[Note]] = {}
    for stroke in strokes:
        found.setdefault(stroke[0].tick, []).extend(stroke)
    return tuple([tuple(sorted(found[tick], key=_height)) for tick in sorted(found)])


def _height(note: Note) -> tuple[int, int, int]:
    return int(note.pitch.semitone), note.pitch.diatonic, note.number
