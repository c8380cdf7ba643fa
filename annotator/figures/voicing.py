"""The pattern of a broken chord and the voicing in force: what a group's grey notes are, said once for finding and for rebuilding.

Conventions
-----------
* A group is a row of keys (MIDI numbers). Its ``order`` is the place of each note among its different notes from low to high.
* ``steps`` say for each different note which chord tone it is above the lowest one, on the whole ladder of the chord or the sparse one.

Rule
----
A change sets the voicing anew: the pattern's chord tones above the new lowest note; where the chord has more tones than the pattern has
places, nobody can count them up, and the whole group is dark. A dark note that is a tone of the chord takes its place in the voicing until
the next change; any other dark note passes by.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from annotator.figures.figure import CannotSpellOut
from annotator.music.chords import QUALITIES, Chord, classes_of, keys_above, rungs


def order_of(keys: Sequence[int]) -> tuple[int, ...]:
    """Return each note's place among the different notes of a group from low to high.

    >>> order_of([60, 67, 64, 67])
    (0, 2, 1, 2)
    """
    heights = {key: place for place, key in enumerate(sorted(set(keys)))}
    return tuple([heights[key] for key in keys])


class Pattern(NamedTuple):
    """What the first group shows: the ``order`` of its notes, the ladder ``steps`` of each different note, whether the ladder is sparse."""

    order: tuple[int, ...]
    steps: tuple[int, ...]
    sparse: bool

    @property
    def lowest(self) -> int:
        """The place in the group where its lowest note first stands."""
        return self.order.index(0)


def pattern_of(keys: Sequence[int], chord: Chord) -> Pattern | None:
    """Return the pattern of a group under a chord; None where a note is no tone of it."""
    heights = sorted(set(keys))
    bass = heights[0]
    if not classes_of(chord).issuperset([key % 12 for key in heights]):
        return None
    for sparse in (True, False):
        ladder = rungs(chord, bass % 12, sparse)
        if all((key - bass) % 12 in ladder for key in heights):
            break
    steps = tuple([(key - bass) // 12 * len(ladder) + ladder.index((key - bass) % 12) for key in heights])
    return Pattern(order_of(keys), steps, sparse and len(QUALITIES[chord.quality]) == 4)


@dataclass(slots=True)
class Voicing:
    """The notes in force, one for each different note of the pattern; both finding and rebuilding go through it, group by group."""

    pattern: Pattern
    keys: list[int]
    chord: Chord

    @property
    def group(self) -> list[int]:
        """The keys of a group that strikes the notes in force."""
        return [self.keys[place] for place in self.pattern.order]

    def _begin(self, known: Sequence[int | None], changed: Chord | None) -> list[bool]:
        """Set the voicing anew where a group's lowest note or harmony (None: no new one) asks for it; return which notes must then be dark.

        ``known`` are the group's keys, None for a grey one. Raises ``CannotSpellOut`` where the pattern does not stand on that note.
        """
        order, chord = self.pattern.order, changed or self.chord
        bass = known[self.pattern.lowest]
        if changed is None and (bass is None or bass == self.keys[0] or bass % 12 not in classes_of(chord)):
            return [False] * len(order)
        if len(QUALITIES[chord.quality]) > len(self.pattern.steps):
            written = [key for key in known if key is not None]
            if len(written) < len(known) or order_of(written) != order or not classes_of(chord).issuperset([key % 12 for key in written]):
                raise CannotSpellOut("a chord of more tones than the pattern has places is dark as a whole")
            self.keys, self.chord = sorted(set(written)), chord
            return [True] * len(order)
        keys = keys_above(chord, bass, self.pattern.steps, self.pattern.sparse) if bass is not None else None
        if keys is None:
            raise CannotSpellOut("where the harmony changes the lowest note is dark, and a tone of the chord")
        self.keys, self.chord = list(keys), chord
        return [at == self.pattern.lowest for at in range(len(order))]

    def read(self, known: Sequence[int | None], changed: Chord | None) -> list[int]:
        """Return the keys of a group from its dark notes (None for grey ones) and the harmony that begins with it, if any."""
        self._begin(known, changed)
        classes = classes_of(self.chord)
        read = []
        for place, key in zip(self.pattern.order, known, strict=True):
            if key is not None and key % 12 in classes:
                self.keys[place] = key
            read.append(self.keys[place] if key is None else key)
        return read

    def cover(self, keys: Sequence[int], changed: Chord | None) -> tuple[list[bool], list[bool]]:
        """Return which notes of a written group must stay dark, and which of these are odd, and go on from it. The inverse of ``read``."""
        dark = self._begin(keys, changed)
        classes = classes_of(self.chord)
        odd = []
        for place, key in zip(self.pattern.order, keys, strict=True):
            odd.append(key != self.keys[place])
            if key % 12 in classes:
                self.keys[place] = key
        return [a or b for a, b in zip(dark, odd, strict=True)], odd


def voicing_of(keys: Sequence[int], chord: Chord | None) -> Voicing | None:
    """Return the voicing that a first group shows under a chord; None without one, or where a note is no tone of it."""
    pattern = pattern_of(keys, chord) if chord is not None and keys else None
    return None if chord is None or pattern is None else Voicing(pattern, sorted(set(keys)), chord)
