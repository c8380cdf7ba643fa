"""From a ``Document`` to a ``Score``: parts, bars, notes.

Conventions
-----------
* The tree is only read. Partwise and timewise scores give the same score, but for the note numbers, which follow the user's own tree.
* One resolution for the whole score: the least common multiple of all divisions in it, so that every duration is a whole number of ticks.
* A part's bars are timed by its own content: parts do not wait for each other.
"""

from __future__ import annotations

from fractions import Fraction
from math import lcm
from pathlib import Path
from typing import Any

from annotator.errors import ScoreError
from annotator.reading.attributes import Attributes, sane_divisions
from annotator.reading.bars import bar_ticks, cuts, extents, start_keys
from annotator.reading.document import Document
from annotator.reading.heading import composer_of, title_of
from annotator.reading.layout import PartLayout, lay_out
from annotator.reading.limits import LIMITS, Limits
from annotator.reading.loading import load
from annotator.reading.measures import BarDraft, Walk
from annotator.reading.notes import gather, typed_quarters, whole
from annotator.reading.parts import PartHeader, left_staves, part_headers
from annotator.reading.placing import Placing
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
    repairs = Repairs()
    headers = part_headers(root)
    starts = [_first_divisions(layout, headers, limits, repairs) for layout in layouts]
    resolution = _resolution(root, starts, limits)
    quarters: dict[int, Fraction] = {}
    parts = tuple(
        _part(
            layout,
            headers.get(layout.id, PartHeader("", False)),
            start,
            resolution,
            limits,
            repairs,
            quarters,
            len(layouts) == 1,
        )
        for layout, start in zip(layouts, starts, strict=True)
    )
    return Score(title_of(root), composer_of(root), parts, resolution, repairs.lines(), document)


def _resolution(root: Any, starts: list[int], limits: Limits) -> int:
    """Return the ticks of a quarter note: the least common multiple of all divisions that make sense."""
    resolution = lcm(*set(starts))
    for divisions in sorted({sane_divisions(element, limits) or 1 for element in root.iter("divisions")}):
        finer = lcm(resolution, divisions)
        if finer <= limits.resolution:
            resolution = finer
    return resolution


def _first_divisions(
    layout: PartLayout, headers: dict[str, PartHeader], limits: Limits, repairs: Repairs
) -> int:
    """Return the divisions a part starts with; where none stand before its first note, what that note's shape implies."""
    for measure in layout.measures:
        for child in measure.content if measure.content is not None else ():
            if child.tag == "attributes":
                for element in child.iterchildren("divisions"):
                    if found := sane_divisions(element, limits):
                        return found
            elif child.tag == "note" and child.find("grace") is None:
                repairs.add(
                    "divisions missing, taken from the first notes", _place(layout, headers, measure.number)
                )
                draft = gather(child, 0)
                duration, quarters = whole(draft.divided), typed_quarters(draft)
                implied = Fraction(duration or 0) / quarters if quarters else Fraction(1)
                fits = implied.denominator == 1 and 1 <= implied <= limits.divisions
                return int(implied) if fits else 1
    return 1


def _place(layout: PartLayout, headers: dict[str, PartHeader], number: str) -> str:
    header = headers.get(layout.id)
    return f"part {(header.name if header else '') or layout.id!r}, bar {number}"


def _part(
    layout: PartLayout,
    header: PartHeader,
    divisions: int,
    resolution: int,
    limits: Limits,
    repairs: Repairs,
    quarters: dict[int, Fraction],
    only: bool,
) -> Part:
    """Return one part, read bar by bar."""
    attributes = Attributes(divisions, limits, repairs)
    walk = Walk(attributes, resolution, limits, repairs)
    placing = Placing(layout.id, resolution, quarters, repairs)
    called = repr(header.name or layout.id)
    places = [f"part {called}, bar {measure.number}" for measure in layout.measures]
    drafts: list[BarDraft] = []
    starts: list[int] = []
    firsts: list[int] = []
    notes: list[Note] = []
    lengths: list[int] = []
    start = 0
    for index, measure in enumerate(layout.measures):
        draft = walk.bar(measure, places[index])
        firsts.append(len(notes))
        notes.extend(placing.notes(draft, index, start, places[index]))
        draft.notes = []
        length = bar_ticks(draft, index == 0, resolution, walk.tolerance)
        drafts.append(draft)
        starts.append(start)
        lengths.append(length)
        start += length
    join_ties(notes, walk.tolerance, repairs, lambda note: places[note.bar])
    bars = _bars(drafts, starts, lengths, notes, firsts, resolution, repairs, places, placing)
    staves = max(attributes.staves, min(placing.lowest_staff, limits.staves))
    if placing.lowest_staff > attributes.staves:
        repairs.add("staves in use that were not declared", f"part {called}")
    keyboard = only or staves > 1 or header.keyboard
    left = left_staves(header.name, staves, attributes.first_clefs)
    return Part(layout.id, header.name, staves, keyboard, bars, tuple(notes), left)


def _bars(
    drafts: list[BarDraft],
    starts: list[int],
    lengths: list[int],
    notes: list[Note],
    firsts: list[int],
    resolution: int,
    repairs: Repairs,
    places: list[str],
    placing: Placing,
) -> tuple[Bar, ...]:
    """Return the finished bars of a part."""
    found = extents(drafts, lengths, resolution, repairs, places)
    edges = cuts(drafts, found)
    stops = [*firsts[1:], len(notes)]
    bars = []
    for index, draft in enumerate(drafts):
        key = start_keys(draft)[None]
        signs = bar_signs(notes[firsts[index] : stops[index]])
        tick, extent = starts[index], found[index]
        onset = placing.quarters(tick)
        bars.append(
            Bar(
                index,
                draft.measure.number,
                onset,
                tick,
                extent.ticks,
                key,
                draft.time,
                edges[index],
                extent.offset,
                signs,
            )
        )
    return tuple(bars)
