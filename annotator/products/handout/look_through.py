"""The look-through page: what a good sight-reader checks before the first note, to tick off, and the chart of bars. It is one side, always.

Conventions
-----------
* A section has rows of *what* and *where*. What a player asks first comes first: time, key, scales and chords, both hands; then each hand
  by itself; then what comes again, accidentals, the way through the piece and its hardest bars. At which tempo to begin is for the teacher
  to write. A section with nothing to tell is left out, but for accidentals and repeats, where "none" is worth knowing.
* Where there is too much to tell, no section has as many rows as before (``…`` stands for the rest), and so on down to two; in the end
  the chart is left out.
* Bars are told by their printed numbers, in the order of the score. They are those of the first part that is looked at; a fact of several
  parts is told once.
* Only the notes that the report counts are looked at, so that the page speaks of what was asked for (a hand, some bars, some parts).
* Facts come in the order in which they are met in the piece.
* The key of a bar is the one by ear (``music.keys``); a key that is held for less than ``SHORT`` bars passes as colour and is not told
  (common practice, no source).

Rules
-----
* An accidental is a note whose alteration the key signature does not give, wherever it is struck, printed anew or still in force from
  earlier in the bar: the hand must do it either way.
* Hard bars are the three with the most notes to read in a beat, as far as that is more than on average.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import groupby

from annotator.figures.figure import Figure
from annotator.figures.lines import hand_of
from annotator.figures.registry import kind_of
from annotator.marks.report import Report
from annotator.music.keys import home_key, local_keys
from annotator.music.names import Scale, name_of
from annotator.music.score import BASS, STEPS, TREBLE, Bar, Note
from annotator.products.handout.blocks import (
    GAP,
    BarCount,
    Block,
    Chart,
    Compass,
    Extreme,
    Row,
    Section,
    draw_all,
    flow,
    frame_of,
    height_of,
)
from annotator.products.handout.hands import moments_of, position_changes, widest
from annotator.products.handout.lesson import Lesson
from annotator.products.handout.sheet import SIDE, Sheet
from annotator.words.labels import kind_name
from annotator.words.phrases import (
    bars_words,
    chord_symbol,
    heading,
    interval_name,
    key_words,
    line_words,
    note_name,
    ordinal_words,
    scale_names,
    signature_words,
    times_words,
    title_words,
)

SHORT = 4  # bars
MOST_HARD = 3
MOST_CHORDS = 8
MOST_ROWS = 9
"""How many rows a section has at most, ``…`` among them."""
COLUMN = 9000.0
"""About how wide a column of text is."""
FAMILIES = ("chord", "hands", "repeat")
"""The families of figures that have sections of their own, besides runs, which are told by their scales."""
BLANK = " " + "_" * 12
DOT = chr(0xE1E7)
NOTES = {Fraction(4): 0xE1D2, Fraction(2): 0xE1D3, Fraction(1): 0xE1D5, Fraction(1, 2): 0xE1D7, Fraction(1, 4): 0xE1D9}
"""The note of a metronome mark by its length in quarters (SMuFL)."""

Spans = tuple[tuple[str, str], ...]
"""Bars as printed numbers, first and last (``("5", "7")``; one bar: ``("5", "5")``)."""


def look_through_page(lesson: Lesson) -> Sheet:
    """Return the page without its foot; its free room is what is left on it."""
    language, report = lesson.language, lesson.report
    page = Sheet(lesson.paper)
    page.head(lesson)
    page.heading(lesson.titled("look-through"))
    facts = Facts(report, language)
    count = heading("count", language, notes=report.notes, to_read=report.to_read)
    chart = Chart(lesson.titled("chart"), count, facts.counts(), language)
    columns = max(1, round(page.room / COLUMN))
    high = 1.3 * GAP + height_of(chart, page.room)
    rows, extremes = facts.rows(), facts.extremes()
    for most, below in (*((most, high) for most in range(MOST_ROWS, 1, -1)), (2, 0.0)):
        blocks, frame = _blocks(rows, extremes, most, language), frame_of(page, columns, below)
        placed = flow(blocks, frame)
        if len(placed) == len(blocks):
            break
    draw_all(placed, page, frame.width)
    if below:
        chart.draw(page, SIDE, page.top + 1.3 * GAP, page.room)
    page.top += below + 2 * GAP
    return page


def _blocks(sections: Mapping[str, list[Row]], extremes: tuple[Extreme, ...], most: int, language: str) -> list[Block]:
    """Return the blocks of the page, but for the chart, in their order, with so many rows at ``most`` in each section."""
    blocks: list[Block] = []
    for key, rows in sections.items():
        if key == "moves" and extremes:
            blocks.append(Compass(title_words("compass", language), extremes, language))
        if rows:
            shown = rows if len(rows) <= most else [*rows[: most - 1], Row("…")]
            blocks.append(Section(title_words(key, language), shown))
    return blocks


class Facts:
    """The facts of a piece and its report, in a language."""

    def __init__(self, report: Report, language: str) -> None:
        score = report.score
        notes = {part.id: [note for note in part.notes if note.number in report.counted] for part in score.parts}
        self.parts = [part for part in score.parts if notes[part.id]] or list(score.parts[:1])
        self.bars = self.parts[0].bars if self.parts else ()
        self.notes = [note for part in self.parts for note in notes[part.id]]
        self.by_hand = {
            hand: [note for part in self.parts for note in notes[part.id] if hand_of(part, note) == hand] for hand in ("right", "left")
        }
        self.report, self.language = report, language
        self.figures = [figure for _, figure in report.figures]

    def rows(self) -> dict[str, list[Row]]:
        """Return the rows of each section, under its key among the words for titles."""
        chords, alike, again = ({figure.kind for figure in self.figures if kind_of(figure.kind).family == family} for family in FAMILIES)
        others = {figure.kind for figure in self.figures if kind_of(figure.kind).family not in ("run", *FAMILIES)}
        return {
            "time": [*self._times(), *self._tempos(), Row(self.said("begin") + BLANK)],
            "key": [*self._keys()],
            "scales": [*self._scales()],
            "chords": [*self._accompaniments(chords)],
            "together": [*self._kinds(alike)],
            "moves": [*self._moves()],
            "stretch": [*self._stretches()],
            "copies": [*self._kinds(again)],
            "others": [*self._kinds(others)],
            "signs": [*self._accidentals()] or [Row(self.said("none"))],
            "course": [*self._roads()] or [Row(self.said("straight"))],
            "hard": [*self._hard()],
        }

    def said(self, key: str, **places: object) -> str:
        """Return a short line of the handout."""
        return line_words(key, self.language, **places)

    def _bars(self, indices: Iterable[int]) -> str:
        """Return bars in words."""
        return bars_words(spans_of(indices, self.bars), self.language)

    def _since(self, bar: Bar) -> str:
        """Return from which bar something holds, nothing for the beginning."""
        return self.said("from", bar=bar.number) if bar.index else ""

    def _gathered(self, found: Iterable[tuple[str, Iterable[int]]]) -> Iterator[Row]:
        """Yield a row for all that has one name, in the order in which they are met first."""
        gathered: dict[str, list[int]] = {}
        for name, bars in found:
            gathered.setdefault(name, []).extend(bars)
        return (Row(name, self._bars(bars)) for name, bars in gathered.items())

    def _times(self) -> Iterator[Row]:
        for time, group in groupby(self.bars, key=lambda bar: bar.time):
            text = self.said("free-time") if time is None else f"{'+'.join(map(str, time.beats))}/{time.beat_type}"
            yield Row(text, self._since(next(group)))

    def _tempos(self) -> Iterator[Row]:
        """Yield tempo words and metronome marks as printed; what is in force already is not told again."""
        part = next((part for part in (*self.parts, *self.report.score.parts) if part.tempos), None)
        words, speed = "", (Fraction(0), "")
        for each in part.tempos if part else ():
            mark = (each.beat, each.per_minute) if each.beat is not None else speed
            new = [each.words if each.words != words else "", _metronome(*mark) if mark != speed else ""]
            words, speed = each.words or words, mark
            if part and any(new):
                yield Row(" ".join(filter(None, new)), self._since(part.bars[each.bar]))

    def _keys(self) -> Iterator[Row]:
        """Yield the key of the piece, its signatures, and the keys that are held for a while."""
        if not self.bars:
            return
        home = home_key(*self.parts)
        yield Row(self._key(home))
        for key, group in groupby(self.bars, key=lambda bar: bar.key):
            yield Row(signature_words(key, self.language), self._since(next(group)))
        stretches = groupby(zip(self.bars, local_keys(self.parts[0]), strict=True), key=lambda pair: pair[1])
        away = [(scale, [bar.index for bar, _ in group]) for scale, group in stretches if scale != home]
        yield from self._gathered((self._key(scale), bars) for scale, bars in away if len(bars) >= SHORT)

    def _key(self, scale: Scale) -> str:
        """Name a key as one speaks of it: A minor, whatever its scale."""
        return key_words(scale.tonic or "", scale.type != "major", self.language)

    def _scales(self) -> Iterator[Row]:
        chromatic = Scale(None, "chromatic")
        played = ((figure.scale or (chromatic if figure.kind == "chromatic-run" else None), figure) for figure in self.figures)
        named = ((scale_names(scale, self.language)[0], figure) for scale, figure in played if scale and figure.kind != "sequence")
        return self._gathered((name, bars_of(figure)) for name, figure in named)

    def _accompaniments(self, kinds: set[str]) -> Iterator[Row]:
        """Yield chord figures, hand by hand, with their chords in the order in which they are met, each once."""
        found: dict[tuple[str, str], list[Figure]] = {}
        for figure in self.figures:
            if figure.kind in kinds:
                found.setdefault((figure.kind, figure.hand), []).append(figure)
        for (kind, hand), figures in found.items():
            chords = [chord for figure in figures for chord in (figure.chord, *(change.chord for change in figure.changes)) if chord]
            names = list(dict.fromkeys(chord_symbol(chord, self.language) for chord in chords))
            more = ", ".join(names[:MOST_CHORDS]) + (" …" if len(names) > MOST_CHORDS else "")
            what = f"{kind_name(kind, self.language)}, {title_words(hand, self.language)}"
            yield Row(self.said("told", what=what, more=more), self._bars(bar for figure in figures for bar in bars_of(figure)))

    def _kinds(self, kinds: set[str]) -> Iterator[Row]:
        return self._gathered((kind_name(figure.kind, self.language), bars_of(figure)) for figure in self.figures if figure.kind in kinds)

    def _hand(self, hand: str, more: str, bars: Sequence[int]) -> Row:
        """Return what is said of a hand."""
        return Row(self.said("told", what=title_words(hand, self.language), more=more), self._bars(bars) if bars else "")

    def _moves(self) -> Iterator[Row]:
        for hand, notes in self.by_hand.items():
            bars = position_changes(moments_of(notes))
            if notes:
                yield self._hand(hand, times_words(len(bars), self.language) if bars else self.said("stays"), bars)

    def _stretches(self) -> Iterator[Row]:
        """Yield the widest grip of each hand: the outer notes struck together, and the bar where it is met first."""
        for (hand, notes), others in zip(self.by_hand.items(), reversed(self.by_hand.values()), strict=True):
            grip = widest(moments_of(notes), others, hand == "right")
            if grip:
                low, high = grip.notes[0].pitch, grip.notes[-1].pitch
                names = "–".join(note_name(name_of(pitch), self.language) for pitch in (low, high))
                yield self._hand(hand, f"{interval_name(high.diatonic - low.diatonic, self.language)}, {names}", [grip.bar])

    def _accidentals(self) -> Iterator[Row]:
        signed = [note for note in sorted(self.notes, key=_place) if note.pitch.alter != note.key.alters[STEPS.index(note.pitch.step)]]
        named = ((name_of(note.pitch), note.bar) for note in signed if isinstance(note.pitch.alter, int))
        return self._gathered((note_name(name, self.language) + (" ♮" if len(name) == 1 else ""), [bar]) for name, bar in named)

    def _roads(self) -> Iterator[Row]:
        """Yield repeats, endings and jumps, bar by bar, of what begins in one bar the repeat first; endings in a row share one line."""
        bars = self.bars
        jumps = self.parts[0].jumps if self.parts else ()
        found = [(each.bar, 1, each.words if each.sign == "jump" else self.said(each.sign), each.bar) for each in jumps]
        start = 0
        for under, group in groupby(bars, key=lambda bar: bar.volta):
            stretch = [bar.index for bar in group]
            for index in stretch:
                start = index if bars[index].repeat_before else start
                if bars[index].repeat_after:
                    times = times_words(bars[index].repeat_after, self.language)
                    found.append((start, 0, self.said("again", times=times), index))
                    start = index + 1
            if under is not None:
                found.append((stretch[0], 2, ordinal_words(under, self.language), stretch[-1]))
                start = stretch[-1] + 1
        for order, rows in groupby(sorted(found, key=lambda each: each[:2]), key=lambda each: each[1]):
            every = [(words, (bars[first].number, bars[last].number)) for first, _, words, last in rows]
            if order == 2:
                numbers = ", ".join(number for number, _ in every)
                every_bars = bars_words([span for _, span in every], self.language)
                yield Row(self.said("ending" if len(every) == 1 else "endings", number=numbers), every_bars)
            else:
                yield from (Row(words, bars_words([span], self.language)) for words, span in every)

    def _hard(self) -> Iterator[Row]:
        """Yield the bars with the most to read in a beat, each by itself and in order."""
        resolution = self.report.score.resolution
        density = [
            count.to_read * bar.beat_ticks(resolution) / max(1, bar.ticks) for count, bar in zip(self.counts(), self.bars, strict=True)
        ]
        most = sorted(range(len(density)), key=lambda index: (-density[index], index))[:MOST_HARD]
        hard = [self.bars[index].number for index in sorted(most) if density[index] > sum(density) / len(density)]
        if hard:
            yield Row(self.said("hard"), bars_words([(number, number) for number in hard], self.language))

    def extremes(self) -> tuple[Extreme, ...]:
        """Return the lowest and the highest note of each hand, where each is met first."""
        found = []
        by_name = {part.id: part for part in self.parts}
        for hand, notes in self.by_hand.items():
            for pick in (min, max) if notes else ():
                goal = pick(note.pitch.semitone for note in notes)
                note = next(note for note in sorted(notes, key=_place) if note.pitch.semitone == goal)
                part = by_name[note.part]
                clef = part.clef_at(note.staff, note.tick, TREBLE if hand == "right" else BASS)
                found.append(Extreme(hand, note.pitch, clef, part.octaves_at(note.staff, note.tick), part.bars[note.bar].number))
        return tuple(found)

    def counts(self) -> tuple[BarCount, ...]:
        """Return how many notes are struck in each bar, and how many of them must be read."""
        struck, grey = [0] * len(self.bars), [0] * len(self.bars)
        for note in self.notes:
            if note.bar < len(self.bars):
                struck[note.bar] += 1
                grey[note.bar] += note.number in self.report.grey_numbers
        return tuple(BarCount(bar.number, struck[bar.index], struck[bar.index] - grey[bar.index]) for bar in self.bars)


def _place(note: Note) -> tuple[int, int]:
    return note.tick, note.number


def _metronome(beat: Fraction, per_minute: str) -> str:
    """Return a metronome mark as text; nothing where its note has no character."""
    note = NOTES.get(beat) or NOTES.get(beat * Fraction(2, 3))
    return f"{chr(note)}{'' if beat in NOTES else DOT} = {per_minute}" if note else ""


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
