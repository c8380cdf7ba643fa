"""Double notes: one hand in thirds, fourths, sixths, octaves or tenths.

Conventions
-----------
* Four pairs at least, of any rhythm, with the same generic interval throughout. Each is joined to the one before, or parted from it by a
  rest no longer than that one. A pair beside a note held over by a tie is none.
* The leading line is the top note of each pair in the right hand, the bottom note in the left. Its notes are the anchors.
* Where the leading line is itself a run of five notes or more (in octaves also an arpeggio), the pairs at its anchors are.
* ``scale`` and ``direction`` are set where the leading line moves by step throughout, in legs long enough for a run.
* A row that goes by semitones keeps the size of its first pair (``exact``), however its notes are spelled.

Rule
----
The other note is so many letters from the leading one; its alteration is that of the scale named, else that of an unmarked note there.
In octaves it is the same name. Otherwise it is odd, and dark.

Source: common practice, no source; that an octave is read as one shape: Aiba and Sakaguchi, Frontiers in Psychology 9 (2018), 2192.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from annotator.figures.arpeggios import detect_arpeggios, spell_out_arpeggio
from annotator.figures.figure import CannotSpellOut, Covered, Figure, LabelData, Spelling, figure_of, lawful_spans, stations
from annotator.figures.lines import Event, Line
from annotator.figures.runs import (
    JOINED_LEG,
    detect_chromatic_runs,
    every_scale_run,
    spell_out_chromatic_run,
    spell_out_scale_run,
)
from annotator.music.intervals import LETTERS, direction_of, goes_by_step, is_given, shortest_leg, ways
from annotator.music.names import Scale
from annotator.music.scales import has_all_letters, name_whole_run
from annotator.music.score import Note, Pitch

FEWEST = 4  # pairs
LED = 5  # fewest pairs of which a run tells the leading notes; of fewer all of these are dark
INTERVALS = {LETTERS[interval]: interval for interval in ("third", "fourth", "sixth", "octave", "tenth")}
"""The intervals that have a kind of their own, by the letters they are wide."""


def detect_double_notes(line: Line) -> Iterator[Figure]:
    """Yield the rows of thirds, fourths, sixths, octaves and tenths that one hand plays together, in a line."""
    if line.scope == "shared":
        return
    for row in _rows_of_pairs(line):
        for first, stop in _stretches(_letters(event) for event in row.events):
            pairs, interval = row.slice(first, stop), INTERVALS.get(_letters(row.events[first]))
            if interval:
                yield from _plain(pairs, interval)
                yield from _led_by_figure(pairs, interval)
        for first, stop in _stretches(event.notes[1].pitch.semitone - event.notes[0].pitch.semitone for event in row.events):
            yield from _chromatic(row.slice(first, stop))


def spell_out_double_notes(covered: Covered) -> Spelling:
    """Rebuild the leading line, then the other note of each pair from it.

    Rule:

    * ``parallel-…``: The other note of each pair lies {interval} away, in the key or in the scale that is named; a run or arpeggio that is
      named leads the pairs from one black pair to the next.
    * ``parallel-octaves``: The other note of each pair is the same note an octave away; a run or arpeggio that is named leads the pairs
      from one black pair to the next.
    """
    if covered.interval not in LETTERS:
        raise CannotSpellOut("double notes need their interval")
    lead = -1 if covered.hand == "right" else 0
    keys = _leading_keys(covered, lead)
    if covered.exact:
        first = covered.slots[0]
        size = int(first.dark(1).semitone - first.dark(0).semitone)
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
        slot._replace(known=(pitch,), odd=(slot.odd[lead],), staff=(slot.staff[lead],))
        for slot, pitch in zip(covered.slots, known, strict=True)
    )
    line = covered._replace(slots=slots)
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
    moments = zip(covered.slots, diatonics, ways(diatonics), strict=True)
    return [slot.by_letter(at + letters, covered.scale, up, 0 if lead else 1) for slot, at, up in moments]


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
                raise CannotSpellOut("the anchors are not as many steps apart as there are notes")
            before, way = diatonics[-1], 1 if rise > 0 else -1
            diatonics.extend(before + way * step for step in range(1, gap + 1))
        diatonics.append(pitch.diatonic)
    return diatonics


def _rows_of_pairs(line: Line) -> Iterator[Line]:
    """Yield the longest rows of events of two notes, joined or parted by short rests, as lines."""
    first = 0
    for place, event in enumerate(line.events):
        pair = len(event.notes) == 2 and event.whole
        if not (pair and (event.joined or (place > first and line.near(place)))):
            if place - first >= FEWEST:
                yield line.slice(first, place)
            first = place if pair else place + 1
    if len(line) - first >= FEWEST:
        yield line.slice(first, len(line))


def _letters(pair: Event) -> int:
    """Return how many letters a pair is wide."""
    return pair.notes[1].pitch.diatonic - pair.notes[0].pitch.diatonic


def _stretches(widths: Iterable[object]) -> Iterator[tuple[int, int]]:
    """Yield the ranges (first, stop), long enough, of pairs equally wide."""
    first = 0
    for _, equal in groupby(widths):
        stop = first + len(list(equal))
        if stop - first >= FEWEST:
            yield first, stop
        first = stop


def _lead_of(line: Line) -> int:
    """Return the place in a pair of the note that leads."""
    return -1 if line.hand == "right" else 0


def _leading_line(line: Line) -> Line:
    """Return the leading notes of pairs as a line."""
    lead = _lead_of(line)
    return replace(line, events=tuple([event._replace(notes=(event.notes[lead],)) for event in line.events]))


def _plain(line: Line, interval: str) -> Iterator[Figure]:
    """Yield a row with all its leading notes dark, cut where too many of the others are odd."""
    lead = _lead_of(line)
    diatonics = [event.notes[lead].pitch.diatonic for event in line.events]
    by_step = goes_by_step(diatonics) and shortest_leg(diatonics) >= JOINED_LEG
    pitches, first_bar, key = [event.notes[lead].pitch for event in line.events], line.events[0].bar, line.events[0].notes[lead].key
    scale = name_whole_run(pitches, key, key.alters, line.keys[first_bar]) if by_step else None
    odd = _odd(line, line.events, interval, scale)
    for first, stop in lawful_spans([2] * len(line), [event.tick in odd for event in line.events]):
        events = line.events[first:stop]
        if stop - first < FEWEST:
            continue
        figure = figure_of(
            line,
            f"parallel-{interval}s",
            events,
            [event.notes[lead] for event in events],
            [odd[event.tick] for event in events if event.tick in odd],
            interval=interval,
            scale=scale,
            direction=direction_of(diatonics[first:stop]) if scale else None,
        )
        if figure:
            yield figure


def _odd(line: Line, events: Sequence[Event], interval: str, scale: Scale | None) -> dict[int, Note]:
    """Return by tick the notes beside the leading ones that the rule does not give."""
    lead = _lead_of(line)
    odd = {}
    for event, rising in zip(events, ways([event.notes[lead].pitch.diatonic for event in events]), strict=True):
        leading, other = event.notes[lead], event.notes[1 + lead]
        right = other.pitch.alter == leading.pitch.alter if interval == "octave" else is_given(other, scale, rising, line.bars)
        if not right:
            odd[event.tick] = other
    return odd


def _led_by_figure(line: Line, interval: str) -> Iterator[Figure]:
    """Yield the parts of a row in which the leading line is a run of a scale, in octaves also a chromatic run or an arpeggio."""
    alone = _leading_line(line)
    for run in every_scale_run(alone, LED):
        if interval == "octave" or (run.scale and has_all_letters(run.scale)):
            yield from _in_pairs(line, run, interval)
    if interval == "octave":
        for figure in (*detect_chromatic_runs(alone, LED), *detect_arpeggios(alone)):
            yield from _in_pairs(line, figure, interval)


def _chromatic(line: Line) -> Iterator[Figure]:
    """Yield the parts of a row of one size in which the leading line is a chromatic run. The first pair names the interval."""
    for run in detect_chromatic_runs(_leading_line(line), LED):
        first = next(event for event in line.events if event.tick == run.moments[0][0].tick)
        interval = INTERVALS.get(_letters(first))
        if interval and interval != "octave":
            yield from _in_pairs(line, run, interval)


def _in_pairs(line: Line, run: Figure, interval: str) -> Iterator[Figure]:
    """Yield the figure of the pairs that a figure of the leading line stands for."""
    first = next(place for place, event in enumerate(line.events) if event.tick == run.moments[0][0].tick)
    events = line.events[first : first + len(run.moments)]
    exact = interval != "octave" and run.scale is not None and run.scale.type == "chromatic"
    others = {} if exact else _odd(line, events, interval, run.scale if interval != "octave" else None)
    odd = {note.tick for note in run.odd}
    pillars = {note.tick for note in run.anchors} - odd
    anchors = [note for event in events if event.tick in pillars for note in event.notes]
    figure = figure_of(
        line,
        f"parallel-{interval}s",
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


def label(figure: Figure) -> LabelData:
    """Name the interval, and the run or arpeggio that it is of, if it is of one."""
    if figure.scale is None and figure.chord is None:
        return LabelData("plain")
    path = stations(figure)
    if figure.scale is None:
        return LabelData("chord", chord=figure.chord, path=path)
    if figure.scale.type == "chromatic":
        return LabelData("chromatic", path=path)
    return LabelData("scale", scale=figure.scale, path=path)
