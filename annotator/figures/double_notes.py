"""Double notes: one hand in thirds, fourths, sixths, octaves or tenths.

Conventions
-----------
* Four pairs at least, each joined to the one before, of any rhythm, with the same generic interval throughout.
* The leading line is the top note of each pair in the right hand, the bottom note in the left. Its notes are the anchors.
* Where the leading line is itself a run (in octaves also an arpeggio), the anchors are that figure's anchors, in pairs.
* ``scale`` and ``direction`` are set where the leading line moves by step throughout, in legs long enough for a run.
* A row that goes by semitones keeps the size of its first pair (``exact``), however its notes are spelled.

Rule
----
The other note is so many letters from the leading one; its alteration is that of the scale named, else that of an unmarked note there.
In octaves it is the same name. Otherwise it is odd, and dark.

Source: common practice, no source; that an octave is read as one shape: Aiba and Sakaguchi, Frontiers in Psychology 9 (2018), 2192.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from annotator.figures.arpeggios import detect_arpeggios, spell_out_arpeggio
from annotator.figures.assembly import figure_of, lawful_spans
from annotator.figures.equal import equal_stretches
from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.legs import JOINED_LEG
from annotator.figures.runs import (
    detect_chromatic_runs,
    detect_scale_runs,
    spell_out_chromatic_run,
    spell_out_scale_run,
)
from annotator.figures.stepping import DOWN, OTHER, UP
from annotator.lines import Event, Line, make_event
from annotator.score import Note, Pitch
from annotator.settings import Options
from annotator.theory.intervals import LETTERS, direction_of, goes_by_step, in_scale, shortest_leg, unmarked, ways
from annotator.theory.names import Scale
from annotator.theory.scales import COLLECTIONS, name_run

FEWEST = 4  # pairs
FIRST, JOINED, ALONE = "|", "=", "."  # a pair that is not joined to the event before, one that is, and what is no pair
_ROW = re.compile(f"[{FIRST}{JOINED}]{JOINED}{{{FEWEST - 1},}}")
OCTAVE = LETTERS["octave"]


@dataclass(frozen=True, slots=True)
class Row:
    """A row of pairs: its ``first`` event, and the parts of it that are long enough, as first event and the event after the last.

    ``letters`` are the longest parts of pairs equally many letters wide, and how many; ``sizes`` those of pairs equally many semitones
    wide, and the letters that such pairs are wide.
    """

    first: int
    stop: int
    letters: list[tuple[int, int, int]]
    sizes: list[tuple[int, int, set[int]]]


def _detector(interval: str) -> Callable[[Line, Options], Iterator[Figure]]:
    """Return the detector of one interval."""
    letters, kind = LETTERS[interval], f"parallel-{interval}s"

    def detect(line: Line, options: Options) -> Iterator[Figure]:
        """Yield the figures of one line."""
        if line.scope == "shared":
            return
        for row in _double_notes(line):
            for first, stop, wide in row.letters:
                if wide == letters:
                    pairs = line.slice(first, stop)
                    yield from _plain(pairs, kind, interval)
                    yield from _led_by_run(pairs, kind, interval, options)
            for first, stop, wides in row.sizes:
                if letters in wides and letters != OCTAVE:
                    yield from _chromatic(line.slice(first, stop), kind, interval, options)

    detect.__doc__ = f"Yield the rows of {interval}s that one hand plays together, in a line."
    return detect


detect_parallel_thirds = _detector("third")
detect_parallel_fourths = _detector("fourth")
detect_parallel_sixths = _detector("sixth")
detect_parallel_octaves = _detector("octave")
detect_parallel_tenths = _detector("tenth")


def spell_out_double_notes(covered: Covered) -> Spelling:
    """Rebuild the leading line, then the other note of each pair from it."""
    lead = -1 if covered.hand == "right" else 0
    keys = _leading_keys(covered, lead)
    if covered.exact:
        first = covered.slots[0].known
        assert first[0] is not None and first[1] is not None
        size = int(first[1].semitone - first[0].semitone)
        others: list[int] = [key - size if lead else key + size for key in keys]
    elif covered.interval == "octave":
        others = [key - 12 if lead else key + 12 for key in keys]
    else:
        others = [int(pitch.semitone) for pitch in _others(covered, lead)]
    spelled = []
    for slot, key, other in zip(covered.slots, keys, others, strict=True):
        known = slot.known[0 if lead else 1]
        second = other if known is None else int(known.semitone)
        spelled.append((second, key) if lead else (key, second))
    return tuple(spelled)


def _leading_keys(covered: Covered, lead: int) -> list[int]:
    """Return the keys of the leading line, from its notes where all are dark, else from the run or arpeggio it is."""
    known = [slot.known[lead] for slot in covered.slots]
    if all(known):
        return [int(pitch.semitone) for pitch in known if pitch]
    slots = tuple(
        replace(slot, known=(pitch,), odd=(slot.odd[lead],), staff=(slot.staff[lead],))
        for slot, pitch in zip(covered.slots, known, strict=True)
    )
    line = replace(covered, slots=slots)
    if covered.chord:
        keys = spell_out_arpeggio(line)
    elif covered.scale and covered.scale.type == "chromatic":
        keys = spell_out_chromatic_run(line)
    else:
        keys = spell_out_scale_run(line)
    return [key for (key,) in keys]


def _others(covered: Covered, lead: int) -> list[Pitch]:
    """Return the other note of each pair, by letters, as the scale or the page gives it."""
    diatonics = _filled([slot.known[lead] for slot in covered.slots])
    letters = LETTERS[covered.interval or ""] * (-1 if lead else 1)
    scale = covered.scale
    if scale is not None:
        return [in_scale(scale, at + letters, up) for at, up in zip(diatonics, ways(diatonics), strict=True)]
    place = 0 if lead else 1
    return [
        unmarked(slot.bar, slot.staff[place], slot.tick, slot.key, at + letters)
        for slot, at in zip(covered.slots, diatonics, strict=True)
    ]


def _filled(known: Sequence[Pitch | None]) -> list[int]:
    """Return the diatonic numbers of a line that goes from each known note to the next in one direction by step."""
    diatonics: list[int] = []
    for place, pitch in enumerate(known):
        if pitch is None:
            continue
        gap = place - len(diatonics)
        if gap:
            rise = pitch.diatonic - diatonics[-1]
            if abs(rise) != gap + 1:
                raise ValueError("the anchors are not as many steps apart as there are notes")
            before, way = diatonics[-1], 1 if rise > 0 else -1
            diatonics.extend(before + way * step for step in range(1, gap + 1))
        diatonics.append(pitch.diatonic)
    return diatonics


def _double_notes(line: Line) -> list[Row]:
    """Return the rows of joined events of two notes; each line is looked through once, whichever the interval."""
    kept: list[Row] | None = line.__dict__.get("double notes")
    if kept is None:
        pairs = [
            ALONE if len(event.notes) != 2 or not event.whole else JOINED if event.joined else FIRST for event in line.events
        ]
        kept = line.__dict__["double notes"] = [_row(line, *row.span()) for row in _ROW.finditer("".join(pairs))]
    return kept


def _row(line: Line, first: int, stop: int) -> Row:
    """Return a row of pairs and the parts of it."""
    pairs = [event.notes for event in line.events[first:stop]]
    letters = [high.pitch.diatonic - low.pitch.diatonic for low, high in pairs]
    sizes = [high.pitch.semitone - low.pitch.semitone for low, high in pairs]
    return Row(
        first,
        stop,
        [(first + begin, first + end, letters[begin]) for begin, end in _equal(letters)],
        [(first + begin, first + end, set(letters[begin:end])) for begin, end in _equal(sizes)],
    )


def _equal(widths: Sequence[Hashable]) -> Iterable[tuple[int, int]]:
    """Return where enough pairs in a row are equally wide; mostly their widths are too different for that."""
    return () if len(widths) - len(set(widths)) < FEWEST - 1 else equal_stretches(widths, 1, FEWEST)


def _lead(line: Line) -> int:
    """Return the place in a pair of the note that leads."""
    return -1 if line.hand == "right" else 0


def _plain(line: Line, kind: str, interval: str) -> Iterator[Figure]:
    """Yield a row with all its leading notes dark, cut where too many of the others are odd."""
    lead = _lead(line)
    diatonics = [event.notes[lead].pitch.diatonic for event in line.events]
    scale = _scale_of(line, lead) if goes_by_step(diatonics) and shortest_leg(diatonics) >= JOINED_LEG else None
    odd = _odd(line, line.events, interval, scale)
    for first, stop in lawful_spans([2] * len(line), [event.tick in odd for event in line.events]):
        events = line.events[first:stop]
        if stop - first < FEWEST:
            continue
        figure = figure_of(
            line,
            kind,
            events,
            [event.notes[lead] for event in events],
            [odd[event.tick] for event in events if event.tick in odd],
            interval=interval,
            scale=scale,
            direction=direction_of(diatonics[first:stop]) if scale else None,
        )
        if figure:
            yield figure


def _scale_of(line: Line, lead: int) -> Scale | None:
    """Return the scale that a leading line by step belongs to, if every letter has one note in it."""
    first = line.events[0]
    key = first.notes[lead].key
    scale = name_run([event.notes[lead].pitch for event in line.events], key, key.alters, line.keys[first.bar])
    return None if scale is None or scale.type in COLLECTIONS else scale


def _odd(line: Line, events: Sequence[Event], interval: str, scale: Scale | None) -> dict[int, Note]:
    """Return by tick the notes beside the leading ones that the rule does not give."""
    lead = _lead(line)
    letters = LETTERS[interval] * (-1 if lead else 1)
    rising = ways([event.notes[lead].pitch.diatonic for event in events]) if scale else []
    odd = {}
    for place, event in enumerate(events):
        leading, other = event.notes[lead], event.notes[1 + lead]
        if interval == "octave":
            right = other.pitch.alter == leading.pitch.alter
        elif scale:
            right = other.pitch == in_scale(scale, leading.pitch.diatonic + letters, rising[place])
        else:
            bar = line.bars[other.bar]
            right = other.pitch == unmarked(bar, other.staff, event.tick, other.key, other.pitch.diatonic)
        if not right:
            odd[event.tick] = other
    return odd


def _leading(line: Line) -> Line:
    """Return the leading notes of pairs in a row as a line; it is part of that of all the row, which is made once."""
    whole = line if line.whole is None else line.whole
    rows = _double_notes(whole)
    row = rows[bisect_right(rows, line.first, key=lambda row: row.first) - 1]
    kept: dict[int, Line] = whole.__dict__.setdefault("leading notes", {})
    if row.first not in kept:
        lead = _lead(line)
        events = [
            make_event((event.notes[lead],), event.tick, event.ticks, event.end, event.bar, event.joined, event.whole)
            for event in whole.events[row.first : row.stop]
        ]
        kept[row.first] = replace(whole, events=tuple(events))
    return kept[row.first].slice(line.first - row.first, line.first - row.first + len(line))


def _led_by_run(line: Line, kind: str, interval: str, options: Options) -> Iterator[Figure]:
    """Yield the parts of a row in which the leading line is a figure of its own."""
    if interval != "octave" and not _may_run(line):
        return
    alone = _leading(line)
    found = list(detect_scale_runs(alone, options))
    if interval == "octave":
        found += [*detect_chromatic_runs(alone, options), *detect_arpeggios(alone, options)]
    for run in found:
        if interval == "octave" or (run.scale and run.scale.type not in COLLECTIONS):
            yield from _in_pairs(line, run, kind, interval)


def _may_run(line: Line) -> bool:
    """Return whether the leading notes of some pairs go up, or down, by small steps for as long as a leg of a run at least."""
    lead = _lead(line)
    keys = [event.notes[lead].pitch.semitone for event in line.events]
    steps = "".join([UP if 0 < after - before < 4 else DOWN if -4 < after - before < 0 else OTHER for before, after in pairwise(keys)])
    return UP * (JOINED_LEG - 1) in steps or DOWN * (JOINED_LEG - 1) in steps


def _chromatic(line: Line, kind: str, interval: str, options: Options) -> Iterator[Figure]:
    """Yield the parts of a row of one size in which the leading line is a chromatic run from a pair of the interval."""
    alone = _leading(line)
    for run in detect_chromatic_runs(alone, options):
        first = next(event for event in line.events if event.tick == run.moments[0][0].tick)
        if first.notes[1].pitch.diatonic - first.notes[0].pitch.diatonic == LETTERS[interval]:
            yield from _in_pairs(line, run, kind, interval)


def _in_pairs(line: Line, run: Figure, kind: str, interval: str) -> Iterator[Figure]:
    """Yield the figure of the pairs that a run of the leading line stands for."""
    first = next(place for place, event in enumerate(line.events) if event.tick == run.moments[0][0].tick)
    events = line.events[first : first + len(run.moments)]
    exact = interval != "octave" and run.scale is not None and run.scale.type == "chromatic"
    others = {} if exact else _odd(line, events, interval, run.scale if interval != "octave" else None)
    odd = {note.tick for note in run.odd}
    pillars = {note.tick for note in run.anchors} - odd
    anchors = [note for event in events if event.tick in pillars for note in event.notes]
    figure = figure_of(
        line,
        kind,
        events,
        [*anchors, *run.anchors],
        [*run.odd, *(note for tick, note in others.items() if tick not in pillars)],
        interval=interval,
        scale=run.scale,
        chord=run.chord,
        direction=run.direction if run.scale else None,
        exact=exact,
    )
    if figure:
        yield figure

