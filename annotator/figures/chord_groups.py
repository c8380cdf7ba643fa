"""A group of notes as the chord figures see it: its chord, its shape, and whether the chord is to be believed.

Conventions
-----------
* A group is a row of notes; of each the key to strike (MIDI number) and the letter count, held in one number, its sound.
* Groups come again and again, in one piece of music above all: what has been found out about one holds for every other like it.

Source: common practice, no source.
"""

from __future__ import annotations

from functools import cached_property, lru_cache, reduce
from operator import or_

from annotator.figures.voicing import Pattern, order_of, pattern_of
from annotator.theory.chords import QUALITIES, Chord, chord_of, tones
from annotator.theory.names import class_of

TRIAD = 3


LETTERS = 7


def sound_of(key: int, letter: int) -> int:
    """Return a key and a letter (0..6 for C..B) in one number."""
    return LETTERS * key + letter


class Group:
    """A group of single notes: its ``keys``, its names as ``bits`` (``chords.code_of``), and the ``chord`` of them all, or None."""

    def __init__(self, sounds: tuple[int, ...]) -> None:
        self.keys = tuple([sound // LETTERS for sound in sounds])
        self.bits = tuple([1 << 12 * (sound % LETTERS) + sound // LETTERS % 12 for sound in sounds])
        self.lowest = self.bits[self.keys.index(min(self.keys))]
        self.chord = chord_of(reduce(or_, self.bits), self.lowest.bit_length() - 1)
        self._given: dict[tuple[tuple[int, ...], bool], list[int] | None] = {}

    @cached_property
    def heights(self) -> tuple[int, ...]:
        """The different keys from low to high."""
        return tuple(sorted(set(self.keys)))

    @cached_property
    def classes(self) -> tuple[int, ...]:
        """The pitch classes of the keys, sorted."""
        return tuple(sorted({key % 12 for key in self.keys}))

    @cached_property
    def order(self) -> tuple[int, ...]:
        """Each note's place among the different notes from low to high."""
        return order_of(self.keys)

    @cached_property
    def incomplete(self) -> bool:
        """Whether the chord is doubtful for want of a tone."""
        return self.chord is not None and _incomplete(self.chord, {key % 12 for key in self.keys})

    @cached_property
    def pattern(self) -> Pattern | None:
        """The pattern the group shows under its chord; None where it is a tremolo, an Alberti bass, or a shorter pattern twice or more."""
        if self.chord is None or len(set(self.keys)) < 3:
            return None
        try:
            pattern = pattern_of(self.keys, self.chord)
        except ValueError:
            return None
        alberti = pattern.order == (0, 2, 1, 2) and pattern.steps == (0, 1, 2)
        return None if alberti or _has_shorter_period(pattern.order) else pattern

    def given(self, pattern: Pattern) -> list[int] | None:
        """Return the keys that a pattern gives above the lowest key under the group's own chord; None where there are none."""
        sort = pattern.steps, pattern.sparse
        if sort not in self._given:
            try:
                self._given[sort] = None if self.chord is None else pattern.above(self.heights[0], self.chord)
            except ValueError:
                self._given[sort] = None
        return self._given[sort]

    @cached_property
    def chord_of_the_rest(self) -> Chord | None:
        """The smallest whole chord of the group but for one passing or neighbour note, struck at most once in four notes."""
        keys, bits = self.keys, self.bits
        found = set()
        for odd in {bit for bit in bits if 4 * bits.count(bit) <= len(bits)} - {bits[0], self.lowest}:
            if not all(_by_step(keys, at) for at, bit in enumerate(bits) if bit == odd):
                continue
            chord = chord_of(reduce(or_, {bit for bit in bits if bit != odd}), self.lowest.bit_length() - 1)
            rest = {key % 12 for key, bit in zip(keys, bits, strict=True) if bit != odd}
            if chord is not None and not _incomplete(chord, rest):
                found.add((len(QUALITIES[chord.quality]), chord))
        least = min((size for size, _ in found), default=0)
        smallest = [chord for size, chord in found if size == least]
        return smallest[0] if len(smallest) == 1 else None


@lru_cache(maxsize=1 << 14)
def group_of(sounds: tuple[int, ...]) -> Group:
    """Return the group of some notes' sounds.

    >>> group_of((sound_of(60, 0), sound_of(64, 2), sound_of(67, 4))).chord
    Chord(root='C', quality='major', inversion=0, bass='C')
    """
    return Group(sounds)


def _has_shorter_period(order: tuple[int, ...]) -> bool:
    """Return whether a pattern is a shorter one twice or more (it is then found in that size)."""
    size = len(order)
    return any(size % part == 0 and order == order[:part] * (size // part) for part in range(1, size // 2 + 1))


def _by_step(keys: tuple[int, ...], at: int) -> bool:
    """Return whether a note of a group is a step from the notes before and after it."""
    return all(0 < abs(keys[at] - beside) <= 2 for beside in (*keys[at - 1 : at], *keys[at + 1 : at + 2]))


def _incomplete(chord: Chord, classes: set[int]) -> bool:
    """Return whether a seventh chord is doubtful for want of a tone: any but a dominant that lacks what may be left out."""
    if len(QUALITIES[chord.quality]) == TRIAD:
        return False  # it would have no name
    if len(classes) == len(QUALITIES[chord.quality]):
        return False
    return chord.quality != "dominant-seventh" or (chord.inversion != 2 and class_of(tones(chord)[2]) in classes)
