"""From a ``Document`` to a ``Score``: parts, bars, notes.

Conventions
-----------
* The tree is only read. Partwise and timewise scores give the same score, but for the note numbers, which follow the user's own tree.
* A part's bars are timed by its own content: parts do not wait for each other.
"""

from __future__ import annotations

from pathlib import Path

from annotator.errors import ScoreError
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
from annotator.reading.parts import PartHeader, left_staves, part_headers
from annotator.reading.placing import Placing, Quarters, finished
from annotator.reading.repairs import Repairs
from annotator.reading.signs import bar_signs
from annotator.reading.ties import join_ties
from annotator.score import Bar, Note, Part, Score


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
    parts = []
    for layout, start, place in zip(layouts, divisions, places, strict=True):
        header = headers.get(layout.id, PartHeader("", False))
        reader = PartReader(layout, header, place, Attributes(start, limits, repairs), resolution, quarters, limits, repairs)
        parts.append(reader.part(only=len(layouts) == 1))
    return Score(title_of(root), composer_of(root), tuple(parts), resolution, (*document.notices, *repairs.lines()), document)


class PartReader:
    """Reads one part, bar by bar. ``place`` is what messages call it; ``quarters`` is the score's store of shared times."""

    def __init__(
        self,
        layout: PartLayout,
        header: PartHeader,
        place: str,
        attributes: Attributes,
        resolution: int,
        quarters: Quarters,
        limits: Limits,
        repairs: Repairs,
    ) -> None:
        self._layout = layout
        self._header = header
        self._place = place
        self._places = [f"{place}, bar {measure.number}" for measure in layout.measures]
        self._attributes = attributes
        self._limits = limits
        self._repairs = repairs
        self._resolution = resolution
        self._walk = Walk(attributes, resolution, limits, repairs)
        self._placing = Placing(layout.id, quarters, repairs)
        self._drafts: list[BarDraft] = []
        self._lengths: list[int] = []
        self._starts: list[int] = []
        self._notes: list[Draft] = []
        self._firsts: list[int] = []  # for each bar, how many notes stand before it

    def part(self, only: bool) -> Part:
        """Return the finished part. ``only``: the score has no other."""
        for measure in self._layout.measures:
            self._bar(measure)
        places = self._places
        join_ties(self._notes, self._walk.tolerance, self._repairs, lambda note: places[note.bar])
        notes = finished(self._notes)
        bars = self._bars(notes)
        declared, used = self._attributes.staves, self._placing.lowest_staff
        if used > declared:
            self._repairs.add("parts that use staves they do not declare", self._place)
        staves = max(declared, min(used, self._limits.staves))
        name = self._header.name
        keyboard = only or staves > 1 or self._header.keyboard
        left = left_staves(self._header.hand, staves, self._attributes.first_clefs)
        said = self._walk.directions
        octave_lines = said.octave_lines(bars[-1].tick + bars[-1].ticks if bars else 0)
        beside = clef_changes(self._walk.clefs), octave_lines, tuple(said.tempos), tuple(said.jumps)
        return Part(self._layout.id, name, staves, keyboard, bars, notes, left, *beside)

    def _bar(self, measure: Measure) -> None:
        """Walk through the next bar and place its notes."""
        index = len(self._drafts)
        start = self._starts[-1] + self._lengths[-1] if index else 0
        draft = self._walk.bar(measure, self._places[index], index, start)
        self._firsts.append(len(self._notes))
        self._notes.extend(self._placing.place(draft, index, start, self._places[index]))
        draft.notes.clear()
        self._drafts.append(draft)
        self._starts.append(start)
        self._lengths.append(bar_ticks(draft, index == 0, self._resolution, self._walk.tolerance))

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
