"""The facts of a piece in words: the sections of the look-through page.

Conventions: a section comes with rows of *what* and *where*. What a player asks first comes first: time, key, scales and chords, both
hands; then each hand by itself; then what comes again, accidentals, the way through the piece and its hardest bars. At which tempo to begin
is for the teacher to write. A section with nothing to tell is left out, but for
accidentals and repeats, where "none" is worth knowing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby

from annotator.music.names import Chord, Scale, name_of
from annotator.products.handout.blocks import MORE, Block, Row, Section
from annotator.products.handout.compass import Compass
from annotator.products.handout.facts import Accidental, Accompaniment, Found, LookThrough, Moves, Road, Stretch, Tempo, TimeChange
from annotator.words import chord_name, kind_name, note_name, scale_name
from annotator.words.handout import bars_words, interval_words, line_words, ordinal_words, signature_words, times_words, title_words

MOST_CHORDS = 8
BLANK = " " + "_" * 12
DOT = chr(0xE1E7)
NOTES = {
    Fraction(4): chr(0xE1D2),
    Fraction(2): chr(0xE1D3),
    Fraction(1): chr(0xE1D5),
    Fraction(1, 2): chr(0xE1D7),
    Fraction(1, 4): chr(0xE1D9),
}
"""The note of a metronome mark by its length in quarters (SMuFL)."""


MOST_ROWS = 9
"""How many rows a section has, ``…`` among them."""


def sections(facts: LookThrough, language: str) -> list[Block]:
    """Return the blocks of the look-through page, but for the chart, in their order."""
    told: list[tuple[str, Sequence[Row]]] = [
        ("time", [*_times(facts.times, language), *_tempos(facts.tempos, language), Row(line_words("begin", language) + BLANK)]),
        ("key", [*_home(facts, language), *_signatures(facts, language), *(_key(each, language) for each in facts.keys)]),
        ("scales", [Row(_scale(each.what, language), bars_words(each.bars, language)) for each in facts.scales]),
        ("chords", [_accompaniment(each, language) for each in facts.accompaniments]),
        ("together", [_kind(each, language) for each in facts.together]),
        ("compass", []),
        ("moves", [_moves(each, language) for each in facts.moves]),
        ("stretch", [_stretch(each, language) for each in facts.stretches]),
        ("copies", [_kind(each, language) for each in facts.copies]),
        ("others", [_kind(each, language) for each in facts.others]),
        ("signs", [_accidental(each, language) for each in facts.accidentals] or [Row(line_words("none", language))]),
        ("course", [*_roads(facts.roads, language)] or [Row(line_words("straight", language))]),
        ("hard", [Row(line_words("hard", language), bars_words(facts.hard, language))] if facts.hard else []),
    ]
    blocks: list[Block] = []
    for key, rows in told:
        if key == "compass" and facts.extremes:
            blocks.append(Compass(title_words(key, language), facts.extremes, language))
        elif rows:
            blocks.append(Section(title_words(key, language), _capped(rows)))
    return blocks


def _capped(rows: Sequence[Row]) -> tuple[Row, ...]:
    return tuple(rows) if len(rows) <= MOST_ROWS else (*rows[: MOST_ROWS - 1], MORE)


def _since(bar: str, first: bool, language: str) -> str:
    return "" if first else line_words("from", language, bar=bar)


def _times(changes: Sequence[TimeChange], language: str) -> Iterator[Row]:
    for number, change in enumerate(changes):
        time = change.time
        text = line_words("free-time", language) if time is None else f"{'+'.join(map(str, time.beats))}/{time.beat_type}"
        yield Row(text, _since(change.bar, number == 0, language))


def _tempos(tempos: Sequence[Tempo], language: str) -> Iterator[Row]:
    for tempo in tempos:
        text = " ".join(filter(None, (tempo.words, _metronome(tempo))))
        if text:
            yield Row(text, _since(tempo.bar, not tempo.bar, language))


def _metronome(tempo: Tempo) -> str:
    beat = tempo.beat or Fraction(0)
    note = NOTES.get(beat) or NOTES.get(beat * Fraction(2, 3))
    return f"{note}{'' if beat in NOTES else DOT} = {tempo.per_minute}" if note else ""


def _home(facts: LookThrough, language: str) -> Iterator[Row]:
    if facts.home is not None:
        yield Row(_key_name(facts.home, language))


def _signatures(facts: LookThrough, language: str) -> Iterator[Row]:
    for number, signature in enumerate(facts.signatures):
        yield Row(signature_words(signature.key, language), _since(signature.bar, number == 0, language))


def _key(found: Found, language: str) -> Row:
    assert isinstance(found.what, Scale)
    return Row(_key_name(found.what, language), bars_words(found.bars, language))


def _key_name(scale: Scale, language: str) -> str:
    """Name a key as one speaks of it: A minor, whatever its scale."""
    assert scale.tonic is not None
    quality = "major" if scale.type == "major" else "minor"
    return chord_name(Chord(scale.tonic, quality, 0, scale.tonic), language, short=False)


def _scale(what: Scale | str, language: str) -> str:
    return scale_name(what, language) if isinstance(what, Scale) else what


def _accompaniment(found: Accompaniment, language: str) -> Row:
    names = list(dict.fromkeys(chord_name(chord, language) for chord in found.chords))
    more = " …" if len(names) > MOST_CHORDS else ""
    kind = f"{kind_name(found.kind, language)}, {title_words(found.hand, language)}"
    return Row(line_words("told", language, what=kind, more=", ".join(names[:MOST_CHORDS]) + more), bars_words(found.bars, language))


def _kind(found: Found, language: str) -> Row:
    return Row(kind_name(str(found.what), language), bars_words(found.bars, language))


def _moves(moves: Moves, language: str) -> Row:
    hand = title_words(moves.hand, language)
    if not moves.times:
        return Row(line_words("told", language, what=hand, more=line_words("stays", language)))
    return Row(line_words("told", language, what=hand, more=times_words(moves.times, language)), bars_words(moves.bars, language))


def _stretch(stretch: Stretch, language: str) -> Row:
    letters = stretch.high.diatonic - stretch.low.diatonic
    names = "–".join(note_name(name_of(pitch), language) for pitch in (stretch.low, stretch.high))
    more = f"{interval_words(letters, language)}, {names}"
    text = line_words("told", language, what=title_words(stretch.hand, language), more=more)
    return Row(text, _bar(stretch.bar, language))


def _accidental(found: Accidental, language: str) -> Row:
    natural = " ♮" if len(found.name) == 1 else ""
    return Row(note_name(found.name, language) + natural, bars_words(found.bars, language))


def _roads(roads: Sequence[Road], language: str) -> Iterator[Row]:
    """Yield a row a sign; endings that follow each other share one."""
    for endings, group in groupby(roads, key=lambda road: road.sign == "ending"):
        if endings:
            every = list(group)
            key = "ending" if len(every) == 1 else "endings"
            bars = bars_words([road.bars for road in every], language)
            numbers = ", ".join(ordinal_words(road.words, language) for road in every)
            yield Row(line_words(key, language, number=numbers), bars)
        else:
            yield from (Row(_road(road, language), bars_words((road.bars,), language)) for road in group)


def _road(road: Road, language: str) -> str:
    if road.sign == "again":
        return line_words("again", language, times=times_words(road.times, language))
    return road.words if road.sign == "jump" else line_words(road.sign, language)


def _bar(number: str, language: str) -> str:
    return bars_words(((number, number),), language)
