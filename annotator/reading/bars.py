"""Bars drafted → bars finished: how long each is, what is missing before its first note, where no figure may cross.

Conventions
-----------
* A bar that agrees with its time signature (but for rounded durations) is as long as that says; any other is as long as its content.
* Short bars that fill one bar together (split at a repeat or a line end) are one bar to the counting player: the later ones carry as
  ``offset`` what the earlier ones filled. A first or implicit short bar is an upbeat; its beats count from the end.
* A bar that is too short or too long without any such reason stays as written; the next bar's left edge is ``cut``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from annotator.music.score import Time
from annotator.reading.attributes import Keys, set_key
from annotator.reading.measures import BarDraft
from annotator.reading.repairs import Repairs

LONGEST_SPLIT = 8  # bars that may fill one bar together
TOO_SHORT = "bars shorter than their time signature, read as written, no figure crosses their end"
TOO_LONG = "bars longer than their time signature, read as written, no figure crosses their end"


@dataclass(frozen=True, slots=True)
class Extent:
    """How long a bar is and what is missing before it, in ticks, and whether it fails its time signature without reason."""

    ticks: int
    offset: int
    faulty: bool


def full_bar(bar: BarDraft, resolution: int) -> int | None:
    """Return the ticks of a full bar, or None in free time."""
    return None if bar.time is None else _full(bar.time, resolution)


@lru_cache(maxsize=256)
def _full(time: Time, resolution: int) -> int:
    return round(time.quarters * resolution)


def bar_ticks(bar: BarDraft, first: bool, resolution: int, tolerance: int) -> int:
    """Return how many ticks a bar takes."""
    full = full_bar(bar, resolution)
    if full is None:
        return max(bar.content, bar.resting)
    filled = max(bar.content, min(bar.resting, full))
    only_rests = bar.content == 0 and not (first or bar.measure.implicit)
    if filled == 0 or only_rests or abs(filled - full) <= tolerance:
        return full
    return filled


def extents(bars: Sequence[BarDraft], lengths: Sequence[int], resolution: int, repairs: Repairs, places: Sequence[str]) -> list[Extent]:
    """Return the extent of every bar of a part, naming those that fail their time signature."""
    fulls = [full_bar(bar, resolution) for bar in bars]
    offsets = _split_offsets(bars, lengths, fulls)
    found = []
    for index, (bar, ticks, full) in enumerate(zip(bars, lengths, fulls, strict=True)):
        faulty = False
        offset = offsets.get(index, 0)
        if full is not None and ticks != full and index not in offsets:
            upbeat = index == 0 or bar.measure.implicit
            if ticks > full:
                faulty = not bar.measure.implicit
            elif upbeat:
                offset = full - ticks
            else:
                faulty = not _ends_section(bars, index)
            if faulty:
                repairs.add(TOO_LONG if ticks > full else TOO_SHORT, places[index])
        found.append(Extent(ticks, offset, faulty))
    return found


def _ends_section(bars: Sequence[BarDraft], index: int) -> bool:
    """Return whether a short bar may be short: at the end, before a double bar or repeat, before an upbeat."""
    if index + 1 >= len(bars) or bars[index].right:
        return True
    following = bars[index + 1]
    return following.left or following.measure.implicit


def _split_offsets(bars: Sequence[BarDraft], lengths: Sequence[int], fulls: Sequence[int | None]) -> dict[int, int]:
    """Return, for each bar that is a piece of a split one, the ticks that the pieces before it fill."""
    offsets: dict[int, int] = {}
    start = 0
    while start < len(bars):
        full = fulls[start]
        pieces = [start]
        filled = lengths[start]
        while full is not None and filled < full and len(pieces) < LONGEST_SPLIT and pieces[-1] + 1 < len(bars):
            piece = pieces[-1] + 1
            if fulls[piece] != full or (start == 0 and not bars[piece].measure.implicit):
                break
            pieces.append(piece)
            filled += lengths[piece]
        if len(pieces) > 1 and filled == full:
            before = 0
            for piece in pieces:
                offsets[piece] = before
                before += lengths[piece]
            start = pieces[-1]
        start += 1
    return offsets


def cuts(bars: Sequence[BarDraft], found: Sequence[Extent]) -> list[bool]:
    """Return for each bar whether no figure may cross its left edge."""
    edges = [False] * len(bars)
    for index in range(1, len(bars)):
        before, bar = bars[index - 1], bars[index]
        gap = before.broken or bar.broken or found[index - 1].faulty
        edges[index] = before.right or bar.left or gap or _differ(_last_keys(before, found[index - 1].ticks), start_keys(bar))
    return edges


def _last_keys(bar: BarDraft, ticks: int) -> Keys:
    """Return the keys in force just before the end of a bar of so many ticks."""
    return start_keys(bar, max(0, ticks - 1))


def voltas(bars: Sequence[BarDraft]) -> list[str | None]:
    """Return for each bar the text of the ending it stands under; an ending that is never ended has one bar."""
    found: list[str | None] = [None] * len(bars)
    begun: tuple[int, str] | None = None
    for index, bar in enumerate(bars):
        for text in bar.endings:
            if text is not None:
                begun = index, text
                found[index] = text
            elif begun is not None:
                first, begun_text = begun
                found[first : index + 1] = [begun_text] * (index + 1 - first)
                begun = None
    return found


def start_keys(bar: BarDraft, until: int = 0) -> Keys:
    """Return the keys in force, staff by staff, at a bar's start, or at a later tick of it; they are only to be looked at."""
    if not bar.changes:
        return bar.keys
    keys = dict(bar.keys)
    for at, staff, key in sorted(bar.changes, key=lambda change: change[0]):
        if at <= until:
            set_key(keys, staff, key)
    return keys


def _differ(one: Keys, other: Keys) -> bool:
    """Return whether any staff has another key signature."""
    return one != other and any(one.get(staff, one[None]).alters != other.get(staff, other[None]).alters for staff in {*one, *other})
