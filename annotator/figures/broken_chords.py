"""Broken chord: any repeated pattern of a chord's notes one after another, in threes, fours, sixes or eights.

Conventions
-----------
* Notes of equal value (the last may be longer). Groups begin on a beat where a figure can be found so, else where the row of notes
  begins. Two groups or more. Two groups under two harmonies are no pattern yet where they are threes, or fours with an odd note. At least
  three different notes in a group (two are a tremolo). The pattern of Alberti bass is left to it, and a group that runs on into the
  next in one direction to the arpeggio.
* The pattern is the first group: which of its notes is the lowest, the next higher … (``order``), and for each of these which chord tone
  it is above the lowest. It stays, while the chord may change from group to group.
* The voicing is what is in force for each note of the pattern. A change of harmony, or another lowest note that is a tone of the chord,
  sets it anew: the pattern's chord tones above that lowest note. A dark note that is a tone of the chord takes its place in the voicing
  until the next change; a passing or neighbour note does not. Of these there is at most one in four notes (one in a group of three).
* Three notes of a seventh chord that is no dominant are believed only where two groups in a row have them.
* A group that no chord holds stands under the harmony in force, or, a suspension, under the one it falls to in the next two groups;
  else under the chord that its other notes name, if one passing or neighbour note is all that is too much. The first note of a group is
  always a tone of its chord.
* In a merged line voices, or hands, share the figure, and share it alike in every group.

Rule
----
Anchors are the whole first group, then the lowest note wherever harmony or lowest note change, and each note that the voicing does not
give (odd). Everything else is the voicing.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.harmony import Row, Stretch, row_of
from annotator.figures.label_data import LabelData, first_chord
from annotator.figures.pattern_chains import KIND, Chain, Patterns, patterns_of
from annotator.figures.voicing import Voicing, pattern_of
from annotator.lines import Line
from annotator.settings import Options

__all__ = ["KIND", "SIZES", "detect_broken_chords", "spell_out_broken_chord"]

SIZES = (3, 4, 6, 8)
"""Notes of a group."""


def detect_broken_chords(line: Line, options: Options) -> list[Figure]:
    """Return the longest broken chords of a line, for each size of group."""
    found: list[Figure] = []
    row = row_of(line)
    patterns = patterns_of(row)
    for run in row.own(line):
        starts = _starts(line, row, run)
        here = list(_of_sizes(patterns, run, starts))
        if not here and any(beat != run.first for _, beat in starts):
            here = list(_of_sizes(patterns, run, [(size, run.first) for size, beat in starts if beat != run.first]))
        found.extend([chain.figure(line, end) for chain, end in _telling(here)])
    return found


def _telling(found: list[tuple[Chain, int]]) -> Iterator[tuple[Chain, int]]:
    """Yield patterns and where they end, but none that lies within another which leaves no more to read there."""
    outer, last = None, 0
    for chain, stop in sorted(found, key=lambda item: (item[0].start, -item[1])):
        if outer is not None and stop <= last and outer.grey(chain.start, stop) >= chain.grey(chain.start, stop):
            continue
        yield chain, stop
        if stop > last:
            outer, last = chain, stop


def _starts(line: Line, row: Row, run: Stretch) -> list[tuple[int, int]]:
    """Return, for each size of group of which two have room, the first note of a run that stands on a beat of such groups.

    That is the first note of all where the bar does not tell.
    """
    first, room = run.first, run.stop - run.first
    head = row.events[first]
    bar = line.bars[head.bar]
    starts = []
    for size in SIZES:
        if 2 * size <= room:
            span = size * head.ticks
            told = (bar.ticks + bar.offset) % span == 0
            missing = (bar.tick - head.tick - bar.offset) % span if told else 0
            starts.append((size, first if missing % head.ticks else first + missing // head.ticks))
    return starts


def _of_sizes(patterns: Patterns, run: Stretch, starts: Iterable[tuple[int, int]]) -> Iterator[tuple[Chain, int]]:
    """Yield patterns of a run and where they stop, for each (size, first note) of groups, but none that smaller make up."""
    told = 0  # one bit a note
    for size, first in starts:
        for chain, stop in patterns.between(size, first, run.stop, run.limit):
            notes = (1 << stop) - (1 << chain.start)
            if told & notes != notes and chain.worth(stop):
                told |= notes
                yield chain, stop


def spell_out_broken_chord(covered: Covered) -> Spelling:
    """Rebuild a broken chord from its first group, its harmonies and its dark notes."""
    size = covered.group
    chords = dict(covered.changes)
    if not size:
        raise ValueError("a broken chord has groups")
    known = [None if slot.known[0] is None else int(slot.known[0].semitone) for slot in covered.slots]
    keys = [key for key in known[:size] if key is not None]
    if len(keys) < size:
        raise ValueError("the first group stays dark")
    voicing = Voicing(pattern_of(keys, chords[0]), sorted(set(keys)), chords[0])
    for at in range(size, len(known), size):
        keys += voicing.read(known[at : at + size], chords.get(at))
    return tuple((key,) for key in keys)


def label(figure: Figure) -> LabelData:
    """Name the chord it begins with."""
    return LabelData(chord=first_chord(figure))
