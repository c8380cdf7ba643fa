"""Lines of random pitches that are no figure, and the small MusicXML scores they are written into.

Conventions
-----------
* Time is counted in sixteenths from the first bar. A *stroke* is what a hand strikes at one moment; it sounds for ``sounds`` sixteenths.
* A tone is a diatonic number (C4 = 28) and an alteration. Its ``role`` says what is expected of it: it ``must`` be grey, is ``new`` (must
  be dark), or is ``free`` (a model, an anchor, material between).
* A walk leaps about so that no named figure comes of it: no two moves and no pair of tones twice within forty strokes, no tone again
  within four, no two steps in a row, no four strokes in a row out of one triad or seventh chord. Where it is stuck it raises ``Stuck``,
  and its user begins anew.
* Chords and scales: common practice, from memory. No detector is imported here: this is what judges them.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from itertools import pairwise

from generated.pitches import CHORDS, semitone

from annotator.music.score import key_of

RANGES = {"right": (28, 46), "left": (12, 30)}
"""From C4 to G6, from A1 to E4: where the hands walk."""

TYPES = {1: "16th", 2: "eighth", 3: "eighth", 4: "quarter", 6: "quarter", 8: "half", 12: "half", 16: "whole"}
DOTTED = (3, 6, 12)
TRIES = 20

MEMORY = 40
"""How many strokes back a walk knows where it has been; groups directly before have 24 at most."""


class Stuck(Exception):
    """No tone is left to go to, or what came out by chance is a figure that was not meant."""


@dataclass(frozen=True)
class Tone:
    """One note of a stroke."""

    diatonic: int
    alter: int
    role: str = "free"

    @property
    def pitch(self) -> int:
        """The key, in semitones."""
        return semitone((self.diatonic, self.alter))


@dataclass(frozen=True)
class Stroke:
    """Tones from low to high, struck ``at`` a moment and sounding for a while, the next stroke ``step`` later."""

    at: int
    sounds: int
    step: int
    tones: tuple[Tone, ...]

    def moved(self, at: int, letters: int = 0, alters: Sequence[int] | None = None, role: str = "must") -> Stroke:
        """Return the stroke at another moment, so many letters higher, with other alterations."""
        new = alters if alters is not None else [tone.alter for tone in self.tones]
        tones = tuple(Tone(tone.diatonic + letters, alter, role) for tone, alter in zip(self.tones, new, strict=True))
        return replace(self, at=at, tones=tones)


@dataclass
class Hand:
    """What one hand plays, or a second ``voice`` of it, written from left to right.

    ``altered`` is how often a tone of a walk leaves the key.
    """

    chance: random.Random
    name: str
    fifths: int
    bar: int
    altered: float = 0.0
    voice: int = 1
    strokes: list[Stroke] = field(default_factory=list)
    now: int = 0
    lowest: int = 0
    highest: int = 0

    def __post_init__(self) -> None:
        self.lowest, self.highest = RANGES[self.name]

    def rest(self, length: int) -> None:
        """Let some sixteenths pass."""
        self.now += length

    def walk(self, rhythm: Sequence[tuple[int, int]], sizes: Sequence[int] = (1,), role: str = "free") -> list[Stroke]:
        """Play new strokes, one for each (step, sounds) of a rhythm, of so many tones (by lot among ``sizes``); return them."""
        start, at = len(self.strokes), self.now
        for _ in range(TRIES):
            try:
                for step, sounds in rhythm:
                    self.add(Stroke(self.now, sounds, step, self._tones(self.chance.choice(sizes), role)))
                return self.strokes[start:]
            except Stuck:
                del self.strokes[start:]
                self.now = at
        raise Stuck

    def fill(self, length: int) -> None:
        """Play new strokes for so many sixteenths."""
        while length > 0:
            self.walk(parts(self.chance, min(length, self.bar)))
            length -= self.bar

    def fill_bar(self) -> None:
        """Play new strokes to the next bar line."""
        self.fill(-self.now % self.bar)

    def add(self, stroke: Stroke) -> Stroke:
        """Play a stroke now."""
        assert stroke.at == self.now
        self.strokes.append(stroke)
        self.now += stroke.step
        return stroke

    def copy(self, model: Sequence[Stroke], letters: int = 0, role: str = "must") -> list[Stroke]:
        """Play strokes once more, so many letters higher with their alterations as they are (so: by octaves, or not moved)."""
        return [self.add(stroke.moved(self.now, letters, role=role)) for stroke in model]

    def make_odd(self, at: int, added: bool) -> None:
        """Put another tone, not a neighbour and near, in the place of stroke number ``at``, or add it to the stroke."""
        key, stroke = key_of(self.fifths).alters, self.strokes[at]
        choice = [stroke.tones[-1].diatonic + by for by in (-5, -4, -3, -2, 2, 3, 4, 5)]
        near = {tone.diatonic for one in self.strokes[max(0, at - 2) : at + 3] for tone in one.tones}
        for letter in self.chance.sample(choice, len(choice)):
            kept = tuple(replace(tone, role="new") for tone in stroke.tones) if added else ()
            tones = sorted((*kept, Tone(letter, key[letter % 7], "new")), key=lambda tone: tone.pitch)
            self.strokes[at] = replace(stroke, tones=tuple(tones))
            if letter not in near and not any(named(self.strokes[: place + 1][-4:]) for place in range(at, min(at + 4, len(self.strokes)))):
                return
        raise Stuck

    def _tones(self, size: int, role: str) -> tuple[Tone, ...]:
        """Return the next tone of the walk, with others under it or over it where a stroke has several."""
        line = [stroke.tones[-1] for stroke in self.strokes]
        choice = [letter for letter in range(self.lowest, self.highest + 1) if self._goes_on(line, letter)]
        self.chance.shuffle(choice)
        for letter in choice:
            top = self._toned(letter, role)
            below = self.chance.sample([2, 3, 4, 6, 8], size - 1)
            tones = (*sorted((self._toned(letter - by, role) for by in below), key=lambda tone: tone.pitch), top)
            if not named([*self.strokes[-3:], Stroke(0, 1, 1, tones)]) and len({tone.pitch for tone in tones}) == size:
                return tones
        raise Stuck

    def _toned(self, letter: int, role: str) -> Tone:
        alter = key_of(self.fifths).alters[letter % 7]
        if self.chance.random() < self.altered:
            alter += self.chance.choice([by for by in (-1, 1) if abs(alter + by) <= 1])
        return Tone(letter, alter, role)

    def _goes_on(self, line: Sequence[Tone], letter: int) -> bool:
        """Whether a walk may go to a letter."""
        if not line:
            return True
        way = [tone.diatonic for tone in line[-MEMORY:]] + [letter]
        moves = [b - a for a, b in pairwise(way)]
        move = moves[-1]
        if move in (0, 7, -7) or abs(move) > 9 or letter in way[-5:-1]:
            return False
        if len(moves) > 1 and (abs(moves[-2]) == abs(move) or abs(moves[-2]) + abs(move) == 2):
            return False
        if len(moves) > 2 and len({one > 0 for one in moves[-3:]}) == 1:
            return False
        pairs = {frozenset(pair) for pair in pairwise(way[:-1])}
        turns = {pair for a, b in pairwise(moves[:-1]) for pair in ((a, b), (-b, -a))}
        return frozenset(way[-2:]) not in pairs and tuple(moves[-2:]) not in turns


def parts(chance: random.Random, length: int) -> list[tuple[int, int]]:
    """Return a rhythm of so many sixteenths in values of one to four, no rests."""
    values = []
    while length:
        value = min(length, chance.choice((1, 2, 2, 3, 4)))
        values.append((value, value))
        length -= value
    return values


def even(count: int, value: int) -> list[tuple[int, int]]:
    """Return a rhythm of equal values."""
    return [(value, value)] * count


def mixed(chance: random.Random, count: int, rests: bool = False) -> list[tuple[int, int]]:
    """Return a rhythm of several values, with rests after some of its strokes."""
    values = [(value, value) for value in chance.choices((1, 2, 3), (3, 3, 1), k=count)]
    if rests:
        for place in chance.sample(range(count), max(1, count // 4)):
            step, sounds = values[place]
            values[place] = (step + chance.choice((1, 2)), sounds)
    return values


@cache
def _chords() -> tuple[frozenset[int], ...]:
    """Return the pitch classes of all triads and seventh chords."""
    return tuple(frozenset((root + size) % 12 for size in sizes) for sizes in CHORDS.values() for root in range(12))


def named(strokes: Sequence[Stroke]) -> bool:
    """Whether the last strokes are of one chord: four single notes, or two strokes of which one has several tones, or two dyads alike."""
    for count in (2, 3, 4):
        last = strokes[-count:]
        tones = [tone.pitch % 12 for stroke in last for tone in stroke.tones]
        if len(last) == count and len(tones) >= 4 and any(set(tones) <= chord for chord in _chords()):
            return True
    widths = [tuple(tone.diatonic - stroke.tones[0].diatonic for tone in stroke.tones[1:]) for stroke in strokes[-2:]]
    return len(widths) == 2 and len(widths[0]) > 0 and widths[0] == widths[1]


def check(strokes: Sequence[Stroke]) -> None:
    """Raise ``Stuck`` where a hand has by chance a named figure: a chord broken, or five notes of a scale."""
    if any(named(strokes[: place + 1]) for place in range(len(strokes))):
        raise Stuck
    way = [stroke.tones[-1].diatonic for stroke in strokes]
    for place in range(len(way) - 3):
        if len({b - a for a, b in zip(way[place : place + 4], way[place + 1 : place + 4], strict=False)} - {-1, 1}) == 0:
            raise Stuck


def musicxml(hands: Sequence[Hand]) -> tuple[str, dict[str, str]]:
    """Return a piano score of two staves, and the role of each struck note by its id."""
    fifths, bar = hands[0].fifths, hands[0].bar
    count = max(-(-max((stroke.at + stroke.sounds for stroke in hand.strokes), default=1) // bar) for hand in hands)
    roles: dict[str, str] = {}
    voices = [_voice(hand, count * bar, roles) for hand in hands]
    measures = []
    for number in range(count):
        head = "" if number else _attributes(fifths, bar)
        body = f"<backup><duration>{bar}</duration></backup>".join("".join(voice[number]) for voice in voices)
        measures.append(f'<measure number="{number + 1}">{head}{body}</measure>')
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name>'
        f'</score-part></part-list><part id="P1">{chr(10).join(measures)}</part></score-partwise>\n',
        roles,
    )


def _attributes(fifths: int, bar: int) -> str:
    clefs = "".join(f'<clef number="{n}"><sign>{sign}</sign><line>{line}</line></clef>' for n, sign, line in ((1, "G", 2), (2, "F", 4)))
    return (
        f"<attributes><divisions>4</divisions><key><fifths>{fifths}</fifths></key><time><beats>{bar // 4}</beats><beat-type>4</beat-type>"
        f"</time><staves>2</staves>{clefs}</attributes>"
    )


def _voice(hand: Hand, end: int, roles: dict[str, str]) -> list[list[str]]:
    """Return the notes of a hand as elements, bar by bar, rests between them, and note down the role of each."""
    staff = 1 if hand.name == "right" else 2
    place_of = (staff, 4 * staff - 4 + hand.voice)
    bars: list[list[str]] = [[] for _ in range(end // hand.bar)]
    now = 0
    for number, stroke in enumerate(hand.strokes, 1):
        for at, length in _pieces(now, stroke.at, hand.bar):
            bars[at // hand.bar].append(_element("<rest/>", length, place_of))
        pieces = _pieces(stroke.at, stroke.at + stroke.sounds, hand.bar)
        for place, (at, length) in enumerate(pieces):
            for rank, tone in enumerate(stroke.tones):
                name = f"{hand.name[0]}{hand.voice}-{number}-{rank}" + (f"-{place}" if place else "")
                if not place:
                    roles[name] = tone.role
                ties = ["stop"] * (place > 0) + ["start"] * (place < len(pieces) - 1)
                bars[at // hand.bar].append(_note(tone, rank > 0, length, place_of, name, ties))
        now = stroke.at + stroke.sounds
    for at, length in _pieces(now, end, hand.bar):
        bars[at // hand.bar].append(_element("<rest/>", length, place_of))
    return bars


def _pieces(start: int, stop: int, bar: int) -> list[tuple[int, int]]:
    """Return a stretch of time cut at bar lines, in values that one note can have."""
    pieces = []
    while start < stop:
        room = min(stop - start, bar - start % bar)
        value = max(value for value in TYPES if value <= room)
        pieces.append((start, value))
        start += value
    return pieces


def _note(tone: Tone, chord: bool, length: int, place: tuple[int, int], name: str, ties: Sequence[str]) -> str:
    alter = f"<alter>{tone.alter}</alter>" if tone.alter else ""
    pitch = f"<pitch><step>{'CDEFGAB'[tone.diatonic % 7]}</step>{alter}<octave>{tone.diatonic // 7}</octave></pitch>"
    tied = "".join(f'<tie type="{tie}"/>' for tie in ties)
    shown = f"<notations>{''.join(f'<tied type={chr(34)}{tie}{chr(34)}/>' for tie in ties)}</notations>" if ties else ""
    return _element(f"{'<chord/>' * chord}{pitch}", length, place, name, tied, shown)


def _element(what: str, length: int, place: tuple[int, int], name: str = "", tied: str = "", shown: str = "") -> str:
    said = f' id="{name}"' if name else ""
    dot = "<dot/>" if length in DOTTED else ""
    return (
        f"<note{said}>{what}<duration>{length}</duration>{tied}<voice>{place[1]}</voice><type>{TYPES[length]}</type>{dot}"
        f"<staff>{place[0]}</staff>{shown}</note>"
    )
