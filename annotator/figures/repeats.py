"""Repeats: what the same hand has just played once more, or an earlier bar once more.

Conventions
-----------
* A group is a beat, half bar, bar or two bars of at least three notes in two strokes (one stroke again and again is ``repeated-notes``);
  it begins on a beat, and pitches, spelling and rhythm are equal.
* ``notes`` are the repeats only; the model, the group before them or the earlier bar, is in ``Figure.model``, outside the repeat.
* An earlier bar is a whole bar of one hand, all its voices and what is tied into it. The model is the earliest equal bar, or the earliest
  two equal bars in a row; bars in a row that equal bars in a row are one figure.
* ``times`` counts the repeats, ``group`` the moments of one; ``model_bar`` is the printed number of the earlier bar, None for a group just
  played. No repeat goes over a rest or a cut bar line.

Rule: every note of the repeat is the note of the model in the same place. Nothing in it is dark. Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from itertools import groupby

from annotator.figures.assembly import figure_of
from annotator.figures.figure import CannotSpellOut, Covered, Figure, Spelling
from annotator.figures.groups import FEWEST, rows_of_groups
from annotator.figures.label_data import LabelData
from annotator.lines import Event, Line, Texture, hand_of
from annotator.score import Bar

KIND = "repeated-group"
SHORTENED = 4  # so many bars a row may lose at its ends, in all, where another figure holds their notes


def detect_repeated_groups(line: Line) -> Iterator[Figure]:
    """Yield the rows of repeats of a beat, half bar, bar or two bars that a line has just played."""
    if line.scope == "shared":
        return
    told = [-1] * len(line)  # for each event, up to where a smaller group has told the repeat already
    for row in rows_of_groups(line):
        for first, times in _equal_groups(line, row):
            start, stop = row[first], row[first + times + 1]
            if told[start] >= stop:
                continue
            figure = _again(line, row[first], row[first + 1], stop, times)
            if figure:
                told[start:stop] = [max(stop, before) for before in told[start:stop]]
                yield figure


def detect_repeated_bars(texture: Texture) -> Iterator[Figure]:
    """Yield the bars, alone and in rows, in which a hand plays what it played in earlier bars."""
    for hand in ("right", "left"):
        line = texture.hands.get(hand)
        if line is not None and len(line):
            yield from _repeated_bars(texture, line)


def spell_out_repeated_group(covered: Covered) -> Spelling:
    """Return the model, as often as it fits into the figure's moments."""
    model = tuple(tuple(int(pitch.semitone) for pitch in moment) for moment in covered.model)
    if not model:
        raise CannotSpellOut("a repeat needs its model")
    return model * (len(covered.slots) // len(model))


def _equal_groups(line: Line, row: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield (place of the model in the row, number of repeats) wherever groups of a row equal the one before."""
    opening = [line.strokes[start] for start in row[:-1]]
    model = 0
    for place in range(1, len(opening)):
        if opening[place - 1] == opening[place] and _equal(line, row[place - 1], row[place], row[place + 1]):
            continue
        if place - 1 > model:
            yield model, place - 1 - model
        model = place
    if len(row) - 2 > model:
        yield model, len(row) - 2 - model


def _equal(line: Line, first: int, second: int, stop: int) -> bool:
    """Return whether two neighbouring groups have the same pitches in the same rhythm."""
    return (
        line.strokes[first:second] == line.strokes[second:stop]
        and line.ticks[first:second] == line.ticks[second:stop]
        and [event.whole for event in line.events[first:second]] == [event.whole for event in line.events[second:stop]]
    )


def _again(line: Line, start: int, middle: int, stop: int, times: int) -> Figure | None:
    """Return the figure of what follows a group and equals it, if the group has notes enough."""
    model = line.events[start:middle]
    if len(model) < 2 or sum([len(event.notes) for event in model]) < FEWEST:
        return None
    return figure_of(
        line,
        KIND,
        line.events[middle:stop],
        (),
        times=times,
        group=len(model),
        model=tuple([event.notes for event in model]),
    )


class _Bars:
    """The bars of one hand: the events of each, and a key that equal bars share (None: like no other, or cannot be repeated)."""

    def __init__(self, texture: Texture, line: Line) -> None:
        self.events: list[list[Event]] = [[] for _ in line.bars]
        self.keys: list[int | None] = [None] * len(line.bars)
        strokes: list[list[object]] = [[] for _ in line.bars]
        first = 0
        for index, struck in groupby([event.bar for event in line.events]):
            stop = first + len(list(struck))
            self.events[index] += line.events[first:stop]
            strokes[index] += line.strokes[first:stop]
            first = stop
        alike: dict[Hashable, list[int]] = {}
        for index, those in enumerate(strokes):
            alike.setdefault(tuple(those), []).append(index)
        held = _held(texture, line)
        numbers: dict[Hashable, int] = {}
        for strokes_of_all, indices in alike.items():
            if len(indices) > 1:
                for index in indices:
                    if _whole(self.events[index]):
                        full = strokes_of_all, *_rhythm(line.bars[index], self.events[index]), tuple(sorted(held.get(index, ())))
                        self.keys[index] = numbers.setdefault(full, len(numbers))

    def joined(self, bar: int) -> bool:
        """Return whether a bar goes on from the bar before without a gap."""
        return self.events[bar][0].joined


def _held(texture: Texture, line: Line) -> dict[int, list[tuple[int, int, int]]]:
    """Return by bars what one hand holds there by ties: when, how long, which letter."""
    held: dict[int, list[tuple[int, int, int]]] = {}
    for tied in texture.ties.values():
        for note in tied:
            if hand_of(texture.part, note) == line.hand:
                bar = line.bars[note.bar]
                held.setdefault(note.bar, []).append((note.tick - bar.tick, note.ticks, note.pitch.diatonic))
    return held


def _rhythm(bar: Bar, events: Sequence[Event]) -> tuple[Hashable, ...]:
    """Return the rhythm of a bar. What comes after does not count: how long each note is, not when the next follows."""
    starts = tuple([event.tick - bar.tick for event in events])
    lengths = tuple([note.ticks for event in events for note in event.notes])
    return bar.ticks, bar.offset, starts, lengths


def _whole(events: Sequence[Event]) -> bool:
    """Return whether a bar can be repeated: it has no gap, two strokes and notes enough."""
    if len(events) < 2 or not all(event.joined for event in events[1:]):
        return False
    return sum([len(event.notes) for event in events]) >= FEWEST


def _repeated_bars(texture: Texture, line: Line) -> Iterator[Figure]:
    """Yield, for one hand, each row of bars that equals an earlier row, then its bars one by one."""
    bars = _Bars(texture, line)
    keys = bars.keys
    alone: dict[int, int] = {}
    paired: dict[tuple[int, int], int] = {}
    seen = 0
    place = 0
    while place < len(keys):
        while seen < place:
            _remember(keys, seen, alone, paired)
            seen += 1
        length, model = _row(bars, place, alone, paired)
        if length:
            yield from _as_before(line, bars, alone, (model, place, length))
        place += max(1, length)


def _remember(keys: Sequence[int | None], bar: int, alone: dict[int, int], paired: dict[tuple[int, int], int]) -> None:
    """Take note of where a bar, and the bar before with it, is first heard."""
    key = keys[bar]
    if key is None:
        return
    alone.setdefault(key, bar)
    before = keys[bar - 1] if bar else None
    if before is not None:
        paired.setdefault((before, key), bar - 1)


def _row(bars: _Bars, place: int, alone: dict[int, int], paired: dict[tuple[int, int], int]) -> tuple[int, int]:
    """Return how many bars from ``place`` on equal earlier ones in a row, and the first of those."""
    keys = bars.keys
    key = keys[place]
    if key is None or key not in alone:
        return 0, 0
    after = keys[place + 1] if place + 1 < len(keys) else None
    model = alone[key] if after is None else paired.get((key, after), alone[key])
    length = 1
    while (
        place + length < len(keys)
        and model + length < place
        and keys[place + length] is not None
        and keys[place + length] == keys[model + length]
        and bars.joined(place + length)
    ):
        length += 1
    return length, model


def _as_before(line: Line, bars: _Bars, alone: dict[int, int], row: tuple[int, int, int]) -> Iterator[Figure]:
    """Yield the figure of a row of bars, of the row less a few bars at its ends, and of each bar that is not just the one before again."""
    model, place, length = row
    pieces = [
        (model + lost, place + lost, length - lost - left)
        for lost in range(SHORTENED + 1)
        for left in range(SHORTENED + 1 - lost)
        if length - lost - left > 1 or lost == left == 0
    ]
    if length > 1:
        pieces += [(alone[key], here, 1) for here in range(place, place + length) if (key := bars.keys[here]) is not None]
    for earlier, here, count in pieces:
        if here - earlier == count <= 2:
            continue  # just played: told as such
        events = [event for bar in range(here, here + count) for event in bars.events[bar]]
        pattern = [event for bar in range(earlier, earlier + count) for event in bars.events[bar]]
        moments = tuple([event.notes for event in pattern])
        figure = figure_of(line, KIND, events, (), times=1, group=len(pattern), model=moments, model_bar=line.bars[earlier].number)
        if figure:
            yield figure


def label(figure: Figure) -> LabelData:
    """Name the bar of the model, unless that is just before, and say how often it comes again."""
    times = figure.times or 1
    if figure.model_bar is None:
        return LabelData("again-times", times=times) if times > 1 else LabelData("again")
    if times > 1:
        return LabelData("as-bar-times", bar=figure.model_bar, times=times)
    several = bool(figure.model) and figure.model[0][0].bar != figure.model[-1][0].bar
    return LabelData("as-bars" if several else "as-bar", bar=figure.model_bar)
