"""What a survey knows of a score, as frozen data and as a record that can be kept and sent about; and what a survey as a whole is.

Conventions
-----------
* ``Measures`` follow from the bytes of a file alone: they hold no path, so copies of one file have one set of them. ``Measured`` is a
  file with its measures and its reading effort.
* Only the keyboard parts count (``Note.counted``: struck, printed, no grace or cue notes), chord members singly.
* A *moment* of a hand is a time at which it strikes something; what is struck together is one moment.
* Shares are from 0 to 1, but for what is said to be in 100. Distances are semitones.
* A beat is what a player counts: three eighths in 6/8 (``Bar.beat_ticks``).
* A *record* is one line of JSON that follows from the bytes of a file alone: measures and effort, or a message and its exit code, or the
  reason why the file is left out. A fault of the program is told but not kept (``worth_keeping``): the next run tries again.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from annotator.music.score import counted

MAIN = 2  # kinds of figures that a piece is said to drill
FAULT = 70  # the exit code of a fault of the program
REALLY = 0.05  # the part of its notes from which on a piece drills a kind of figure: one bar in twenty; common practice, no source


@dataclass(frozen=True, slots=True)
class Drilled:
    """What the figures of one kind came to in a score: how many ``figures``, and their struck ``notes``.

    ``copies``: they repeat what stands elsewhere, so they drill nothing of their own.
    """

    kind: str
    figures: int
    notes: int
    copies: bool = False


@dataclass(frozen=True, slots=True)
class KeyUsed:
    """A key the music is in: ``tonic`` spelled in ASCII (``Bb``), ``minor`` or major, and for how many ``bars``."""

    tonic: str
    minor: bool
    bars: int

    @property
    def name(self) -> str:
        """Its name for programs: ``Bb major``."""
        return f"{self.tonic} {'minor' if self.minor else 'major'}"


@dataclass(frozen=True, slots=True)
class HandMeasures:
    """What one hand plays.

    ``notes`` is a count, ``compass`` the semitones from the lowest note to the highest. ``reach`` is the widest stretch
    (``handout.hands``), in semitones. ``ledger_lines`` are the most that a note has (clefs and octave lines in force are heeded).
    """

    notes: int
    compass: int
    reach: int
    ledger_lines: int


@dataclass(frozen=True, slots=True)
class Measures:
    """One score measured.

    ``bars``, ``notes``, ``to_read`` and ``odd`` are counts (``odd``: notes that break the rule of their figure); ``beats`` is how long the
    music is. ``signs`` is how many accidentals it takes to write the notes (the key signature holds the rest); ``signature`` how many
    sharps or flats the fullest key signature has. ``kinds`` come with the one that drills the most notes first, ``keys`` with the home key
    first (0 bars, where no bar by itself is in it), then the one in force longest.

    ``rhythm`` is the bits that tell the time from one moment of a hand to its next (0: always the same). ``thickness`` is notes a moment
    of a hand, on average. ``voices`` is in how many of 100 bars of a hand it has two voices or more.
    """

    title: str
    composer: str
    bars: int
    beats: float
    notes: int
    to_read: int
    odd: int
    signs: int
    signature: int
    keys: tuple[KeyUsed, ...]
    kinds: tuple[Drilled, ...]
    right: HandMeasures
    left: HandMeasures
    rhythm: float
    thickness: float
    voices: float

    @property
    def share(self) -> float:
        """The part of the notes that need not be read, from 0 to 1."""
        return 1 - self.to_read / self.notes if self.notes else 0.0

    @property
    def density(self) -> float:
        """Notes a beat."""
        return self.notes / self.beats if self.beats else 0.0

    def in_100(self, count: int) -> float:
        """Return so many notes, or signs, in 100 notes."""
        return 100 * count / self.notes if self.notes else 0.0

    @property
    def drills(self) -> tuple[str, ...]:
        """The ``MAIN`` kinds of figure that it really drills, most notes first; copies do not count."""
        return tuple([one.kind for one in self.kinds if not one.copies and self.really_drills((one.kind,))][:MAIN])

    def really_drills(self, kinds: Iterable[str]) -> bool:
        """Return whether a part of the notes worth the name, ``REALLY``, belongs to figures of these kinds."""
        return self.share_of(kinds) >= REALLY

    def share_of(self, kinds: Iterable[str]) -> float:
        """Return the part of the notes that belong to figures of these kinds, from 0 to 1."""
        asked = frozenset(kinds)
        return min(1.0, sum(one.notes for one in self.kinds if one.kind in asked) / self.notes) if self.notes else 0.0


@dataclass(frozen=True, slots=True)
class Measured:
    """A score of the library: its ``path`` as found, the digest of its content, its measures, and the effort of reading a bar of it."""

    path: str
    digest: str
    measures: Measures
    effort: float

    @property
    def effort_in_all(self) -> float:
        """The effort of the whole piece, in notes: those to read, each as much as the effort a bar is of the greatest there could be."""
        return round(self.effort * self.measures.to_read / 100, 1)


@dataclass(frozen=True, slots=True)
class Failed:
    """A file that could not be read: the one-line message (without the path) and the exit code that goes with it."""

    path: str
    message: str
    exit_code: int


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A file that is no score of the library: a copy that this program made, or music without a part for keyboard."""

    path: str
    reason: str


@dataclass(frozen=True, slots=True, repr=False)
class Survey:
    """A library surveyed: its scores, ranked; the files that failed; the files left out. ``annotator.survey`` makes one."""

    scores: tuple[Measured, ...]
    failed: tuple[Failed, ...] = ()
    left_out: tuple[LeftOut, ...] = ()

    def __repr__(self) -> str:
        """Return it in one line."""
        return f"<Survey: {counted(len(self.scores), 'score')}, {len(self.failed)} failed, {len(self.left_out)} left out>"


def record_of(**content: Any) -> str:
    """Return the record with some content: ``measures`` and ``effort``, or ``failed`` and ``code``, or ``left_out``."""
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"), sort_keys=True)


def fault_record(what: str) -> str:
    """Return the record of a file over which the program failed."""
    return record_of(failed=f"a fault of the program ({' '.join(what.split())}); figures --debug shows where", code=FAULT)


def worth_keeping(record: str) -> bool:
    """Return whether a record follows from the file alone."""
    return not record.startswith(f'{{"code":{FAULT},')


def read_record(path: str, digest: str, record: str) -> Measured | Failed | LeftOut:
    """Return what a record says of the file at a path."""
    held = json.loads(record)
    if "left_out" in held:
        return LeftOut(path, held["left_out"])
    if "failed" in held:
        return Failed(path, held["failed"], held["code"])
    measures = held["measures"]
    measures["keys"] = tuple([KeyUsed(**key) for key in measures["keys"]])
    measures["kinds"] = tuple([Drilled(**kind) for kind in measures["kinds"]])
    for hand in ("right", "left"):
        measures[hand] = HandMeasures(**measures[hand])
    return Measured(path, digest, Measures(**measures), held["effort"])
