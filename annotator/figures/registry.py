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
    broken_spelling,
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
from annotator.settings import Options, checked_choice


@dataclass(frozen=True, slots=True)
class Kind:
    """One entry of the vocabulary.

    ``family`` groups kinds for styles and surveys: ``run``, ``chord``, ``double``, ``ornament``, ``repeat``, ``hands``.
    ``harmony`` marks accompaniments that name their chords, ``repeat`` what points to a model. ``label_cost`` is what reading the label
    takes, in notes. ``default`` tells whether it is looked for unasked.
    """

    name: str
    family: str
    spell_out: Callable[[Covered], Spelling]
    detect: Callable[[Line, Options], Iterable[Figure]] | None = None
    detect_part: Callable[[Texture, Options], Iterable[Figure]] | None = None
    harmony: bool = False
    repeat: bool = False
    label_cost: int = 1
    default: bool = True


KINDS: tuple[Kind, ...] = (
    Kind("scale-run", "run", runs.spell_out_scale_run, runs.detect_scale_runs),
    Kind("chromatic-run", "run", runs.spell_out_chromatic_run, runs.detect_chromatic_runs),
    Kind("arpeggio", "chord", arpeggios.spell_out_arpeggio, arpeggios.detect_arpeggios),
    Kind("alberti-bass", "chord", alberti.spell_out_alberti_bass, alberti.detect_alberti_bass, harmony=True),
    Kind("broken-chord", "chord", broken_chords.spell_out_broken_chord, broken_chords.detect_broken_chords, harmony=True),
    Kind("bass-and-chord", "chord", bass_and_chord.spell_out_bass_and_chord, bass_and_chord.detect_bass_and_chord, harmony=True),
    *(
        Kind(f"parallel-{interval}", "double", double_notes.spell_out_double_notes, detect)
        for interval, detect in (
            ("thirds", double_notes.detect_parallel_thirds),
            ("fourths", double_notes.detect_parallel_fourths),
            ("sixths", double_notes.detect_parallel_sixths),
            ("octaves", double_notes.detect_parallel_octaves),
            ("tenths", double_notes.detect_parallel_tenths),
        )
    ),
    *(
        Kind(f"broken-{interval}", "double", broken_spelling.spell_out_broken_interval, detect)
        for interval, detect in (
            ("thirds", broken_intervals.detect_broken_thirds),
            ("fourths", broken_intervals.detect_broken_fourths),
            ("fifths", broken_intervals.detect_broken_fifths),
            ("sixths", broken_intervals.detect_broken_sixths),
            ("sevenths", broken_intervals.detect_broken_sevenths),
            ("octaves", broken_intervals.detect_broken_octaves),
        )
    ),
    Kind("turn", "ornament", ornaments.spell_out_turn, ornaments.detect_turns),
    Kind("mordent", "ornament", ornaments.spell_out_mordent, ornaments.detect_mordents),
    Kind("trill", "ornament", alternations.spell_out_alternation, alternations.detect_trills),
    Kind("tremolo", "ornament", alternations.spell_out_alternation, alternations.detect_tremolos),
    Kind("repeated-notes", "repeat", repeated_notes.spell_out_repeated_notes, repeated_notes.detect_repeated_notes),
    Kind(
        "repeated-group",
        "repeat",
        repeats.spell_out_repeated_group,
        repeats.detect_repeated_groups,
        repeats.detect_repeated_bars,
        repeat=True,
    ),
    Kind("sequence", "repeat", sequences.spell_out_sequence, sequences.detect_sequences, repeat=True, label_cost=2),
    Kind("hands-in-unison", "hands", hands.spell_out, detect_part=hands.detect_unison),
    Kind("hands-in-octaves", "hands", hands.spell_out, detect_part=hands.detect_octaves),
    Kind("hands-in-thirds", "hands", hands.spell_out, detect_part=hands.detect_thirds),
    Kind("hands-in-sixths", "hands", hands.spell_out, detect_part=hands.detect_sixths),
    Kind("hands-in-tenths", "hands", hands.spell_out, detect_part=hands.detect_tenths),
    Kind("contrary-motion", "hands", hands.spell_out, detect_part=hands.detect_contrary),
    Kind("block-chord", "chord", block_chords.spell_out_block_chord, block_chords.detect_block_chords, default=False),
)

KINDS_BY_NAME: dict[str, Kind] = {kind.name: kind for kind in KINDS}


def check_kinds(options: Options) -> None:
    """Raise a ``UsageError`` for a kind among the options that is none."""
    for name in (*(options.kinds or ()), *options.without):
        checked_choice("kind", name, KINDS_BY_NAME)
