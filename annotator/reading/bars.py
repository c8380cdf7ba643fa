"""Bars and notes drafted → finished: lengths of bars, edges that no figure may cross; times, keys, beams, ties of notes, signs in force.

Conventions
-----------
* A bar that agrees with its time signature (but for rounded durations) is as long as that says; any other is as long as its content.
* Short bars that fill one bar together (split at a repeat or a line end) are one bar to the counting player: the later ones carry as
  ``offset`` what the earlier ones filled. A first or implicit short bar is an upbeat; its beats count from the end.
* A bar that is too short or too long without any such reason stays as written; the next bar's left edge is ``cut``.
* Beam groups are those of the first beam level, numbered through the part; grace notes are beamed among themselves. Chord members belong
  to the group of the note they are struck with. A note whose pitch cannot be understood takes its time but is left out, and that is named.
* A note that stops a tie continues the note of the same part and the same key of the keyboard that starts one and ends where it begins.
  Of several, the one of the same voice and staff; each note is continued once. A stop without such a start (a second ending, a slip)
  leaves the note struck, and is named.
* A sign holds on its staff, for its letter in its octave, from just after its moment to the end of the bar *(practice)*. Signs are worked
  out from the pitches, over all voices in time order, at one moment grace notes first. A hidden note prints no sign. A tied-on note needs
  none, so it sets none, unless one is printed on it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache, partial
from itertools import pairwise

from annotator.music.score import Bar, Key, Note, Part, Pitch, Sign
from annotator.reading.beside import Keys, set_key
from annotator.reading.document import Repairs
from annotator.reading.measures import BarDraft
from annotator.reading.notes import Draft

LONGEST_SPLIT = 8  # bars that may fill one bar together


def full_bar(bar: BarDraft, resolution: int) -> int | None:
    """Return the ticks of a full bar, or None in free time."""
    return None if bar.time is None else round(bar.time.quarters * resolution)


def bar_ticks(bar: BarDraft, resolution: int, tolerance: int) -> int:
    """Return how many ticks a bar takes."""
    full = full_bar(bar, resolution)
    if full is None:
        return max(bar.content, bar.resting)
    filled = max(bar.content, min(bar.resting, full))
    only_rests = bar.content == 0 and bar.index > 0 and not bar.measure.implicit
    return full if filled == 0 or only_rests or abs(filled - full) <= tolerance else filled


def find_upbeats(bars: Sequence[BarDraft], resolution: int, repairs: Repairs) -> None:
    """Fill in what is missing before the first note of each bar, and name those that fail their time signature without reason."""
    fulls = [full_bar(bar, resolution) for bar in bars]
    pieces = _split_bars(bars, fulls)
    for bar, full in zip(bars, fulls, strict=True):
        if full is None or bar.ticks == full or bar.index in pieces:
            continue
        if bar.ticks > full:
            bar.faulty = not bar.measure.implicit
        elif bar.index == 0 or bar.measure.implicit:
            bar.offset = full - bar.ticks
        else:
            bar.faulty = not _ends_section(bars, bar.index)
        if bar.faulty:
            wrong = "longer" if bar.ticks > full else "shorter"
            repairs.add(f"bars {wrong} than their time signature, read as written, no figure crosses their end", bar.place)


def _ends_section(bars: Sequence[BarDraft], index: int) -> bool:
    """Return whether a short bar may be short: at the end, before a double bar or repeat, before an upbeat."""
    if index + 1 >= len(bars) or bars[index].right:
        return True
    following = bars[index + 1]
    return following.left or following.measure.implicit


def _split_bars(bars: Sequence[BarDraft], fulls: Sequence[int | None]) -> set[int]:
    """Return the indexes of the bars that are pieces of a split one, and fill in what the pieces before each of them have filled."""
    found: set[int] = set()
    start = 0
    while start < len(bars):
        full, pieces, filled = fulls[start], [start], bars[start].ticks
        while full is not None and filled < full and len(pieces) < LONGEST_SPLIT and pieces[-1] + 1 < len(bars):
            piece = pieces[-1] + 1
            if fulls[piece] != full or (start == 0 and not bars[piece].measure.implicit):
                break
            pieces.append(piece)
            filled += bars[piece].ticks
        if len(pieces) > 1 and filled == full:
            for before, piece in pairwise(pieces):
                bars[piece].offset = bars[before].offset + bars[before].ticks
            found.update(pieces)
            start = pieces[-1]
        start += 1
    return found


def finished_bars(bars: Sequence[BarDraft], notes: Sequence[Note], resolution: int) -> tuple[Bar, ...]:
    """Return the bars of a part, whose upbeats have been found; ``notes`` are all its notes."""
    endings = _voltas(bars)
    ends = [*(bar.first_note for bar in bars[1:]), len(notes)]
    return tuple(
        Bar(
            bar.index,
            bar.measure.number,
            quarters_at(bar.start, resolution),
            bar.start,
            bar.ticks,
            start_keys(bar)[None],
            bar.time,
            before is not None and _is_cut(before, bar),
            bar.offset,
            bar_signs(notes[bar.first_note : end]),
            bar.double_left or (before is not None and before.double_right),
            bar.repeat_before,
            bar.repeat_after,
            volta,
        )
        for before, bar, end, volta in zip((None, *bars), bars, ends, endings, strict=False)
    )


def _is_cut(before: BarDraft, bar: BarDraft) -> bool:
    """Return whether no figure may cross the edge between two bars."""
    if before.right or bar.left or before.broken or bar.broken or before.faulty:
        return True
    last, first = start_keys(before, max(0, before.ticks - 1)), start_keys(bar)
    return last != first and any(last.get(staff, last[None]).alters != first.get(staff, first[None]).alters for staff in {*last, *first})


def _voltas(bars: Sequence[BarDraft]) -> list[str | None]:
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


@lru_cache(maxsize=1 << 16)
def quarters_at(tick: int, resolution: int) -> Fraction:
    """Return a time in quarter notes; equal times share one ``Fraction``."""
    return Fraction(tick, resolution)


class Placing:
    """Finishes the notes of one part."""

    def __init__(self, part: str, resolution: int, repairs: Repairs) -> None:
        self._part = part
        self._resolution = resolution
        self._repairs = repairs
        self._groups: dict[tuple[str, bool], int] = {}
        self._beams = 0

    def place(self, bar: BarDraft) -> list[Note]:
        """Return the notes of a bar in document order, with all that is known of them but their ties."""
        keys = start_keys(bar)
        beam: int | None = None
        placed = []
        for note in bar.notes:
            if note.beam:
                beam = self._group(note)
            elif not note.chord:
                beam = None
            if note.pitch is None:
                self._repairs.add("notes without a pitch that makes sense, left out", bar.place)
                continue
            now = start_keys(bar, note.tick) if bar.changes else keys
            placed.append(self._note(note, note.pitch, bar, now.get(note.staff, now[None]), beam))
        return placed

    def _note(self, note: Draft, pitch: Pitch, bar: BarDraft, key: Key, beam: int | None) -> Note:
        """Return a note at its place."""
        element, tick = note.element, bar.start + note.tick
        named = element.keys()  # to ask for one that is not there takes longer than to list them all
        return Note(
            note.number,
            (element.get("id") if "id" in named else None) or f"n{note.number}",
            pitch,
            quarters_at(tick, self._resolution),
            quarters_at(note.ticks, self._resolution),
            tick,
            note.ticks,
            self._part,
            bar.index,
            note.staff,
            note.voice,
            key,
            note.chord,
            note.tie_start,
            note.tie_stop,
            None,
            note.grace,
            note.cue,
            "print-object" in named and element.get("print-object") == "no",
            note.tablature,
            note.tuplet,
            beam,
            note.accidental,
            note.rolled,
            element,
        )

    def _group(self, note: Draft) -> int | None:
        """Return the beam group of a note, opening and closing groups as its beam says."""
        kind, voice = note.beam, (note.voice, note.grace)
        if kind not in ("continue", "begin", "end"):
            return None
        group = self._groups.get(voice)
        if group is None or kind == "begin":
            self._beams += 1
            group = self._groups[voice] = self._beams
        if kind == "end":
            del self._groups[voice]
        return group


def with_ties(notes: Sequence[Note], bars: Sequence[BarDraft], tolerance: int, repairs: Repairs) -> tuple[Note, ...]:
    """Return the notes of one part, the tied-on ones with what they continue. Rounded durations may miss by the tolerance, in ticks."""
    open_ends: dict[int | Fraction, list[Note]] = defaultdict(list)
    for note in sorted([note for note in notes if note.tie_start], key=tie_end):
        open_ends[note.pitch.semitone].append(note)
    continues: dict[int, int] = {}
    taken: set[int] = set()
    for note in notes:
        if not note.tie_stop:
            continue
        ends = open_ends[note.pitch.semitone]
        first, last = bisect_left(ends, note.tick - tolerance, key=tie_end), bisect_right(ends, note.tick + tolerance, key=tie_end)
        near = [other for other in ends[first:last] if other.number not in taken and other.number != note.number]
        if not near:
            repairs.add("ties that begin nowhere, their notes read as struck", bars[note.bar].place)
            continue
        origin = max(near, key=partial(_suits, note))
        taken.add(origin.number)
        continues[note.number] = origin.number
    return tuple([replace(note, continues=continues[note.number]) if note.number in continues else note for note in notes])


def tie_end(note: Note) -> int:
    """Return the tick at which a note ends, and a tie that it starts goes on."""
    return note.tick + note.ticks


def _suits(note: Note, other: Note) -> tuple[int, ...]:
    """Return how well a note is continued by another: ends nearest, the earlier of two; same voice, staff and spelling; latest."""
    end = tie_end(other)
    return -abs(end - note.tick), -end, other.voice == note.voice, other.staff == note.staff, other.pitch == note.pitch, other.number


def bar_signs(notes: Iterable[Note]) -> tuple[Sign, ...]:
    """Return the signs that take effect in a bar, sorted by tick, from its notes."""
    return tuple([Sign(note.tick, note.staff, note.pitch.step, note.pitch.octave, note.pitch.alter) for note in notes_with_signs(notes)])


def notes_with_signs(notes: Iterable[Note]) -> Iterator[Note]:
    """Yield those of a bar's notes that need a sign, sorted by tick: the key and the signs before them say otherwise."""
    force: dict[tuple[int, int], int | Fraction] = {}
    for note in sorted(notes, key=lambda note: (note.tick, not note.grace, note.number)):
        if note.hidden or note.tablature or (note.continues is not None and note.accidental is None):
            continue
        pitch = note.pitch
        place = note.staff, pitch.diatonic
        if pitch.alter != force.get(place, note.key.alters[pitch.diatonic % 7]):
            force[place] = pitch.alter
            yield note


def bars_without(part: Part, hidden: Container[int]) -> tuple[Bar, ...]:
    """Return the bars of a part with those signs alone that stand on other notes than the hidden ones, told by their numbers."""
    seen: dict[int, list[Note]] = defaultdict(list)
    for note in part.notes:
        if note.number not in hidden:
            seen[note.bar].append(note)
    return tuple([replace(bar, signs=bar_signs(seen[bar.index])) if bar.signs else bar for bar in part.bars])
