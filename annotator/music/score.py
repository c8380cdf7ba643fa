"""The score as data: what reading produces and every later stage looks at.

Conventions
-----------
* Time is counted from the start of the part. ``onset`` and ``duration`` are quarter notes as ``Fraction``; ``tick`` and ``ticks``
  are the same times as whole numbers of ``1 / Score.resolution`` quarter notes, which compare and hash fast. Both are exact.
* Pitch is what is written in ``<pitch>`` (the key to strike; an ottava line is already in it, a part's transposition is not).
* Grace notes last no time: ``duration`` is 0 and their onset is that of the note they lean on.
* Everything is frozen. ``Note.element`` is an opaque reference to the ``<note>`` of the document; only reading and writing touch it.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Any, NamedTuple, TypeVar

STEPS = "CDEFGAB"
SEMITONES = (0, 2, 4, 5, 7, 9, 11)  # of the letters C..B above C
FIFTHS = (0, 2, 4, -1, 1, 3, 5)  # of the letters C..B from C, on the line of fifths
SIGNATURE_ORDER = "FCGDAEB"  # the order in which sharps enter a key signature, by fifths; flats enter in reverse


@dataclass(frozen=True, slots=True)
class Pitch:
    """A written pitch: letter, alteration in semitones, octave (middle C is in octave 4).

    ``diatonic`` counts letters (C0 = 0, one octave = 7), ``semitone`` counts keys as MIDI does (middle C = 60), ``fifths`` is the place
    of its name on the line of fifths (F -1, C 0, G 1 … F♯ 6). A quarter tone has a ``Fraction`` as ``alter`` and ``semitone``.

    >>> Pitch("C", 0, 4).semitone, Pitch("B", -1, 3).semitone, Pitch("B", -1, 3).diatonic
    (60, 58, 27)
    """

    step: str
    alter: int | Fraction
    octave: int
    diatonic: int = field(init=False, compare=False, repr=False)
    semitone: int | Fraction = field(init=False, compare=False, repr=False)
    fifths: int = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        letter = STEPS.index(self.step)
        object.__setattr__(self, "diatonic", 7 * self.octave + letter)
        object.__setattr__(self, "semitone", 12 * (self.octave + 1) + SEMITONES[letter] + self.alter)
        object.__setattr__(self, "fifths", FIFTHS[letter] + 7 * int(self.alter))


@lru_cache(maxsize=4096)
def pitch_of(step: str, alter: int | Fraction, octave: int) -> Pitch:
    """Return the one shared ``Pitch`` of these values."""
    return Pitch(step, alter, octave)


@lru_cache(maxsize=4096)
def pitch_at(diatonic: int, alter: int = 0) -> Pitch:
    """Return the pitch on a diatonic number (C0 = 0) with an alteration.

    >>> pitch_at(28), pitch_at(34, -1)
    (Pitch(step='C', alter=0, octave=4), Pitch(step='B', alter=-1, octave=4))
    """
    return pitch_of(STEPS[diatonic % 7], alter, diatonic // 7)


@dataclass(frozen=True, slots=True)
class Key:
    """A key signature: ``fifths`` (sharps positive), the source's mode word or None, and the alteration of each letter C..B.

    >>> key_of(-2, "minor")
    Key(fifths=-2, mode='minor', alters=(0, 0, -1, 0, 0, 0, -1))
    """

    fifths: int
    mode: str | None
    alters: tuple[int, ...]


@lru_cache(maxsize=256)
def key_of(fifths: int, mode: str | None = None) -> Key:
    """Return the key signature with that many sharps (or flats, negative); beyond seven it goes on into double signs."""
    alters = [0] * 7
    for count in range(abs(fifths)):
        letter = SIGNATURE_ORDER[count % 7] if fifths > 0 else SIGNATURE_ORDER[-1 - count % 7]
        alters[STEPS.index(letter)] += 1 if fifths > 0 else -1
    return Key(fifths, mode, tuple(alters))


@dataclass(frozen=True, slots=True)
class Time:
    """A time signature: the upper numbers in the order they stand (3+2 gives two) and the lower; see ``annotator.read``."""

    beats: tuple[int, ...]
    beat_type: int

    @property
    def quarters(self) -> Fraction:
        """Length of a full bar in quarter notes."""
        return Fraction(4 * sum(self.beats), self.beat_type)


class Sign(NamedTuple):
    """An accidental that took effect: from just after ``tick`` to the end of its bar, on one staff, for one letter and octave."""

    tick: int
    staff: int
    step: str
    octave: int
    alter: int | Fraction


class Clef(NamedTuple):
    """A clef as printed: its ``sign`` (G, F, C), the staff ``line`` it stands on from below, and the octaves it shifts what is written.

    ``lowest`` is the diatonic number of the staff's lowest line. A staff has five lines, the sign names one of them: G4, F3 or C4 (any
    primer of notation).

    >>> Clef("G", 2).lowest, Clef("F", 4).lowest, Clef("C", 3).lowest, Clef("G", 2, -1).lowest
    (30, 18, 24, 23)
    """

    sign: str
    line: int
    octaves: int = 0

    @property
    def lowest(self) -> int:
        """The diatonic number (C0 = 0) of the lowest line."""
        return CLEF_LINES[self.sign] - 2 * (self.line - 1) + 7 * self.octaves


CLEF_LINES = {"G": 32, "F": 24, "C": 28}  # the diatonic number (C0 = 0) on the line that each sign names
TREBLE, BASS = Clef("G", 2), Clef("F", 4)


class ClefChange(NamedTuple):
    """A clef and where it comes into force: staff, index of the bar it is written in, tick.

    A staff's first clef is one too; one that only repeats the clef in force is none.
    """

    staff: int
    bar: int
    tick: int
    clef: Clef


class OctaveLine(NamedTuple):
    """An octave line (8va, 15mb): its staff, the index of the bar it begins in, and from which tick to which (not included) it holds.

    ``octaves`` is by how many the notes sound higher than the page shows them, negative: lower.
    """

    staff: int
    bar: int
    tick: int
    until: int
    octaves: int


class Tempo(NamedTuple):
    """A tempo as printed, and as a player program is told it: bar index, tick, staff.

    ``words`` are its words, empty where there are none; ``beat`` is the counted note of a metronome mark in quarter notes, None without a
    visible mark, ``per_minute`` the text beside it. ``speed`` is the tempo to play in quarter notes a minute, None where the source names
    none.
    """

    bar: int
    tick: int
    staff: int
    words: str
    beat: Fraction | None = None
    per_minute: str = ""
    speed: Fraction | None = None


class Jump(NamedTuple):
    """A word or sign of the way through a piece: bar index, tick, ``sign``, and the words as printed.

    ``sign`` is ``jump`` (D.C. al Fine), ``fine``, ``segno`` or ``coda``; only the first two have words.
    """

    bar: int
    tick: int
    sign: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar of a part.

    ``index`` counts from 0, ``number`` is the printed number word for word. ``ticks`` is the time the bar really takes. ``cut`` says
    that no figure may cross the bar's left edge (double bar, repeat, volta, change of key, a gap that had to be repaired).
    ``key`` and ``time`` are those in force at the bar's start (``time`` None: free time). ``offset`` is how many ticks of a full bar
    are missing before the first note (an upbeat), so that beats can be counted as a player counts them.

    ``double_bar`` says that a double bar line without repeat dots stands at the left edge, ``repeat_before`` that a repeated section begins
    there; ``repeat_after`` is how many times the section that ends with the bar is played, 0 where no repeat sign ends one. ``volta`` is
    the text of the ending that the bar stands under ("1", "1, 2"), else None. ``annotator.read`` makes bars.
    """

    index: int
    number: str
    onset: Fraction
    tick: int
    ticks: int
    key: Key
    time: Time | None
    cut: bool = False
    offset: int = 0
    signs: tuple[Sign, ...] = ()
    double_bar: bool = False
    repeat_before: bool = False
    repeat_after: int = 0
    volta: str | None = None

    def alter(self, staff: int, step: str, octave: int, tick: int, key: Key | None = None) -> int | Fraction:
        """Return the alteration that an unmarked note would have here: the accidentals already in force, else the key signature.

        A sign counts from the moment after its own tick; ``key`` overrides the bar's own (a signature that changes within it).
        """
        found: int | Fraction | None = None
        for sign in self.signs:
            if sign.tick >= tick:
                break
            if sign.step == step and sign.octave == octave and sign.staff == staff:
                found = sign.alter
        return (key or self.key).alters[STEPS.index(step)] if found is None else found

    def beat_ticks(self, resolution: int) -> int:
        """Return the length of a beat in ticks; ``resolution`` is ticks in a quarter note. Free time is counted in quarters.

        In a compound time (6, 9, 12 … over 8 or smaller) three of the lower number make a beat, otherwise one does (common practice).
        """
        if self.time is None:
            return resolution
        upper, lower = self.time.beats, self.time.beat_type
        compound = lower >= 8 and len(upper) == 1 and upper[0] > 3 and upper[0] % 3 == 0
        return max(1, 4 * resolution // lower * (3 if compound else 1))

    def on_count(self, tick: int, span: int) -> bool:
        """Return whether a tick stands whole spans of so many ticks after the bar line, or the bar is no whole number of them."""
        return (self.ticks + self.offset) % span != 0 or (tick - self.tick + self.offset) % span == 0


@dataclass(frozen=True, slots=True)
class Note:
    """One pitched ``<note>``.

    ``number`` is its place among all ``<note>`` elements of the document (rests counted, from 1), ``id`` the source's own id or
    ``n`` + number. ``bar`` is the bar's index. ``chord`` says that it is struck with the note before it. ``continues`` is the number
    of the note it is tied from (it is then not struck), else None. ``beam`` is the number of its beam group within the part.
    ``tuplet`` is (actual, normal) or None. ``rolled`` says that its chord is rolled (the wavy line). ``hidden`` is
    ``print-object="no"``; ``tablature`` marks a tablature or percussion staff. ``annotator.read`` makes notes.
    """

    number: int
    id: str
    pitch: Pitch
    onset: Fraction
    duration: Fraction
    tick: int
    ticks: int
    part: str
    bar: int
    staff: int
    voice: str
    key: Key
    chord: bool = False
    tie_start: bool = False
    tie_stop: bool = False
    continues: int | None = None
    grace: bool = False
    cue: bool = False
    hidden: bool = False
    tablature: bool = False
    tuplet: tuple[int, int] | None = None
    beam: int | None = None
    accidental: str | None = None
    rolled: bool = False
    element: Any = field(default=None, compare=False, repr=False)

    @property
    def visible(self) -> bool:
        """Whether it can be part of a figure: sounding, printed, an ordinary semitone pitch; tied-on notes included."""
        return not (self.grace or self.cue or self.hidden or self.tablature) and isinstance(self.pitch.alter, int)

    @property
    def counted(self) -> bool:
        """Whether it is one of the notes to play that the report counts: visible and struck, not tied on."""
        return self.continues is None and not (self.grace or self.cue or self.hidden or self.tablature)


@dataclass(frozen=True, slots=True)
class Part:
    """One part: its id, printed name, number of staves, bars, and notes in document order.

    ``keyboard`` says whether its name, its instrument or its staves make it a keyboard part. ``left_staves`` are the staves that
    the left hand plays (of two staves the lower one).

    ``clefs`` and ``octave_lines`` come staff by staff, each staff's in time; ``tempos`` and ``jumps`` in document order. ``halves`` are the
    ids and names of the two parts of one staff each that it was read from, the upper one first; empty where it is one part in the document
    too. ``annotator.read`` makes parts.
    """

    id: str
    name: str
    staves: int
    keyboard: bool
    bars: tuple[Bar, ...] = field(repr=False)
    notes: tuple[Note, ...] = field(repr=False)
    left_staves: frozenset[int] = frozenset({2})
    clefs: tuple[ClefChange, ...] = field(default=(), repr=False)
    octave_lines: tuple[OctaveLine, ...] = field(default=(), repr=False)
    tempos: tuple[Tempo, ...] = field(default=(), repr=False)
    jumps: tuple[Jump, ...] = field(default=(), repr=False)
    halves: tuple[tuple[str, str], ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """What it is called, one name for each part of the document: its name, or else its id."""
        return tuple(name or part for part, name in self.halves or ((self.id, self.name),))

    def clef_at(self, staff: int, tick: int, default: Clef = TREBLE) -> Clef:
        """Return the clef in force on a staff at a tick; ``default`` before its first one."""
        change = _last(self.clefs, staff, tick)
        return change.clef if change else default

    def octaves_at(self, staff: int, tick: int) -> int:
        """Return by how many octaves a note there sounds higher than it is shown, because of an octave line (negative: lower)."""
        line = _last(self.octave_lines, staff, tick)
        return line.octaves if line and tick < line.until else 0

    def place_on_staff(self, note: Note) -> int:
        """Return how many half spaces a note of the part is shown above the lowest line of its staff (negative: below it)."""
        written = note.pitch.diatonic - 7 * self.octaves_at(note.staff, note.tick)
        return written - self.clef_at(note.staff, note.tick).lowest


_OnStaff = TypeVar("_OnStaff", ClefChange, OctaveLine)


def _last(placed: Sequence[_OnStaff], staff: int, tick: int) -> _OnStaff | None:
    """Return the last of them that begins on a staff at a tick or before."""
    place = bisect_right(placed, (staff, tick), key=lambda each: (each.staff, each.tick))
    return placed[place - 1] if place and placed[place - 1].staff == staff else None


def ledger_lines(place: int) -> range:
    """Return the places of the ledger lines of a note, from the staff outwards.

    ``place`` is how many half spaces the note stands above the staff's lowest line, negative below it; the highest line is 8.

    >>> [list(ledger_lines(place)) for place in (-2, 13, 4)]
    [[-2], [10, 12], []]
    """
    return range(-2, place - 1, -2) if place < 0 else range(10, place + 1, 2)


@dataclass(frozen=True, slots=True, repr=False)
class Score:
    """A whole score. ``resolution`` is the number of ticks in a quarter note, ``repairs`` one line for each kind of repair made.

    ``document`` is the opaque document the score was read from. ``annotator.read`` makes one.
    """

    title: str
    composer: str
    parts: tuple[Part, ...]
    resolution: int
    repairs: tuple[str, ...] = ()
    document: Any = field(default=None, compare=False, repr=False)

    def __repr__(self) -> str:
        bars = max((len(part.bars) for part in self.parts), default=0)
        notes = sum(note.counted for part in self.parts for note in part.notes)
        return f"<Score {self.title!r}: {counted(len(self.parts), 'part')}, {counted(bars, 'bar')}, {counted(notes, 'note')}>"

    def _repr_html_(self) -> str:
        parts = [(part.name or part.id, part.staves, len(part.bars)) for part in self.parts]
        return table(f"{self.title} {self.composer}".strip(), ("part", "staves", "bars"), parts)


def counted(count: int, what: str) -> str:
    """Return a count in words: ``1 bar``, ``24 bars``."""
    return f"{count} {what}{'' if count == 1 else 's'}"


def table(caption: str, heads: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    """Return a table as HTML, for a notebook; all texts are escaped."""
    from html import escape  # which is wanted in notebooks alone

    lines = [("th", heads), *(("td", row) for row in rows)]
    texts = ("".join(f"<{tag}>{escape(str(cell))}</{tag}>" for cell in cells) for tag, cells in lines)
    return f"<table><caption>{escape(caption)}</caption>{''.join(f'<tr>{text}</tr>' for text in texts)}</table>"
