"""From a ``Document`` to a ``Score``: parts, bars, notes.

Conventions
-----------
* The tree is only read. Partwise and timewise scores give the same score, but for the note numbers, which follow the user's own tree.
* A part's bars are timed by its own content: parts do not wait for each other. Two parts that are one piano are read as one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from annotator.errors import ScoreError
from annotator.music.score import Bar, Note, Part, Score
from annotator.reading.attributes import Attributes, clef_changes
from annotator.reading.bars import bar_ticks, cuts, extents, start_keys, voltas
from annotator.reading.divisions import first_divisions, resolution_of
from annotator.reading.document import Document
from annotator.reading.heading import composer_of, title_of
from annotator.reading.layout import Measure, PartLayout, lay_out
from annotator.reading.limits import LIMITS, Limits
from annotator.reading.loading import load
from annotator.reading.measures import BarDraft, Walk
from annotator.reading.notes import Draft
from annotator.reading.parts import PartHeader, left_staves, part_headers, piano_pairs
from annotator.reading.placing import Placing, Quarters, finished
from annotator.reading.repairs import Repairs
from annotator.reading.signs import bar_signs
from annotator.reading.ties import join_ties
from annotator.reading.two_parts import Beside, as_long, beside_both, joined


def read(source: Path | str | bytes, name: str | None = None, limits: Limits = LIMITS) -> Score:
    """Return the score in a file (a path) or in bytes; see ``load`` for what is refused."""
    return read_document(load(source, name, limits), limits)


def read_document(document: Document, limits: Limits = LIMITS) -> Score:
    """Return the score that a document holds. What had to be repaired is named in ``Score.repairs``."""
    root = document.tree.getroot()
    try:
        layouts = lay_out(document, limits)
    except ScoreError as error:
        raise error.at(document.name) from None
    headers = part_headers(root)
    names = [headers[part.id].name if part.id in headers else "" for part in layouts]
    places = [f"part {repr(name) if name else place}" for place, name in enumerate(names, 1)]
    repairs = Repairs()
    divisions = [first_divisions(part, place, limits, repairs) for part, place in zip(layouts, places, strict=True)]
    resolution = resolution_of(root, divisions, limits)
    quarters = Quarters(resolution)
    pairs = piano_pairs(root, headers)
    voicings = {
        layout.id: Voicing(layout, headers.get(layout.id, PartHeader("", False)), place, Attributes(start, limits, repairs))
        for layout, start, place in zip(layouts, divisions, places, strict=True)
    }
    parts = []
    for layout in layouts:
        if layout.id not in pairs.values():
            halves = [voicings[name] for name in (layout.id, pairs.get(layout.id)) if name is not None]
            reader = PartReader(halves, resolution, quarters, limits, repairs)
            parts.append(reader.part(only=len(layouts) == 1))
    return Score(title_of(root), composer_of(root), tuple(parts), resolution, (*document.notices, *repairs.lines()), document)


@dataclass(frozen=True, slots=True)
class Voicing:
    """A part as it stands in the document, ready to be read; ``place`` is what messages call it."""

    layout: PartLayout
    header: PartHeader
    place: str
    attributes: Attributes


class PartReader:
    """Reads one part, bar by bar, or the two ``halves`` of a piano as one. ``quarters`` is the score's store of shared times."""

    def __init__(self, halves: Sequence[Voicing], resolution: int, quarters: Quarters, limits: Limits, repairs: Repairs) -> None:
        first, last = halves[0], halves[-1]
        self._halves = halves
        self._layouts = [as_long(first.layout, last.layout), *([as_long(last.layout, first.layout)] if len(halves) > 1 else [])]
        self._place = first.place
        self._places = [f"{first.place}, bar {measure.number}" for measure in self._layouts[0].measures]
        self._limits = limits
        self._repairs = repairs
        self._resolution = resolution
        self._walks = [Walk(half.attributes, resolution, limits, repairs) for half in halves]
        self._placing = Placing(first.layout.id, quarters, repairs)
        self._drafts: list[BarDraft] = []
        self._lengths: list[int] = []
        self._starts: list[int] = []
        self._notes: list[Draft] = []
        self._firsts: list[int] = []  # for each bar, how many notes stand before it

    def part(self, only: bool) -> Part:
        """Return the finished part. ``only``: the score has no other."""
        for measures in zip(*(layout.measures for layout in self._layouts), strict=True):
            self._bar(measures)
        places = self._places
        join_ties(self._notes, self._walks[0].tolerance, self._repairs, lambda note: places[note.bar])
        notes = finished(self._notes)
        bars = self._bars(notes)
        first = self._halves[0]
        header, layout, attributes = first.header, first.layout, first.attributes
        if len(self._halves) > 1:
            crossed = (header.hand or "right", self._halves[1].header.hand or "left") == ("left", "right")
            halves = tuple((half.layout.id, half.header.name) for half in self._halves)
            return Part(layout.id, header.name, 2, True, bars, notes, frozenset({1 if crossed else 2}), *self._beside(bars), halves)
        declared, used = attributes.staves, self._placing.lowest_staff
        if used > declared:
            self._repairs.add("parts that use staves they do not declare", self._place)
        staves = max(declared, min(used, self._limits.staves))
        keyboard = only or staves > 1 or header.keyboard
        left = left_staves(header.hand, staves, attributes.first_clefs)
        return Part(layout.id, header.name, staves, keyboard, bars, notes, left, *self._beside(bars))

    def _beside(self, bars: Sequence[Bar]) -> Beside:
        """Return what stands beside the notes."""
        end = bars[-1].tick + bars[-1].ticks if bars else 0
        each: list[Beside] = []
        for walk in self._walks:
            said = walk.directions
            each.append((clef_changes(walk.clefs), said.octave_lines(end), tuple(said.tempos), tuple(said.jumps)))
        return each[0] if len(each) == 1 else beside_both(*each)

    def _bar(self, measures: Sequence[Measure]) -> None:
        """Walk through the next bar, in both halves if there are two, and place its notes."""
        index = len(self._drafts)
        start = self._starts[-1] + self._lengths[-1] if index else 0
        drafts = [walk.bar(measure, self._places[index], index, start) for walk, measure in zip(self._walks, measures, strict=True)]
        draft = drafts[0] if len(drafts) == 1 else joined(*drafts)
        self._firsts.append(len(self._notes))
        self._notes.extend(self._placing.place(draft, index, start, self._places[index]))
        draft.notes.clear()
        self._drafts.append(draft)
        self._starts.append(start)
        self._lengths.append(bar_ticks(draft, index == 0, self._resolution, self._walks[0].tolerance))

    def _bars(self, notes: tuple[Note, ...]) -> tuple[Bar, ...]:
        """Return the finished bars."""
        found = extents(self._drafts, self._lengths, self._resolution, self._repairs, self._places)
        edges = cuts(self._drafts, found)
        stops = [*self._firsts[1:], len(notes)][: len(self._firsts)]
        double = [draft.double_left or (index > 0 and self._drafts[index - 1].double_right) for index, draft in enumerate(self._drafts)]
        endings = voltas(self._drafts)
        return tuple(
            Bar(
                index,
                draft.measure.number,
                self._placing.quarters[start],
                start,
                extent.ticks,
                start_keys(draft)[None],
                draft.time,
                cut,
                extent.offset,
                bar_signs(notes[first:stop]),
                double[index],
                draft.repeat_before,
                draft.repeat_after,
                endings[index],
            )
            for index, (draft, start, extent, cut, first, stop) in enumerate(
                zip(self._drafts, self._starts, found, edges, self._firsts, stops, strict=True)
            )
        )
