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
from annotator.music.score import Note, Part, Score
from annotator.reading.bars import Placing, bar_ticks, find_upbeats, finished_bars, with_ties
from annotator.reading.beside import Attributes, Directions, sane_divisions
from annotator.reading.document import LIMITS, Document, Repairs
from annotator.reading.loading import load
from annotator.reading.measures import BarDraft, Walk
from annotator.reading.notes import draft_of, shaped_quarters, whole
from annotator.reading.parts import PartHeader, PartLayout, composer_of, lay_out, left_staves, part_headers, piano_pairs, title_of

FINEST_TUPLET = 64  # more notes than this in the time of others are left as the file rounds them

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
            own = [layouts[half] for half in halves], [headers[half] for half in halves]
            parts.append(_part(*own, places[name], walks, len(layouts) == 1))
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


def _part(layouts: Sequence[PartLayout], headers: Sequence[PartHeader], place: str, walks: Sequence[Walk], only: bool) -> Part:
    """Return one part, or the two parts of a piano as one; ``place`` is what messages call it. ``only``: the score has no other."""
    attributes, directions, repairs, resolution = walks[0].attributes, walks[0].directions, walks[0].repairs, walks[0].resolution
    drafts, struck = _drafted(layouts, place, walks)
    notes = with_ties(struck, drafts, walks[0].tolerance, repairs)
    find_upbeats(drafts, resolution, repairs)
    halves: tuple[tuple[str, str], ...] = ()
    if len(headers) > 1:
        crossed = (headers[0].hand or "right", headers[1].hand or "left") == ("left", "right")
        staves, keyboard, left = 2, True, frozenset({1 if crossed else 2})
        halves = tuple((each.id, named.name) for each, named in zip(layouts, headers, strict=True))
    else:
        used = max((note.staff for note in notes), default=1)
        if used > attributes.staves:
            repairs.add("parts that use staves they do not declare", place)
        staves = max(attributes.staves, min(used, LIMITS.staves))
        keyboard = only or staves > 1 or headers[0].keyboard
        left = left_staves(headers[0].hand, staves, attributes.first_clefs)
    octave_lines = directions.octave_lines(drafts[-1].start + drafts[-1].ticks if drafts else 0)
    beside = attributes.clef_changes(), octave_lines, tuple(directions.tempos.values()), tuple(directions.jumps)
    bars = finished_bars(drafts, notes, resolution)
    return Part(layouts[0].id, headers[0].name, staves, keyboard, bars, notes, left, *beside, halves)


def _drafted(layouts: Sequence[PartLayout], place: str, walks: Sequence[Walk]) -> tuple[list[BarDraft], list[Note]]:
    """Return the bars of a part as walked through, in both halves if there are two, and their notes."""
    attributes, resolution = walks[0].attributes, walks[0].resolution
    placing = Placing(layouts[0].id, resolution, walks[0].repairs)
    bars: list[BarDraft] = []
    notes: list[Note] = []
    start = 0
    for index in range(max(len(layout.measures) for layout in layouts)):
        measures = [(walk, layout.measures[index]) for walk, layout in zip(walks, layouts, strict=True) if index < len(layout.measures)]
        measure = measures[0][1]
        bar = BarDraft(measure, f"{place}, bar {measure.number}", index, start, dict(attributes.keys), attributes.time)
        for walk, half in measures:
            walk.bar(half, bar)
        bar.ticks = bar_ticks(bar, resolution, walks[0].tolerance)
        bar.first_note = len(notes)
        notes += placing.place(bar)
        bar.notes.clear()
        bars.append(bar)
        start += bar.ticks
    return bars, notes
