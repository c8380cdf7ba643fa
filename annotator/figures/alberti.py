"""Alberti bass: groups of four notes, low, high, middle, high, of one chord each.

Conventions
-----------
* Notes of equal value (the last may be longer), groups that begin on a beat; two groups or more, each with its own chord if need be. One
  will do beside others, no more than a bar away, where a triad on its dark note gives all of it.
* The three tones are in close position above the lowest note; two, an open fifth, fill an octave in the left hand (C C′ G C′). A seventh
  chord means three of its notes (``chords.rungs``, sparse), if the chords beside it confirm it (``lines.Run.believed``).
* The test is membership in one chord: C C′ B C′ is no Alberti bass. One note in a group may break it (a suspension); it is odd, dark.
* The same harmony over another bass note is no change of chord, but that bass note is dark.

Rule
----
Anchors are the lowest note of a group wherever the chord or the lowest note changes, and the odd notes. All others are the first and
second chord tone above the lowest note of their group.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from operator import ne

from annotator.figures.figure import CannotSpellOut, Change, Covered, Figure, LabelData, Spelling, figure_of, first_chord
from annotator.figures.lines import Line, Run
from annotator.music.chords import QUALITIES, Chord, keys_above, open_fifth, same_harmony

KIND = "alberti-bass"
GROUP = 4
PATTERN = (0, 2, 1, 2)
"""The chord tones of a group, counted from its lowest note."""


def detect_alberti_bass(line: Line) -> Iterator[Figure]:
    """Yield the longest stretches of Alberti bass in a line."""
    found = list(_found(line))
    for number, figure in enumerate(found):
        if len(figure.moments) > GROUP or any(_beside(line, figure, other) for other in found[max(0, number - 1) : number + 2]):
            yield figure


def _beside(line: Line, figure: Figure, other: Figure) -> bool:
    """Return whether no more than a bar lies between a figure and another one."""
    first, last = sorted((figure, other), key=lambda each: each.moments[0][0].tick)
    before, after = first.moments[-1][0], last.moments[0][0]
    return figure is not other and after.tick - before.tick - before.ticks <= line.bars[before.bar].ticks


def _found(line: Line) -> Iterator[Figure]:
    """Yield the stretches of Alberti bass, single groups of a triad among them."""
    for run in line.own_runs:
        done = 0
        for place, (low, high, middle, again) in enumerate(zip(run.keys, run.keys[1:], run.keys[2:], run.keys[3:], strict=False)):
            event = run.events[place]
            if place < done or not low < middle < high == again or not line.bars[event.bar].on_count(event.tick, GROUP * event.ticks):
                continue
            chords = _chords_of_groups(run, place, line.hand)
            if len(chords) > 1 or (chords and _sure(run.keys[place : place + GROUP], chords[0])):
                done = place + GROUP * len(chords)
                figure = _figure(line, run, place, chords)
                if figure is not None:
                    yield figure


def _sure(keys: Sequence[int], chord: Chord) -> bool:
    """Return whether one group tells of a triad by itself."""
    return len(QUALITIES[chord.quality]) == 3 and _odd(keys, chord) == 0


def _chords_of_groups(run: Run, first: int, hand: str) -> list[Chord]:
    """Return the chords of groups, from the first note of the first one as far as the pattern goes; ``hand`` plays them."""
    chords: list[Chord] = []
    for place in range(first, len(run) - GROUP + 1, GROUP):
        keys = run.keys[place : place + GROUP]
        before = chords[-1] if chords else None
        named = run.believed(place, GROUP, before) or (open_fifth(run.pitches[place : place + GROUP]) if hand == "left" else None)
        chord = _chord_in_force(keys, named, before)
        if chord is None and chords:  # a suspension: the chord it falls to is the next group's
            coming = run.believed(place + GROUP, GROUP)
            chord = coming if coming is not None and _odd(keys, coming) <= 1 else None
        if chord is None:
            break
        chords.append(chord)
    return chords


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
    given = keys_above(chord, keys[0], PATTERN, sparse=True)
    return GROUP if given is None else sum(map(ne, keys, given))


def _figure(line: Line, run: Run, first: int, chords: list[Chord]) -> Figure | None:
    """Make the figure of the groups that begin at ``first``, unless one voice, or hand, has the first of them alone."""
    if not line.shares(run.events[first : first + GROUP]):
        return None
    notes, keys = run.notes[first:], run.keys[first:]
    anchors, odd, changes = [], [], []
    for number, chord in enumerate(chords):
        at = number * GROUP
        changed = number == 0 or not same_harmony(chord, chords[number - 1])
        if changed:
            changes.append(Change(at, notes[at], chord))
        if changed or keys[at] != keys[at - GROUP]:
            anchors.append(notes[at])
        given = keys_above(chord, keys[at], PATTERN, sparse=True) or ()
        odd += [notes[at + place] for place, key in enumerate(given) if key != keys[at + place]]
    events = run.events[first : first + GROUP * len(chords)]
    return figure_of(line, KIND, events, anchors, odd, chord=chords[0], changes=changes, group=GROUP)


def spell_out_alberti_bass(covered: Covered) -> Spelling:
    """Rebuild an Alberti bass from its chords and its dark notes.

    Rule: Low, high, middle, high of the named chord, close above the black low note; a seventh chord does without its fifth, or, with the
    fifth lowest, without its third.
    """
    chords = dict(covered.changes)
    keys: list[int] = []
    bass: int | None = None
    chord: Chord | None = None
    for at in range(0, len(covered.slots), GROUP):
        chord = chords.get(at, chord)
        known = [slot.known[0] for slot in covered.slots[at : at + GROUP]]
        bass = bass if known[0] is None else int(known[0].semitone)
        given = keys_above(chord, bass, PATTERN, sparse=True) if chord is not None and bass is not None else None
        if given is None:
            raise CannotSpellOut("the chord does not stand on the lowest note")
        keys += [rule if note is None else int(note.semitone) for rule, note in zip(given, known, strict=False)]
    return tuple((key,) for key in keys)


def label(figure: Figure) -> LabelData:
    """Name the chord it begins with."""
    return LabelData(chord=first_chord(figure))
