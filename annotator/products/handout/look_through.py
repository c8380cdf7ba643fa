"""The look-through page: head, columns of facts to tick off, and the chart of bars below them. It is one side of paper, always.

Conventions
-----------
* A section has rows of *what* and *where*. What a player asks first comes first: time, key, scales and chords, both hands; then each hand
  by itself; then what comes again, accidentals, the way through the piece and its hardest bars. At which tempo to begin is for the teacher
  to write. A section with nothing to tell is left out, but for accidentals and repeats, where "none" is worth knowing.
* Where there is too much to tell, the tallest section tells a row less (``…`` stands for the rest), and so on; sections of two rows come
  last, and in the end the chart is left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import groupby

from annotator.music.names import Scale, name_of
from annotator.pages.paper import Paper
from annotator.products.handout.blocks import GAP, MORE, Block, Chart, Compass, Row, Section, draw_all, flow, frame_of
from annotator.products.handout.facts import Accompaniment, Found, LookThrough, Road, Spans, Stretch, Tempo
from annotator.products.handout.sheet import SIDE, Heading, Sheet
from annotator.words.labels import kind_name
from annotator.words.phrases import (
    bars_words,
    chord_symbol,
    interval_name,
    key_words,
    line_words,
    note_name,
    ordinal_words,
    phrase,
    scale_names,
    signature_words,
    times_words,
    title_words,
)

COLUMN = 9000.0
"""About how wide a column of text is."""

MOST_CHORDS = 8
MOST_ROWS = 9
"""How many rows a section has, ``…`` among them."""

BLANK = " " + "_" * 12
DOT = chr(0xE1E7)
NOTES = {Fraction(4): 0xE1D2, Fraction(2): 0xE1D3, Fraction(1): 0xE1D5, Fraction(1, 2): 0xE1D7, Fraction(1, 4): 0xE1D9}
"""The note of a metronome mark by its length in quarters (SMuFL)."""


def look_through_page(facts: LookThrough, heading: Heading, paper: Paper) -> Sheet:
    """Return the page without its foot; its free room is what is left on it."""
    language = heading.language
    page = Sheet(paper)
    page.head(heading)
    page.heading(title_words("look-through", language))
    notes, to_read = sum(each.notes for each in facts.counts), sum(each.to_read for each in facts.counts)
    count = phrase("headings", "count", language, notes=notes, to_read=to_read)
    chart = Chart(title_words("chart", language), count, facts.counts, language)
    columns = max(1, round(page.room / COLUMN))
    below = 1.3 * GAP + chart.height(page.room)
    blocks = sections(facts, language)
    frame = frame_of(page, columns, below)
    while len(placed := flow(blocks, frame)) < len(blocks):
        shorter = _shortened(blocks, frame.width)
        if shorter is None and not below:
            break
        blocks, below = (blocks, 0.0) if shorter is None else (shorter, below)
        frame = frame_of(page, columns, below)
    draw_all(placed, page, frame.width)
    if below:
        chart.draw(page, SIDE, page.top + 1.3 * GAP, page.room)
    page.top += below + 2 * GAP
    return page


def _shortened(blocks: Sequence[Block], width: float) -> list[Block] | None:
    """Return the blocks with a row less in the tallest section that can spare one; None where each has one row."""
    for fewest in (3, 2):
        able = [block for block in blocks if isinstance(block, Section) and block.told >= fewest]
        if able:
            tallest = max(able, key=lambda block: block.height(width))
            return [tallest.shorter() if block is tallest else block for block in blocks]
    return None


def sections(facts: LookThrough, language: str) -> list[Block]:
    """Return the blocks of the page, but for the chart, in their order."""
    words = _Words(language)
    told: list[tuple[str, Iterable[Row]]] = [
        ("time", [*words.times(facts), *words.tempos(facts.tempos), Row(words.line("begin") + BLANK)]),
        ("key", words.keys(facts)),
        ("scales", (Row(words.scale(each), words.bars(each.bars)) for each in facts.scales)),
        ("chords", (words.accompaniment(each) for each in facts.accompaniments)),
        ("together", words.kinds(facts.together)),
        ("compass", []),
        ("moves", (words.hand(str(each.what), each.times, each.bars) for each in facts.moves)),
        ("stretch", (words.stretch(each) for each in facts.stretches)),
        ("copies", words.kinds(facts.copies)),
        ("others", words.kinds(facts.others)),
        ("signs", [*words.accidentals(facts.accidentals)] or [Row(words.line("none"))]),
        ("course", [*words.roads(facts.roads)] or [Row(words.line("straight"))]),
        ("hard", [Row(words.line("hard"), words.bars(facts.hard))] if facts.hard else []),
    ]
    blocks: list[Block] = []
    for key, given in told:
        rows = tuple(given)
        if key == "compass" and facts.extremes:
            blocks.append(Compass(title_words(key, language), facts.extremes, language))
        elif rows:
            shown = rows if len(rows) <= MOST_ROWS else (*rows[: MOST_ROWS - 1], MORE)
            blocks.append(Section(title_words(key, language), shown))
    return blocks


class _Words:
    """The facts as rows, in one language."""

    def __init__(self, language: str) -> None:
        self.language = language

    def line(self, key: str, **places: object) -> str:
        """Return a short line with its places filled."""
        return line_words(key, self.language, **places)

    def bars(self, spans: Spans) -> str:
        """Return bars in words, nothing for none."""
        return bars_words(spans, self.language) if spans else ""

    def since(self, bar: str) -> str:
        """Return from which bar something holds, nothing for the beginning."""
        return self.line("from", bar=bar) if bar else ""

    def times(self, facts: LookThrough) -> Iterator[Row]:
        """Yield the time signatures."""
        for number, (time, bar) in enumerate(facts.times):
            text = self.line("free-time") if time is None else f"{'+'.join(map(str, time.beats))}/{time.beat_type}"
            yield Row(text, self.since(bar if number else ""))

    def tempos(self, tempos: Sequence[Tempo]) -> Iterator[Row]:
        """Yield the tempi as printed."""
        for tempo in tempos:
            beat = tempo.beat or Fraction(0)
            note = NOTES.get(beat) or NOTES.get(beat * Fraction(2, 3))
            mark = f"{chr(note)}{'' if beat in NOTES else DOT} = {tempo.per_minute}" if note else ""
            text = " ".join(filter(None, (tempo.words, mark)))
            if text:
                yield Row(text, self.since(tempo.bar))

    def keys(self, facts: LookThrough) -> Iterator[Row]:
        """Yield the key of the piece, its signatures, and the keys that the music goes to."""
        if facts.home is not None:
            yield Row(self.key(facts.home))
        for number, (key, bar) in enumerate(facts.signatures):
            yield Row(signature_words(key, self.language), self.since(bar if number else ""))
        yield from (Row(self.key(each.what), self.bars(each.bars)) for each in facts.keys)

    def key(self, scale: Scale | str) -> str:
        """Name a key as one speaks of it: A minor, whatever its scale."""
        assert isinstance(scale, Scale) and scale.tonic is not None
        return key_words(scale.tonic, scale.type != "major", self.language)

    def scale(self, found: Found) -> str:
        """Return the name of a scale."""
        return scale_names(found.what, self.language)[0] if isinstance(found.what, Scale) else found.what

    def accompaniment(self, found: Accompaniment) -> Row:
        """Return a chord figure with its chords."""
        names = list(dict.fromkeys(chord_symbol(chord, self.language) for chord in found.chords))
        more = ", ".join(names[:MOST_CHORDS]) + (" …" if len(names) > MOST_CHORDS else "")
        kind = f"{kind_name(found.kind, self.language)}, {title_words(found.hand, self.language)}"
        return Row(self.line("told", what=kind, more=more), self.bars(found.bars))

    def kinds(self, found: Sequence[Found]) -> Iterator[Row]:
        """Yield kinds of figures."""
        return (Row(kind_name(str(each.what), self.language), self.bars(each.bars)) for each in found)

    def hand(self, hand: str, told: str | int, bars: Spans) -> Row:
        """Return what is said of a hand: some words, or how many times it moves."""
        more = told if isinstance(told, str) else times_words(told, self.language) if told else self.line("stays")
        return Row(self.line("told", what=title_words(hand, self.language), more=more), self.bars(bars))

    def stretch(self, stretch: Stretch) -> Row:
        """Return the widest grip of a hand."""
        names = "–".join(note_name(name_of(pitch), self.language) for pitch in (stretch.low, stretch.high))
        wide = interval_name(stretch.high.diatonic - stretch.low.diatonic, self.language)
        return self.hand(stretch.hand, f"{wide}, {names}", ((stretch.bar, stretch.bar),))

    def accidentals(self, found: Sequence[Found]) -> Iterator[Row]:
        """Yield the notes outside the key signature."""
        for each in found:
            natural = " ♮" if len(str(each.what)) == 1 else ""
            yield Row(note_name(str(each.what), self.language) + natural, self.bars(each.bars))

    def roads(self, roads: Sequence[Road]) -> Iterator[Row]:
        """Yield a row a sign; endings that follow each other share one."""
        for endings, group in groupby(roads, key=lambda road: road.sign == "ending"):
            every = list(group)
            if endings:
                numbers = ", ".join(ordinal_words(road.words, self.language) for road in every)
                yield Row(self.line("ending" if len(every) == 1 else "endings", number=numbers), self.bars(tuple(r.bars for r in every)))
            else:
                yield from (Row(self.road(road), self.bars((road.bars,))) for road in every)

    def road(self, road: Road) -> str:
        """Return a repeat or a jump in words."""
        if road.sign == "again":
            return self.line("again", times=times_words(road.times, self.language))
        return road.words if road.sign == "jump" else self.line(road.sign)
