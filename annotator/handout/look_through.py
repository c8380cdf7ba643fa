"""A score and its report → the facts of the look-through page.

Conventions
-----------
* Only the notes that the report counts are looked at, so that the page speaks of what was asked for (a hand, some bars, some parts).
* Bars are those of the first part that is looked at; a fact of several parts is told once.
* The key of a bar is the one by ear (``theory.keys``); a key that is held for less than ``SHORT`` bars passes as colour, and its bars
  count to the key before (common practice, no source).

Rule
----
An accidental is a note whose alteration the key signature does not give, wherever it is struck, printed anew or still in force from
earlier in the bar: the hand must do it either way.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Sequence
from fractions import Fraction
from itertools import groupby
from typing import TypeVar

from annotator.figures.figure import Figure
from annotator.figures.registry import kind_of
from annotator.handout.facts import (
    Accidental,
    Accompaniment,
    BarCount,
    Extreme,
    Found,
    LookThrough,
    Moves,
    Road,
    Signature,
    Spans,
    Stretch,
    Tempo,
    TimeChange,
)
from annotator.handout.hands import moments_of, position_changes, widest
from annotator.lines import hand_of
from annotator.report import Report
from annotator.score import BASS, STEPS, TREBLE, Bar, Note, Part, Score
from annotator.theory.keys import local_keys
from annotator.theory.names import Chord, Scale, name_of

SHORT = 4  # bars
HANDS = ("right", "left")
_CLEFS = {"right": TREBLE, "left": BASS}
_Key = TypeVar("_Key", bound=Hashable)


def look_through(score: Score, report: Report) -> LookThrough:
    """Return what to check before the first note, from a score and what was found in it."""
    parts = [part for part in score.parts if any(note.number in report.counted for note in part.notes)] or list(score.parts[:1])
    bars = parts[0].bars if parts else ()
    notes = [note for part in parts for note in part.notes if note.number in report.counted]
    figures = [figure for _, figure in report.figures]
    by_hand = {hand: [n for part in parts for n in part.notes if n.number in report.counted and hand_of(part, n) == hand] for hand in HANDS}
    return LookThrough(
        times=_changes(bars, lambda bar: bar.time, TimeChange),
        tempos=_tempos(parts[0]) if parts else (),
        signatures=_changes(bars, lambda bar: bar.key, Signature),
        keys=_keys(parts[0]) if parts else (),
        scales=_scales(figures, bars),
        accompaniments=_accompaniments(figures, bars),
        extremes=_extremes(parts, by_hand),
        stretches=_stretches(by_hand, bars),
        moves=_moves(by_hand, bars),
        together=_kinds(figures, bars, lambda kind: kind_of(kind).family == "hands"),
        accidentals=_accidentals(notes, bars),
        roads=_roads(parts[0]) if parts else (),
        others=_kinds(figures, bars, _is_other),
        counts=_counts(notes, report, bars),
    )


def spans_of(indices: Iterable[int], bars: Sequence[Bar]) -> Spans:
    """Return bars, given by their indices in any order and number, as spans of printed numbers.

    >>> from annotator.score import key_of
    >>> row = [Bar(i, str(i + 1), 0, 0, 4, key_of(0), None) for i in range(9)]
    >>> spans_of([0, 1, 1, 2, 6, 8], row)
    (('1', '3'), ('7', '7'), ('9', '9'))
    """
    spans: list[tuple[int, int]] = []
    for index in sorted(set(indices)):
        if spans and spans[-1][1] == index - 1:
            spans[-1] = (spans[-1][0], index)
        else:
            spans.append((index, index))
    return tuple((bars[first].number, bars[last].number) for first, last in spans)


def _changes(bars: Sequence[Bar], value: Callable[[Bar], object], make: Callable[..., object]) -> tuple:  # type: ignore[type-arg]
    """Return one fact for each bar where a value differs from the bar before."""
    return tuple(make(next_value, next(group).number) for next_value, group in groupby(bars, key=value))


def bars_of(figure: Figure) -> range:
    """Return the indices of the bars from a figure's first struck note to its last."""
    return range(figure.moments[0][0].bar, figure.moments[-1][0].bar + 1)


def _tempos(part: Part) -> tuple[Tempo, ...]:
    """Return tempo words and metronome marks; a mark that says the speed once more is not told again."""
    found: list[Tempo] = []
    speed: tuple[Fraction | None, str] = (None, "")
    for each in part.tempos:
        mark = (each.beat, each.per_minute)
        again = each.beat is None or mark == speed
        if not again or each.words:
            found.append(Tempo(each.words, part.bars[each.bar].number, *((None, "") if again else mark)))
        speed = speed if each.beat is None else mark
    return tuple(dict.fromkeys(found))


def _roads(part: Part) -> tuple[Road, ...]:
    """Return repeats, endings and jumps, bar by bar; of what begins in one bar the repeat comes first."""
    bars = part.bars
    found = [(jump.bar, 1, Road(jump.sign, (bars[jump.bar].number,) * 2, jump.words)) for jump in part.jumps]
    start = 0
    for under, group in groupby(bars, key=lambda bar: bar.volta):
        stretch = list(group)
        for bar in stretch:
            start = bar.index if bar.repeat_before else start
            if bar.repeat_after:
                found.append((start, 0, Road("again", (bars[start].number, bar.number), "", bar.repeat_after)))
                start = bar.index + 1
        if under is not None:
            first, last = stretch[0], stretch[-1]
            found.append((first.index, 2, Road("ending", (first.number, last.number), under)))
            start = last.index + 1
    return tuple(road for *_, road in sorted(found, key=lambda entry: entry[:2]))


def _keys(part: Part) -> tuple[Found, ...]:
    stretches = [(scale, [bar.index for bar, _ in group]) for scale, group in _grouped(part)]
    held = [stretch for stretch in stretches if len(stretch[1]) >= SHORT] or stretches
    kept: list[tuple[Scale, list[int]]] = []
    waiting: list[int] = []
    for scale, indices in stretches:
        if (scale, indices) in held and (not kept or kept[-1][0] != scale):
            kept.append((scale, waiting + indices))
            waiting = []
        else:
            (kept[-1][1] if kept else waiting).extend(indices)
    return _found(kept, part.bars)


def _grouped(part: Part) -> Iterable[tuple[Scale, Iterable[tuple[Bar, Scale]]]]:
    return groupby(zip(part.bars, local_keys(part), strict=True), key=lambda pair: pair[1])


def _found(pairs: Iterable[tuple[Scale | str, Iterable[int]]], bars: Sequence[Bar]) -> tuple[Found, ...]:
    """Gather bars and counts of equal things, in the order in which they are met first."""
    gathered: dict[Scale | str, list[int]] = {}
    times: dict[Scale | str, int] = defaultdict(int)
    for what, indices in pairs:
        gathered.setdefault(what, []).extend(indices)
        times[what] += 1
    return tuple(Found(what, spans_of(indices, bars), times[what]) for what, indices in gathered.items())


def _scales(figures: Sequence[Figure], bars: Sequence[Bar]) -> tuple[Found, ...]:
    chromatic = Scale(None, "chromatic")
    played = ((figure.scale or (chromatic if figure.kind == "chromatic-run" else None), figure) for figure in figures)
    return _found(((scale, bars_of(figure)) for scale, figure in played if scale and figure.kind != "sequence"), bars)


def _accompaniments(figures: Sequence[Figure], bars: Sequence[Bar]) -> tuple[Accompaniment, ...]:
    where: dict[tuple[str, str], list[int]] = {}
    chords: dict[tuple[str, str], dict[Chord, None]] = defaultdict(dict)
    for figure in figures:
        if kind_of(figure.kind).family == "chord":
            key = (figure.kind, figure.hand)
            where.setdefault(key, []).extend(bars_of(figure))
            met = [figure.chord] if figure.chord else []
            chords[key].update(dict.fromkeys([*met, *(change.chord for change in figure.changes)]))
    return tuple(Accompaniment(kind, hand, spans_of(indices, bars), tuple(chords[kind, hand])) for (kind, hand), indices in where.items())


def _kinds(figures: Sequence[Figure], bars: Sequence[Bar], wanted: Callable[[str], bool]) -> tuple[Found, ...]:
    return _found(((figure.kind, bars_of(figure)) for figure in figures if wanted(figure.kind)), bars)


def _is_other(kind: str) -> bool:
    return kind_of(kind).family not in ("run", "hands", "chord")


def _extremes(parts: Sequence[Part], by_hand: dict[str, list[Note]]) -> tuple[Extreme, ...]:
    found = []
    by_name = {part.id: part for part in parts}
    for hand, notes in by_hand.items():
        for highest in (False, True) if notes else ():
            pick = max if highest else min
            goal = pick(note.pitch.semitone for note in notes)
            note = next(note for note in sorted(notes, key=lambda note: (note.tick, note.number)) if note.pitch.semitone == goal)
            part = by_name[note.part]
            clef, ottava = part.clef_at(note.staff, note.tick, _CLEFS[hand]), part.octaves_at(note.staff, note.tick)
            found.append(Extreme(hand, highest, note.pitch, clef, ottava, part.bars[note.bar].number))
    return tuple(found)


def _stretches(by_hand: dict[str, list[Note]], bars: Sequence[Bar]) -> tuple[Stretch, ...]:
    grips = ((hand, widest(moments_of(notes))) for hand, notes in by_hand.items())
    return tuple(Stretch(hand, grip.notes[0].pitch, grip.notes[-1].pitch, bars[grip.bar].number) for hand, grip in grips if grip)


def _moves(by_hand: dict[str, list[Note]], bars: Sequence[Bar]) -> tuple[Moves, ...]:
    changes = ((hand, position_changes(moments_of(notes))) for hand, notes in by_hand.items() if notes)
    return tuple(Moves(hand, len(found), spans_of(found, bars)) for hand, found in changes)


def _accidentals(notes: Sequence[Note], bars: Sequence[Bar]) -> tuple[Accidental, ...]:
    where: dict[str, list[int]] = {}
    for note in sorted(notes, key=lambda note: (note.tick, note.number)):
        if isinstance(note.pitch.alter, int) and note.pitch.alter != note.key.alters[STEPS.index(note.pitch.step)]:
            where.setdefault(name_of(note.pitch), []).append(note.bar)
    return tuple(Accidental(name, spans_of(indices, bars)) for name, indices in where.items())


def _counts(notes: Sequence[Note], report: Report, bars: Sequence[Bar]) -> tuple[BarCount, ...]:
    struck, grey = [0] * len(bars), [0] * len(bars)
    for note in notes:
        if note.bar < len(bars):
            struck[note.bar] += 1
            grey[note.bar] += note.number in report.grey_numbers
    return tuple(BarCount(bar.number, struck[bar.index], struck[bar.index] - grey[bar.index]) for bar in bars)
