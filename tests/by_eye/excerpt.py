"""Eight bars of a score as a reader gets them: where they stand, and the strokes of each hand, numbered.

Conventions
-----------
* A *stroke* is what a hand strikes at one moment: all notes of its staves that are struck together, in whatever voices. A tied-on note, a
  grace note, a cue note and a hidden note are no strokes. Strokes are numbered from ``s1`` for each hand, in time order over the excerpt.
* ``bars`` are the first and the last bar, counted from the first bar of the part (from 1), for printed numbers may come twice.
* No detector is imported here: this is what judges them.
"""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scores_at_hand import CORPUS, LOCAL_SCORES

from annotator.music.score import Bar, Note, Part, Score

HERE = Path(__file__).resolve().parent
HOMES = {"music21 corpus": CORPUS, "local": LOCAL_SCORES}
HANDS = ("right", "left")

Place = tuple[str, int]
"""A stroke: its hand, and its number from 1."""


@dataclass(frozen=True)
class Span:
    """What a reader takes in at a glance in one hand: from stroke ``first`` to ``last``, of which ``read`` are read all the same."""

    hand: str
    first: int
    last: int
    what: str
    read: frozenset[int]
    why: str

    @property
    def skipped(self) -> frozenset[Place]:
        """The strokes that need not be read."""
        return frozenset((self.hand, number) for number in range(self.first, self.last + 1) if number not in self.read)


@dataclass(frozen=True)
class Excerpt:
    """One excerpt: its name, where it is from, how many strokes each hand has, and what each reader marked in it."""

    name: str
    source: str
    bars: tuple[int, int]
    sealed: bool
    strokes: dict[str, int]
    readings: tuple[tuple[Span, ...], ...]

    @property
    def path(self) -> Path:
        """Where the score is, or would be: local scores may be absent."""
        home, _, name = self.source.partition(": ")
        return HOMES[home] / name

    def skipped(self) -> tuple[frozenset[Place], ...]:
        """Return the strokes that each reading skips."""
        return tuple(frozenset(place for span in reading for place in span.skipped) for reading in self.readings)


def excerpts() -> list[Excerpt]:
    """Return the whole set, by name."""
    return [_excerpt(path) for path in sorted(HERE.glob("*.json"))]


def spans_of(entries: list[dict[str, Any]]) -> tuple[Span, ...]:
    """Return the spans that a reader wrote down, as data.

    >>> spans_of([{"hand": "left", "from": "s2", "to": "s4", "what": "a scale", "read": ["s2", "s4"], "why": ""}])[0].skipped
    frozenset({('left', 3)})
    """
    return tuple(
        Span(e["hand"], number_of(e["from"]), number_of(e["to"]), e["what"], frozenset(map(number_of, e["read"])), e["why"])
        for e in entries
    )


def number_of(stroke: str) -> int:
    """Return the number of a stroke as it is written: ``s12``."""
    return int(stroke.removeprefix("s"))


def part_of(score: Score) -> Part:
    """Return the keyboard part."""
    return next(part for part in score.parts if part.keyboard)


def bars_of(part: Part, excerpt: Excerpt) -> tuple[Bar, ...]:
    """Return the excerpt's bars."""
    return part.bars[excerpt.bars[0] - 1 : excerpt.bars[1]]


def hand_of(part: Part, note: Note) -> str:
    """Return the hand whose staff a note stands on."""
    return "left" if note.staff in part.left_staves else "right"


def strokes_of(part: Part, excerpt: Excerpt) -> dict[Place, tuple[Note, ...]]:
    """Return the notes of each stroke of the excerpt, from low to high."""
    bars = bars_of(part, excerpt)
    struck: dict[str, dict[int, list[Note]]] = {hand: defaultdict(list) for hand in HANDS}
    for note in part.notes:
        if note.counted and bars[0].index <= note.bar <= bars[-1].index:
            struck[hand_of(part, note)][note.tick].append(note)
    return {
        (hand, number): tuple(sorted(struck[hand][tick], key=lambda note: note.pitch.semitone))
        for hand in HANDS
        for number, tick in enumerate(sorted(struck[hand]), 1)
    }


def _excerpt(path: Path) -> Excerpt:
    data = json.loads(path.read_text(encoding="utf-8"))
    first, last = data["bars"]
    readings = tuple(map(spans_of, data["readings"]))
    return Excerpt(path.stem, data["source"], (first, last), data["sealed"], data["strokes"], readings)
