"""From a ``Document`` to a ``Score``: its one resolution, and its parts, bar by bar.

Conventions
-----------
* The tree is only read. Partwise and timewise scores give the same score, but for the note numbers, which follow the user's own tree.
* A part's bars are timed by its own content: parts do not wait for each other. Two parts that are one piano are read as one.
* The resolution is the least common multiple of all divisions in the score, so that every duration is a whole number of ticks; and of the
  tuplets that those divisions cannot express, so that their exact lengths are whole numbers too.
* A part whose divisions are missing where its first note stands has those that this note's shape and duration imply, else 1.

Source: MusicXML 4.0, element ``divisions``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import lcm
from pathlib import Path
from typing import Any

from annotator.errors import ScoreError
from annotator.music.score import ClefChange, Jump, Note, OctaveLine, Part, Score, Tempo
from annotator.reading.bars import Placing, bar_ticks, find_upbeats, finished_bars, with_ties
from annotator.reading.beside import Attributes, Directions, sane_divisions
from annotator.reading.document import LIMITS, Document, Repairs
from annotator.reading.loading import load
from annotator.reading.measures import BarDraft, Walk
from annotator.reading.notes import draft_of, shaped_quarters, whole
from annotator.reading.parts import PartHeader, PartLayout, composer_of, lay_out, left_staves, part_headers, piano_pairs, title_of

FINEST_TUPLET = 64  # more notes than this in the time of others are left as the file rounds them

Beside = tuple[tuple[ClefChange, ...], tuple[OctaveLine, ...], tuple[Tempo, ...], tuple[Jump, ...]]
"""What stands beside the notes of a part: clefs, octave lines, tempos, jumps."""


def read(source: Path | str | bytes, name: str | None = None) -> Score:
    """Read a score from a path or from bytes. Raises a ``ScoreError`` or ``MissingError`` that says what is wrong and where.

    ``name`` is what messages call it.

    >>> import annotator
    >>> score = annotator.read(annotator.example("letter-by-the-window"))
    >>> score.title, len(score.parts[0].bars), score.parts[0].notes[0].pitch
    ('A Letter by the Window', 24, Pitch(step='D', alter=0, octave=5))
    """
    return read_document(load(source, name))


def read_document(document: Document) -> Score:
    """Return the score that a document holds. What had to be repaired is named in ``Score.repairs``."""
    root = document.tree.getroot()
    try:
        layouts = {part.id: part for part in lay_out(document)}
        numbers, written, tuplets = _looked_through(root)
    except ScoreError as error:
        raise error.at(document.name) from None
    headers = dict.fromkeys(layouts, PartHeader()) | part_headers(root)
    places = {name: f"part {repr(headers[name].name) if headers[name].name else number}" for number, name in enumerate(layouts, 1)}
    repairs = Repairs()
    divisions = {name: _first_divisions(layouts[name], places[name], repairs) for name in layouts}
    resolution = _resolution({*divisions.values(), *(sane_divisions(text) or 1 for text in written)}, tuplets)
    pairs = piano_pairs(root, headers)
    parts = []
    for name in layouts:
        if name not in pairs.values():
            halves = [name, pairs[name]] if name in pairs else [name]
            attributes, directions = Attributes(len(halves), repairs), Directions()
            walks = [
                Walk(divisions[half], staff if name in pairs else None, attributes, directions, numbers, resolution, repairs)
                for staff, half in enumerate(halves, 1)
            ]
            reading = _PartReading([layouts[half] for half in halves], places[name], walks)
            parts.append(reading.part([headers[half] for half in halves], len(layouts) == 1))
    return Score(title_of(root), composer_of(root), tuple(parts), resolution, (*document.notices, *repairs.lines()), document)


def _looked_through(root: Any) -> tuple[dict[Any, int], set[str | None], set[str | None]]:
    """Return the number of each note of a document, and the texts of all divisions and all numbers of notes in a tuplet."""
    numbers: dict[Any, int] = {}
    texts: dict[str, set[str | None]] = {"divisions": set(), "actual-notes": set()}
    for element in root.iter("note", *texts):
        if element.tag == "note":
            numbers[element] = len(numbers) + 1
        else:
            texts[element.tag].add(element.text)
    if len(numbers) > LIMITS.notes:
        raise ScoreError(f"{len(numbers)} notes, more than the limit of {LIMITS.notes}")
    return numbers, texts["divisions"], texts["actual-notes"]


def _resolution(divisions: set[int], tuplets: Iterable[str | None]) -> int:
    """Return the ticks of a quarter note, from all divisions and the texts of the numbers of notes in a tuplet."""
    played = {whole(text) or 1 for text in tuplets}
    rounded = {number for number in played if 1 < number <= FINEST_TUPLET and any(each % number for each in divisions)}
    resolution = 1
    for number in [*sorted(divisions), *sorted(rounded)]:
        finer = lcm(resolution, number)
        if finer <= LIMITS.resolution:
            resolution = finer
    return lcm(resolution, 8) if rounded else resolution  # dots and short notes inside such tuplets


def _first_divisions(layout: PartLayout, place: str, repairs: Repairs) -> int:
    """Return the divisions a part starts with; where none stand before its first note, what that note implies."""
    for measure in layout.measures:
        for child in measure.content:
            if child.tag == "attributes":
                for element in child.iterchildren("divisions"):
                    if found := sane_divisions(element.text):
                        return found
            elif child.tag == "note" and child.find("grace") is None:
                repairs.add("divisions missing, taken from the first note", f"{place}, bar {measure.number}")
                note = draft_of(child, 0)
                quarters = shaped_quarters(note.shape, note.tuplet)
                implied = Fraction(whole(note.divided) or 0) / quarters if quarters else Fraction(1)
                return int(implied) if implied.denominator == 1 and 1 <= implied <= LIMITS.divisions else 1
    return 1


class _PartReading:
    """Reads one part, bar by bar, or the two parts of a piano as one; ``place`` is what messages call it."""

    def __init__(self, layouts: Sequence[PartLayout], place: str, walks: Sequence[Walk]) -> None:
        self._layouts, self._walks, self._place = layouts, walks, place
        self._attributes, self._repairs, self._resolution = walks[0].attributes, walks[0].repairs, walks[0].resolution
        self._placing = Placing(layouts[0].id, self._resolution, self._repairs)
        self._bars: list[BarDraft] = []
        self._notes: list[Note] = []

    def part(self, headers: Sequence[PartHeader], only: bool) -> Part:
        """Return the finished part. ``only``: the score has no other."""
        for index in range(max(len(layout.measures) for layout in self._layouts)):
            self._read_bar(index)
        notes = with_ties(self._notes, self._bars, self._walks[0].tolerance, self._repairs)
        find_upbeats(self._bars, self._resolution, self._repairs)
        bars = finished_bars(self._bars, notes, self._resolution)
        layout, header = self._layouts[0], headers[0]
        if len(headers) > 1:
            crossed = (header.hand or "right", headers[1].hand or "left") == ("left", "right")
            halves = tuple((each.id, named.name) for each, named in zip(self._layouts, headers, strict=True))
            return Part(layout.id, header.name, 2, True, bars, notes, frozenset({1 if crossed else 2}), *self._beside(), halves)
        declared, used = self._attributes.staves, max((note.staff for note in notes), default=1)
        if used > declared:
            self._repairs.add("parts that use staves they do not declare", self._place)
        staves = max(declared, min(used, LIMITS.staves))
        keyboard = only or staves > 1 or header.keyboard
        left = left_staves(header.hand, staves, self._attributes.first_clefs)
        return Part(layout.id, header.name, staves, keyboard, bars, notes, left, *self._beside())

    def _read_bar(self, index: int) -> None:
        """Walk through the next bar, in both halves if there are two, and place its notes."""
        start = self._bars[-1].start + self._bars[-1].ticks if index else 0
        halves = zip(self._walks, self._layouts, strict=True)
        measures = [(walk, layout.measures[index]) for walk, layout in halves if index < len(layout.measures)]
        measure = measures[0][1]
        bar = BarDraft(measure, f"{self._place}, bar {measure.number}", index, start, dict(self._attributes.keys), self._attributes.time)
        for walk, half in measures:
            walk.bar(half, bar)
        bar.ticks = bar_ticks(bar, self._resolution, self._walks[0].tolerance)
        bar.first_note = len(self._notes)
        self._notes += self._placing.place(bar)
        bar.notes.clear()
        self._bars.append(bar)

    def _beside(self) -> Beside:
        """Return what stands beside the notes."""
        end = self._bars[-1].start + self._bars[-1].ticks if self._bars else 0
        directions = self._walks[0].directions
        return self._attributes.clef_changes(), directions.octave_lines(end), tuple(directions.tempos.values()), tuple(directions.jumps)
