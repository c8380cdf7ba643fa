"""What a good sight-reader checks before the first note, from a score and its report, as plain data.

Conventions
-----------
* Bars are told as *spans* of printed numbers, first and last (``("5", "7")``; one bar: ``("5", "5")``), in the order of the score. They are
  those of the first part that is looked at; a fact of several parts is told once.
* Only the notes that the report counts are looked at, so that the page speaks of what was asked for (a hand, some bars, some parts).
* Hands are ``right`` and ``left``. Facts come in the order in which they are met in the piece. A list without entries means that there is
  nothing of the kind, not that nobody looked.
* The key of a bar is the one by ear (``music.keys``); a key that is held for less than ``SHORT`` bars passes as colour and is not told
  (common practice, no source).

Rules
-----
* An accidental is a note whose alteration the key signature does not give, wherever it is struck, printed anew or still in force from
  earlier in the bar: the hand must do it either way.
* Hard bars are the three with the most notes to read in a beat, as far as that is more than on average.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from annotator.figures.figure import Figure
from annotator.figures.lines import hand_of
from annotator.figures.registry import kind_of
from annotator.marks.report import Report
from annotator.music.beats import beat_ticks
from annotator.music.keys import home_key, local_keys
from annotator.music.names import Chord, Scale, name_of
from annotator.music.score import BASS, STEPS, TREBLE, Bar, Clef, Key, Note, Part, Pitch, Score, Time
from annotator.products.handout.hands import moments_of, position_changes, widest

SHORT = 4  # bars
MOST_HARD = 3
HANDS = ("right", "left")

Span = tuple[str, str]
Spans = tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Extreme:
    """The lowest or highest note of a hand.

    ``pitch`` is the key to strike, ``clef`` the one in force there, ``ottava`` by how many octaves an ottava line makes it sound higher
    than it is written (negative: lower), ``bar`` its printed bar.
    """

    hand: str
    highest: bool
    pitch: Pitch
    clef: Clef
    ottava: int
    bar: str


@dataclass(frozen=True, slots=True)
class Stretch:
    """The widest grip of a hand: the outer notes struck together, and the bar where it is met first."""

    hand: str
    low: Pitch
    high: Pitch
    bar: str


@dataclass(frozen=True, slots=True)
class Tempo:
    """Tempo words or a metronome mark, as printed, and the bar from which they hold, empty for the beginning of the piece.

    ``beat`` is the counted note in quarters, None for mere words.
    """

    words: str
    bar: str
    beat: Fraction | None = None
    per_minute: str = ""


@dataclass(frozen=True, slots=True)
class Found:
    """What is found in some bars, and how many times.

    ``what`` is a scale, a kind of figure, a note that the key signature does not give (``"F#"``), or a hand that leaves its place by a leap
    (not once: it stays where it is).
    """

    what: Scale | str
    bars: Spans
    times: int


@dataclass(frozen=True, slots=True)
class Accompaniment:
    """A kind of chord figure in one hand, its bars, and its chords in the order in which they are met, each once."""

    kind: str
    hand: str
    bars: Spans
    chords: tuple[Chord, ...]


@dataclass(frozen=True, slots=True)
class Road:
    """What to play again or where to go on.

    ``sign`` is ``again`` (the bars are played ``times`` times), ``ending`` (``words`` is its number), ``jump`` (``words`` as printed:
    D.C. al Fine), ``fine``, ``segno`` or ``coda``.
    """

    sign: str
    bars: Span
    words: str = ""
    times: int = 2


@dataclass(frozen=True, slots=True)
class BarCount:
    """One bar of the chart: its printed number, the notes struck in it and those of them that must be read."""

    number: str
    notes: int
    to_read: int


@dataclass(frozen=True, slots=True)
class LookThrough:
    """All facts of a piece: see the classes of this module.

    ``times`` and ``signatures`` stand beside the bar from which they hold (a time of None is free time). ``home`` is the key of the piece
    (None: no bars), ``keys`` are those that the music leaves it for, by ear; ``scales`` those of runs. ``together`` are the kinds of
    figures in which both hands go alike, ``copies`` those that bring something again, ``others`` the kinds that no other field tells of.
    ``hard`` are the bars with the most to read in a beat.
    """

    times: tuple[tuple[Time | None, str], ...]
    tempos: tuple[Tempo, ...]
    signatures: tuple[tuple[Key, str], ...]
    home: Scale | None
    keys: tuple[Found, ...]
    scales: tuple[Found, ...]
    accompaniments: tuple[Accompaniment, ...]
    extremes: tuple[Extreme, ...]
    stretches: tuple[Stretch, ...]
    moves: tuple[Found, ...]
    together: tuple[Found, ...]
    accidentals: tuple[Found, ...]
    roads: tuple[Road, ...]
    copies: tuple[Found, ...]
    others: tuple[Found, ...]
    hard: Spans
    counts: tuple[BarCount, ...]


def look_through(score: Score, report: Report) -> LookThrough:
    """Return what to check before the first note, from a score and what was found in it."""
    parts = [part for part in score.parts if any(note.number in report.counted for note in part.notes)] or list(score.parts[:1])
    bars = parts[0].bars if parts else ()
    notes = [note for part in parts for note in part.notes if note.number in report.counted]
    figures = [figure for _, figure in report.figures]
    counts = _counts(notes, report, bars)
    by_hand = {hand: [n for part in parts for n in part.notes if n.number in report.counted and hand_of(part, n) == hand] for hand in HANDS}
    return LookThrough(
        times=tuple((time, next(group).number) for time, group in groupby(bars, key=lambda bar: bar.time)),
        tempos=_tempos(next((part for part in (*parts, *score.parts) if part.tempos), None)),
        signatures=tuple((key, next(group).number) for key, group in groupby(bars, key=lambda bar: bar.key)),
        home=home_key(*parts) if bars else None,
        keys=_keys(parts) if bars else (),
        scales=_scales(figures, bars),
        accompaniments=_accompaniments(figures, bars),
        extremes=_extremes(parts, by_hand),
        stretches=_stretches(by_hand, bars),
        moves=_moves(by_hand, bars),
        together=_kinds(figures, bars, lambda kind: kind_of(kind).family == "hands"),
        accidentals=_accidentals(notes, bars),
        roads=_roads(parts[0]) if parts else (),
        copies=_kinds(figures, bars, lambda kind: kind_of(kind).family == "repeat"),
        others=_kinds(figures, bars, _is_other),
        hard=_hard(counts, bars, score.resolution),
        counts=counts,
    )


def spans_of(indices: Iterable[int], bars: Sequence[Bar]) -> Spans:
    """Return bars, given by their indices in any order and number, as spans of printed numbers.

    >>> from annotator.music.score import key_of
    >>> row = [Bar(i, str(i + 1), 0, 0, 4, key_of(0), None) for i in range(9)]
    >>> spans_of([0, 1, 1, 2, 6, 8], row)
    (('1', '3'), ('7', '7'), ('9', '9'))
    """
    spans: list[tuple[int, int]] = []
    for index in sorted(set(indices)):
        if spans and spans[-1][1] == index - 1 and _follows(bars[index - 1].number, bars[index].number):
            spans[-1] = (spans[-1][0], index)
        else:
            spans.append((index, index))
    return tuple((bars[first].number, bars[last].number) for first, last in spans)


def _follows(number: str, other: str) -> bool:
    """Return whether no bar is left out between two printed numbers, as between stretches of an excerpt; odd numbers tell nothing."""
    return not (number.isdecimal() and other.isdecimal()) or int(other) - int(number) in (0, 1)


def bars_of(figure: Figure) -> range:
    """Return the indices of the bars from a figure's first struck note to its last."""
    return range(figure.moments[0][0].bar, figure.moments[-1][0].bar + 1)


def _tempos(part: Part | None) -> tuple[Tempo, ...]:
    """Return tempo words and metronome marks; what is in force already is not told again."""
    found: list[Tempo] = []
    words = ""
    speed: tuple[Fraction | None, str] = (None, "")
    for each in part.tempos if part else ():
        bar = part.bars[each.bar].number if part and each.tick else ""
        mark = (each.beat, each.per_minute)
        new_words, new_speed = each.words not in ("", words), each.beat is not None and mark != speed
        if new_words or new_speed:
            found.append(Tempo(each.words if new_words else "", bar, *(mark if new_speed else (None, ""))))
        words, speed = each.words or words, mark if new_speed else speed
    return tuple(found)


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


def _keys(parts: Sequence[Part]) -> tuple[Found, ...]:
    """Return the keys, other than that of the piece, that are held for a while, and where."""
    bars, home = parts[0].bars, home_key(*parts)
    stretches = groupby(zip(bars, local_keys(parts[0]), strict=True), key=lambda pair: pair[1])
    away = ((scale, [bar.index for bar, _ in group]) for scale, group in stretches if scale != home)
    return _found(((scale, indices) for scale, indices in away if len(indices) >= SHORT), bars)


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
    return kind_of(kind).family not in ("run", "hands", "chord", "repeat")


def _extremes(parts: Sequence[Part], by_hand: dict[str, list[Note]]) -> tuple[Extreme, ...]:
    found = []
    by_name = {part.id: part for part in parts}
    for hand, notes in by_hand.items():
        for highest in (False, True) if notes else ():
            pick = max if highest else min
            goal = pick(note.pitch.semitone for note in notes)
            note = next(note for note in sorted(notes, key=lambda note: (note.tick, note.number)) if note.pitch.semitone == goal)
            part = by_name[note.part]
            clef, ottava = part.clef_at(note.staff, note.tick, TREBLE if hand == "right" else BASS), part.octaves_at(note.staff, note.tick)
            found.append(Extreme(hand, highest, note.pitch, clef, ottava, part.bars[note.bar].number))
    return tuple(found)


def _stretches(by_hand: dict[str, list[Note]], bars: Sequence[Bar]) -> tuple[Stretch, ...]:
    others = dict(zip(HANDS, reversed(HANDS), strict=True))
    grips = ((hand, widest(moments_of(notes), by_hand[others[hand]], hand == "right")) for hand, notes in by_hand.items())
    return tuple(Stretch(hand, grip.notes[0].pitch, grip.notes[-1].pitch, bars[grip.bar].number) for hand, grip in grips if grip)


def _moves(by_hand: dict[str, list[Note]], bars: Sequence[Bar]) -> tuple[Found, ...]:
    changes = ((hand, position_changes(moments_of(notes))) for hand, notes in by_hand.items() if notes)
    return tuple(Found(hand, spans_of(found, bars), len(found)) for hand, found in changes)


def _accidentals(notes: Sequence[Note], bars: Sequence[Bar]) -> tuple[Found, ...]:
    ordered = sorted(notes, key=lambda note: (note.tick, note.number))
    signed = [note for note in ordered if note.pitch.alter != note.key.alters[STEPS.index(note.pitch.step)]]
    return _found(((name_of(note.pitch), [note.bar]) for note in signed if isinstance(note.pitch.alter, int)), bars)


def _hard(counts: Sequence[BarCount], bars: Sequence[Bar], resolution: int) -> Spans:
    """Return the bars with the most to read in a beat, ``MOST_HARD`` at most, each by itself and in order."""
    density = [count.to_read * beat_ticks(bar, resolution) / max(1, bar.ticks) for count, bar in zip(counts, bars, strict=True)]
    most = sorted(range(len(bars)), key=lambda index: (-density[index], index))[:MOST_HARD]
    average = sum(density) / max(1, len(density))
    return tuple((bars[index].number, bars[index].number) for index in sorted(most) if density[index] > average)


def _counts(notes: Sequence[Note], report: Report, bars: Sequence[Bar]) -> tuple[BarCount, ...]:
    struck, grey = [0] * len(bars), [0] * len(bars)
    for note in notes:
        if note.bar < len(bars):
            struck[note.bar] += 1
            grey[note.bar] += note.number in report.grey_numbers
    return tuple(BarCount(bar.number, struck[bar.index], struck[bar.index] - grey[bar.index]) for bar in bars)
