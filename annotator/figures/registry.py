"""The one list of figure kinds, in the order of the vocabulary. A new kind is one module and one entry here.

A kind looks either at one line at a time (``detect``) or at a whole part (``detect_part``: both hands, or earlier bars). Its inverse
``spell_out`` is always there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from annotator.figures import (
    alberti,
    alternations,
    arpeggios,
    bass_and_chord,
    block_chords,
    broken_chords,
    broken_intervals,
    double_notes,
    hands,
    ornaments,
    repeated_notes,
    repeats,
    runs,
    sequences,
)
from annotator.figures.figure import Covered, Figure, Spelling
from annotator.lines import Line, Texture
from annotator.option import value_of
from annotator.settings import Options, row_of


@dataclass(frozen=True, slots=True)
class Kind:
    """One entry of the vocabulary.

    ``family`` groups kinds for styles and surveys: ``run``, ``chord``, ``double``, ``ornament``, ``repeat``, ``hands``.
    ``harmony`` marks named accompaniments, which mere repeats (``repeat``) never displace. ``default`` tells whether it is looked for
    unasked.
    """

    name: str
    family: str
    spell_out: Callable[[Covered], Spelling]
    detect: Callable[[Line], Iterable[Figure]] | None = None
    detect_part: Callable[[Texture], Iterable[Figure]] | None = None
    harmony: bool = False
    repeat: bool = False
    default: bool = True


KINDS: tuple[Kind, ...] = (
    Kind("scale-run", "run", runs.spell_out_scale_run, runs.detect_scale_runs),
    Kind("chromatic-run", "run", runs.spell_out_chromatic_run, runs.detect_chromatic_runs),
    Kind("arpeggio", "chord", arpeggios.spell_out_arpeggio, arpeggios.detect_arpeggios),
    Kind("alberti-bass", "chord", alberti.spell_out_alberti_bass, alberti.detect_alberti_bass, harmony=True),
    Kind("broken-chord", "chord", broken_chords.spell_out_broken_chord, broken_chords.detect_broken_chords, harmony=True),
    Kind("bass-and-chord", "chord", bass_and_chord.spell_out_bass_and_chord, bass_and_chord.detect_bass_and_chord, harmony=True),
    *(
        Kind(f"parallel-{interval}s", "double", double_notes.spell_out_double_notes, double_notes.detect_double_notes)
        for interval in double_notes.INTERVALS.values()
    ),
    *(
        Kind(f"broken-{interval}s", "double", broken_intervals.spell_out_broken_interval, broken_intervals.detect_broken_intervals)
        for interval in broken_intervals.INTERVALS
    ),
    Kind("turn", "ornament", ornaments.spell_out_turn, ornaments.detect_turns),
    Kind("mordent", "ornament", ornaments.spell_out_mordent, ornaments.detect_mordents),
    Kind("trill", "ornament", alternations.spell_out_alternation, alternations.detect_alternations),
    Kind("tremolo", "ornament", alternations.spell_out_alternation, alternations.detect_alternations),
    Kind("repeated-notes", "repeat", repeated_notes.spell_out_repeated_notes, repeated_notes.detect_repeated_notes),
    Kind(
        "repeated-group",
        "repeat",
        repeats.spell_out_repeated_group,
        repeats.detect_repeated_groups,
        repeats.detect_repeated_bars,
        repeat=True,
    ),
    Kind("sequence", "repeat", sequences.spell_out_sequence, sequences.detect_sequences, repeat=True),
    *(
        Kind(name, "hands", hands.spell_out_hands, detect_part=hands.detect_hands)
        for name in (*(f"hands-in-{way}" for way in ("unison", "octaves", "thirds", "sixths", "tenths")), "contrary-motion")
    ),
    Kind("block-chord", "chord", block_chords.spell_out_block_chord, block_chords.detect_block_chords, default=False),
)

KINDS_BY_NAME: dict[str, Kind] = {kind.name: kind for kind in KINDS}


def check_kinds(options: Options) -> None:
    """Raise a ``UsageError`` for a kind among the options that is none."""
    for name in ("kinds", "without"):
        value_of(row_of(name), getattr(options, name) or (), KINDS_BY_NAME)
