"""The generator of each kind of the vocabulary, by its machine name."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from generated import chords, doubles, hands, ornaments, repeats, runs
from generated.cases import Case

GENERATORS: dict[str, Callable[[], Iterator[Case]]] = {
    "scale-run": runs.scale_runs,
    "chromatic-run": runs.chromatic_runs,
    "arpeggio": chords.arpeggios,
    "alberti-bass": chords.alberti_basses,
    "broken-chord": chords.broken_chords,
    "bass-and-chord": chords.basses_and_chords,
    **{f"parallel-{interval}": partial(doubles.parallels, interval) for interval in doubles.PARALLEL},
    **{f"broken-{interval}": partial(doubles.broken, interval) for interval in doubles.BROKEN},
    "turn": ornaments.turns,
    "mordent": ornaments.mordents,
    "trill": ornaments.trills,
    "tremolo": ornaments.tremolos,
    "repeated-notes": repeats.repeated_notes,
    "repeated-group": repeats.repeated_groups,
    "sequence": repeats.sequences,
    **{kind: partial(hands.doubled, kind) for kind in hands.BELOW},
    "contrary-motion": hands.mirrored,
    "block-chord": chords.block_chords,
}
