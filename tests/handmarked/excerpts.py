"""The excerpts marked by hand, as data: which notes of which score make which figure.

Conventions
-----------
* One TOML file is one excerpt: ``source`` (``music21 corpus: PATH`` or ``examples: PATH``), ``bars`` (first and last printed number),
  and marks.
* A figure is one line, ``kind; staves; from; to; name; anchors``. Staves: ``1``, ``2``, ``1+2``, or ``1v2`` for one voice of a staff.
  From and to: ``bar:beat pitch``, beats in quarter notes from 1. All struck notes of those staves from one to the other are its notes.
  Name: a scale (``F major``), a chord (``C7/E``), or nothing; anchors: how many, or nothing.
* ``or`` lists other readings, each a list of figures (an empty list: no figure), with the reason in ``why``. ``known_fault`` says what
  is wrong with the program's answer where it has not been put right; ``corrected`` says what was wrong with the mark as first written,
  and why. A ``[[not]]`` is a figure the program finds and should not; it always has its ``known_fault``.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

from scores_at_hand import CORPUS, EXAMPLES

from annotator.music.score import Note, Part, Score

HERE = Path(__file__).resolve().parent


@dataclass(frozen=True)
class Marked:
    """One figure as a reader marked it."""

    kind: str
    staves: str
    first: str
    last: str
    name: str
    anchors: int | None


@dataclass(frozen=True)
class Mark:
    """One place: the readings accepted there (the first one is the reader's own), and what is known of it."""

    readings: tuple[tuple[Marked, ...], ...]
    why: str = ""
    known_fault: str = ""


@dataclass(frozen=True)
class Excerpt:
    """Some bars of a score and all the figures a reader marked in them."""

    name: str
    source: Path
    bars: tuple[str, str]
    marks: tuple[Mark, ...]
    unwanted: tuple[Mark, ...] = ()


def excerpts() -> list[Excerpt]:
    """Return the whole set, by name."""
    return [_excerpt(path) for path in sorted(HERE.glob("*.toml"))]


def part_of(score: Score) -> Part:
    """Return the keyboard part."""
    return next(part for part in score.parts if part.keyboard)


def bar_range(part: Part, excerpt: Excerpt) -> range:
    """Return the indices of the excerpt's bars."""
    numbers = [bar.number for bar in part.bars]
    return range(numbers.index(excerpt.bars[0]), numbers.index(excerpt.bars[1]) + 1)


def notes_of(score: Score, marked: Marked) -> list[Note]:
    """Return the struck notes a mark covers; raises ValueError where its first or last note is not there."""
    part = part_of(score)
    start, stop = _note_at(score, part, marked, marked.first), _note_at(score, part, marked, marked.last)
    found = [n for n in part.notes if n.counted and start.tick <= n.tick <= stop.tick and _stands_on(n, marked.staves)]
    return sorted(found, key=lambda note: (note.tick, note.pitch.semitone))


def _note_at(score: Score, part: Part, marked: Marked, place: str) -> Note:
    where, pitch = place.split()
    number, beat = where.split(":")
    bar = next(bar for bar in part.bars if bar.number == number)
    for note in part.notes:
        at = (note.tick - bar.tick + bar.offset) / score.resolution + 1
        written = f"{note.pitch.step}{'#' * int(note.pitch.alter)}{'b' * -int(note.pitch.alter)}{note.pitch.octave}"
        if note.counted and note.bar == bar.index and written == pitch and abs(at - float(beat)) < 0.01 and _stands_on(note, marked.staves):
            return note
    raise ValueError(f"no {pitch} at bar {number}, beat {beat}, staves {marked.staves}")


def _stands_on(note: Note, staves: str) -> bool:
    staff, _, voice = staves.partition("v")
    return str(note.staff) in staff.split("+") and voice in ("", note.voice)


def _excerpt(path: Path) -> Excerpt:
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    home, _, name = data["source"].partition(": ")
    source = {"music21 corpus": CORPUS, "examples": EXAMPLES}[home] / name
    return Excerpt(path.stem, source, (data["bars"][0], data["bars"][1]), *(tuple(map(_mark, data.get(k, []))) for k in ("mark", "not")))


def _mark(entry: dict[str, object]) -> Mark:
    others = entry.get("or", [])
    assert isinstance(others, list)
    readings = ((_marked(str(entry["figure"])),), *(tuple(_marked(line) for line in other) for other in others))
    return Mark(readings, str(entry.get("why", "")), str(entry.get("known_fault", "")))


def _marked(line: str) -> Marked:
    kind, staves, first, last, name, anchors = (field.strip() for field in line.split(";"))
    return Marked(kind, staves, first, last, name, int(anchors) if anchors else None)
