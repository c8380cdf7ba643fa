"""Alberti bass: groups of four notes, low, high, middle, high, of one chord each.

Conventions
-----------
* Notes of equal value (the last may be longer), groups that begin on a beat; two groups or more, each with its own chord if need be.
* The three tones are in close position above the lowest note. A seventh chord means three of its notes (``chords.rungs``, sparse).
* The test is membership in one chord: C C′ B C′ is no Alberti bass. One note in a group may break it (a suspension); it is odd, dark.
* The same harmony over another bass note is no change of chord, but that bass note is dark.

Rule
----
Anchors are the lowest note of a group wherever the chord or the lowest note changes, and the odd notes. All others are the first and
second chord tone above the lowest note of their group.

Source: common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from functools import lru_cache
from operator import ne

from annotator.figures.assembly import figure_of
from annotator.figures.figure import Change, Covered, Figure, Spelling
from annotator.figures.harmony import Row, on_the_beat, row_of, shared_by_voices
from annotator.figures.label_data import LabelData, first_chord
from annotator.lines import Event, Line
from annotator.settings import Options
from annotator.theory.chords import Chord, rungs, same_harmony

KIND = "alberti-bass"
GROUP = 4
PATTERN = (0, 2, 1, 2)
"""The chord tones of a group, counted from its lowest note."""


def detect_alberti_bass(line: Line, options: Options) -> list[Figure]:
    """Return the longest stretches of Alberti bass in a line."""
    found: list[Figure] = []
    row = row_of(line)
    starts = _starts_of(row)
    if starts:
        for first, stop, _ in row.own(line):
            found.extend(_chains(line, row, starts[bisect_left(starts, first) : bisect_right(starts, stop - GROUP)], stop))
    return found


def _starts_of(row: Row) -> list[int]:
    """Return where four notes go as the pattern does; each row is looked through once."""
    kept: list[int] | None = row.__dict__.get("alberti starts")
    if kept is None:
        keys = row.keys
        kept = row.__dict__["alberti starts"] = [
            i
            for i, (low, high, middle, again) in enumerate(zip(keys, keys[1:], keys[2:], keys[3:], strict=False))
            if high == again and low < middle < high
        ]
    return kept


def _chains(line: Line, row: Row, starts: Sequence[int], end: int) -> Iterator[Figure]:
    """Yield a figure for each chain of groups that lies before ``end``."""
    events = row.events
    done = 0
    for start in starts:
        if start < done or row.group(start, GROUP).chord is None or not on_the_beat(line, events[start], GROUP * events[start].ticks):
            continue
        chords: list[Chord] = []
        place = start
        while place + GROUP <= end:
            group = row.group(place, GROUP)
            chord = _chord_in_force(group.keys, group.chord, chords[-1] if chords else None)
            if chord is None and chords and place + 2 * GROUP <= end:  # a suspension: the chord it falls to is the next group's
                coming = row.group(place + GROUP, GROUP).chord
                chord = coming if coming is not None and _odd(group.keys, coming) <= 1 else None
            if chord is None:
                break
            chords.append(chord)
            place += GROUP
        if len(chords) > 1:
            done = place
            figure = _figure(line, events[start:place], row.keys[start:place], chords)
            if figure is not None:
                yield figure


def _chord_in_force(keys: Sequence[int], named: Chord | None, before: Chord | None) -> Chord | None:
    """Return the chord a group stands under: its own, or the one before, whichever gives all; None if neither."""
    own = _odd(keys, named) if named is not None else GROUP
    if own == 0 and named is not None:
        return before if before is not None and same_harmony(named, before) else named
    if before is not None and _odd(keys, before) <= 1:
        return before
    return named if own <= 1 else None


def _odd(keys: Sequence[int], chord: Chord) -> int:
    """Return how many notes of a group its lowest note and a chord do not give; all where the lowest note is no tone of the chord."""
    given = _group(chord, keys[0])
    return GROUP if given is None else sum(map(ne, keys, given))


@lru_cache(maxsize=4096)
def _group(chord: Chord, bass: int) -> tuple[int, ...] | None:
    """Return the four keys of a group above its lowest, or None where that is no tone of the chord."""
    try:
        ladder = rungs(chord, bass % 12, sparse=True)
    except ValueError:
        return None
    return tuple(bass + ladder[place] for place in PATTERN)


def _figure(line: Line, events: Sequence[Event], keys: Sequence[int], chords: list[Chord]) -> Figure | None:
    """Make the figure of a chain of groups."""
    if not shared_by_voices(line, events[:GROUP]):
        return None
    anchors, odd, changes = [], [], []
    for number, chord in enumerate(chords):
        at = number * GROUP
        changed = number == 0 or not same_harmony(chord, chords[number - 1])
        if changed:
            changes.append(Change(at, events[at].notes[0], chord))
        if changed or keys[at] != keys[at - GROUP]:
            anchors.append(events[at].notes[0])
        given = _group(chord, keys[at]) or ()
        odd += [events[at + i].notes[0] for i, key in enumerate(given) if key != keys[at + i]]
    return figure_of(line, KIND, events, anchors, odd, chord=chords[0], changes=tuple(changes), group=GROUP)


def spell_out_alberti_bass(covered: Covered) -> Spelling:
    """Rebuild an Alberti bass from its chords and its dark notes."""
    chords = dict(covered.changes)
    keys: list[int] = []
    bass: int | None = None
    chord: Chord | None = None
    for at in range(0, len(covered.slots), GROUP):
        chord = chords.get(at, chord)
        dark = covered.slots[at].known[0]
        bass = int(dark.semitone) if dark is not None else bass
        given = _group(chord, bass) if chord is not None and bass is not None else None
        if given is None:
            raise ValueError("the chord does not stand on its lowest note")
        known = [slot.known[0] for slot in covered.slots[at : at + GROUP]]
        keys += [rule if note is None else int(note.semitone) for rule, note in zip(given, known, strict=True)]
    return tuple((key,) for key in keys)


def label(figure: Figure) -> LabelData:
    """Name the chord it begins with."""
    return LabelData(chord=first_chord(figure))
