"""What a good sight-reader checks before the first note, as plain data.

Conventions
-----------
* Bars are told as *spans* of printed numbers, first and last (``("5", "7")``; one bar: ``("5", "5")``), in the order of the score.
* Hands are ``right`` and ``left``. Facts come in the order in which they are met in the piece.
* A list without entries means that there is nothing of the kind, not that nobody looked.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from annotator.music.names import Chord, Scale
from annotator.music.score import Clef, Key, Pitch, Time

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
class Moves:
    """Where a hand must leave its place by a leap: how many times, in which bars. No times: it stays where it is."""

    hand: str
    times: int
    bars: Spans


@dataclass(frozen=True, slots=True)
class TimeChange:
    """A time signature (None: free time) and the bar from which it holds."""

    time: Time | None
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
class Signature:
    """A key signature and the bar from which it holds."""

    key: Key
    bar: str


@dataclass(frozen=True, slots=True)
class Found:
    """A scale or a kind of figure, and its bars. ``times`` is how many figures there are."""

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
class Accidental:
    """A note that the key signature does not give (``"F#"``), and the bars where it is struck."""

    name: str
    bars: Spans


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

    ``home`` is the key of the piece (None: no bars), ``keys`` are those that the music leaves it for, by ear; ``scales`` those of runs.
    ``together`` are the kinds of figures in which both hands go alike, ``copies`` those that bring something again, ``others`` the kinds
    that no other field tells of. ``hard`` are the bars with the most to read in a beat.
    """

    times: tuple[TimeChange, ...]
    tempos: tuple[Tempo, ...]
    signatures: tuple[Signature, ...]
    home: Scale | None
    keys: tuple[Found, ...]
    scales: tuple[Found, ...]
    accompaniments: tuple[Accompaniment, ...]
    extremes: tuple[Extreme, ...]
    stretches: tuple[Stretch, ...]
    moves: tuple[Moves, ...]
    together: tuple[Found, ...]
    accidentals: tuple[Accidental, ...]
    roads: tuple[Road, ...]
    copies: tuple[Found, ...]
    others: tuple[Found, ...]
    hard: Spans
    counts: tuple[BarCount, ...]
