"""The pattern of a broken chord and the voicing in force: what a group's grey notes are, said once for finding and for rebuilding.

Conventions
-----------
* A group is a row of keys (MIDI numbers). Its ``order`` is the place of each note among its different notes from low to high.
* ``steps`` say for each different note which chord tone it is above the lowest one, on the whole ladder of the chord or the sparse one.

Rule
----
A change sets the voicing anew: the pattern's chord tones above the new lowest note. A dark note that is a tone of the chord takes its
place in the voicing until the next change; any other dark note passes by.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from annotator.theory.chords import QUALITIES, Chord, rungs, tones
from annotator.theory.names import class_of


def order_of(keys: Sequence[int]) -> tuple[int, ...]:
    """Return each note's place among the different notes of a group from low to high; groups come again and again.

    >>> order_of([60, 67, 64, 67])
    (0, 2, 1, 2)
    """
    return _order(tuple(keys))


@lru_cache(maxsize=4096)
def _order(keys: tuple[int, ...]) -> tuple[int, ...]:
    heights = {key: place for place, key in enumerate(sorted(set(keys)))}
    return tuple([heights[key] for key in keys])


@dataclass(frozen=True, slots=True)
class Pattern:
    """What the first group shows: the ``order`` of its notes, the ladder ``steps`` of each different note, whether the ladder is sparse."""

    order: tuple[int, ...]
    steps: tuple[int, ...]
    sparse: bool

    @property
    def lowest(self) -> int:
        """The place in the group where its lowest note first stands."""
        return self.order.index(0)

    def above(self, bass: int, chord: Chord) -> list[int]:
        """Return the keys of the different notes above the lowest; raise ``ValueError`` where that is no tone of the (sparse) chord."""
        ladder = rungs(chord, bass % 12, self.sparse)
        return [bass + ladder[step % len(ladder)] + 12 * (step // len(ladder)) for step in self.steps]


def pattern_of(keys: Sequence[int], chord: Chord) -> Pattern:
    """Return the pattern of a group of one chord; raise ``ValueError`` where a note is no tone of it."""
    return _pattern(tuple(keys), chord)


@lru_cache(maxsize=4096)
def _pattern(keys: tuple[int, ...], chord: Chord) -> Pattern:
    heights = sorted(set(keys))
    bass = heights[0]
    for sparse in (True, False):
        try:
            ladder = rungs(chord, bass % 12, sparse)
            steps = tuple((key - bass) // 12 * len(ladder) + ladder.index((key - bass) % 12) for key in heights)
        except ValueError:
            if sparse:
                continue
            raise
        return Pattern(order_of(keys), steps, sparse and (len(heights) == 3 or len(QUALITIES[chord.quality]) == 4))
    raise AssertionError("the whole ladder was the last to be tried")


@dataclass(slots=True)
class Voicing:
    """The notes in force, one for each different note of the pattern; both finding and rebuilding go through it, group by group."""

    pattern: Pattern
    keys: list[int]
    chord: Chord

    def change(self, chord: Chord, bass: int) -> None:
        """Set the voicing anew: the pattern above ``bass``."""
        self.chord = chord
        self.keys = self.pattern.above(bass, chord)

    def read(self, known: Sequence[int | None], changed: Chord | None) -> list[int]:
        """Return the keys of a group from its dark notes (None for grey ones) and the harmony that begins with it, if any."""
        classes = classes_of(changed or self.chord)
        bass = known[self.pattern.lowest]
        if changed is not None:
            if bass is None:
                raise ValueError("the lowest note stays dark where the harmony changes")
            self.change(changed, bass)
        elif bass is not None and bass != self.keys[0] and bass % 12 in classes:
            self.change(self.chord, bass)
        read = []
        for place, key in zip(self.pattern.order, known, strict=True):
            if key is None:
                key = self.keys[place]
            elif key % 12 in classes:
                self.keys[place] = key
            read.append(key)
        return read

    @property
    def in_force(self) -> tuple[int, ...]:
        """The keys of a group that strikes the notes in force."""
        return tuple(map(self.keys.__getitem__, self.pattern.order))

    def cover(self, keys: Sequence[int], changed: Chord | None) -> list[bool]:
        """Return which notes of a written group must stay dark, and go on from it. The inverse of ``read``."""
        classes = classes_of(changed or self.chord)
        lowest = self.pattern.lowest
        bass = keys[lowest]
        moved = changed is not None or (bass != self.keys[0] and bass % 12 in classes)
        if moved:
            self.change(changed or self.chord, bass)
        dark = []
        for place, key in zip(self.pattern.order, keys, strict=True):
            dark.append(key != self.keys[place])
            if key % 12 in classes:
                self.keys[place] = key
        dark[lowest] = dark[lowest] or moved
        return dark


@lru_cache(maxsize=4096)
def classes_of(chord: Chord) -> frozenset[int]:
    """Return the pitch classes of a chord's tones."""
    return frozenset(class_of(name) for name in tones(chord))
