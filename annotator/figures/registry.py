"""The one list of figure kinds, in the order of the vocabulary. A new kind is one module and one entry here.

A kind looks either at one line at a time (``detect``) or at a whole part (``detect_part``: both hands, or earlier bars). Its inverse
``spell_out`` is always there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from annotator.figures import (
    alberti,
    alternations,
    arpeggios,
    bass_and_chord,
    block_chords,
    broken_chords,
    broken_intervals,
    broken_spelling,
    copies,
    double_notes,
    hands,
    ornaments,
    pedal_notes,
    repeated_notes,
    runs,
)
from annotator.figures.figure import Covered, Figure, Spelling
from annotator.figures.label_data import LabelData
from annotator.lines import Line, Texture
from annotator.settings import Options, checked_choice


@dataclass(frozen=True, slots=True)
class Kind:
    """One entry of the vocabulary.

    ``family`` groups kinds for styles and surveys: ``run``, ``chord``, ``double``, ``ornament``, ``repeat``, ``hands``.
    ``harmony`` marks named accompaniments. ``repeat`` marks copies: they are found together (``copy_search.find_copies``). ``default``
    tells whether it is looked for unasked. ``label`` says what its label says. Its words are the group of its name in each
    ``annotator/words/*.toml``, and what is not said there stands in the group ``words``, which it shares with other kinds. ``interval`` is
    the one that its words have places for.
    """

    name: str
    family: str
    spell_out: Callable[[Covered], Spelling]
    detect: Callable[[Line, Options], Iterable[Figure]] | None = None
    detect_part: Callable[[Texture, Options], Iterable[Figure]] | None = None
    harmony: bool = False
    repeat: bool = False
    default: bool = True
    label: Callable[[Figure], LabelData] = field(kw_only=True)
    words: str = ""
    interval: str | None = None


KINDS: tuple[Kind, ...] = (
    Kind("scale-run", "run", runs.spell_out_scale_run, runs.detect_scale_runs, label=runs.label, words="run"),
    Kind("chromatic-run", "run", runs.spell_out_chromatic_run, runs.detect_chromatic_runs, label=runs.label, words="run"),
    Kind("arpeggio", "chord", arpeggios.spell_out_arpeggio, arpeggios.detect_arpeggios, label=arpeggios.label),
    Kind("alberti-bass", "chord", alberti.spell_out_alberti_bass, alberti.detect_alberti_bass, label=alberti.label, harmony=True),
    Kind(
        "broken-chord",
        "chord",
        broken_chords.spell_out_broken_chord,
        broken_chords.detect_broken_chords,
        label=broken_chords.label,
        harmony=True,
    ),
    Kind(
        "bass-and-chord",
        "chord",
        bass_and_chord.spell_out_bass_and_chord,
        bass_and_chord.detect_bass_and_chord,
        label=bass_and_chord.label,
        harmony=True,
    ),
    *(
        Kind(
            f"parallel-{interval}s",
            "double",
            double_notes.spell_out_double_notes,
            detect,
            label=double_notes.label,
            words="parallel",
            interval=interval,
        )
        for interval, detect in (
            ("third", double_notes.detect_parallel_thirds),
            ("fourth", double_notes.detect_parallel_fourths),
            ("sixth", double_notes.detect_parallel_sixths),
            ("octave", double_notes.detect_parallel_octaves),
            ("tenth", double_notes.detect_parallel_tenths),
        )
    ),
    *(
        Kind(
            f"broken-{interval}s",
            "double",
            broken_spelling.spell_out_broken_interval,
            detect,
            label=broken_intervals.label,
            words="broken",
            interval=interval,
        )
        for interval, detect in (
            ("third", broken_intervals.detect_broken_thirds),
            ("fourth", broken_intervals.detect_broken_fourths),
            ("fifth", broken_intervals.detect_broken_fifths),
            ("sixth", broken_intervals.detect_broken_sixths),
            ("seventh", broken_intervals.detect_broken_sevenths),
            ("octave", broken_intervals.detect_broken_octaves),
        )
    ),
    Kind("turn", "ornament", ornaments.spell_out_turn, ornaments.detect_turns, label=ornaments.turn_label),
    Kind("mordent", "ornament", ornaments.spell_out_mordent, ornaments.detect_mordents, label=ornaments.mordent_label),
    Kind("trill", "ornament", alternations.spell_out_alternation, alternations.detect_trills, label=alternations.label),
    Kind("tremolo", "ornament", alternations.spell_out_alternation, alternations.detect_tremolos, label=alternations.label),
    Kind(
        "repeated-notes",
        "repeat",
        repeated_notes.spell_out_repeated_notes,
        repeated_notes.detect_repeated_notes,
        label=repeated_notes.label,
    ),
    *(Kind(kind, "repeat", copies.spell_out, label=label, repeat=True) for kind, label in copies.LABELS.items()),
    Kind(
        "pedal-note",
        "repeat",
        pedal_notes.spell_out_pedal_note,
        detect_part=pedal_notes.detect_pedal_notes,
        label=pedal_notes.label,
    ),
    Kind("hands-in-unison", "hands", hands.spell_out, detect_part=hands.detect_unison, label=hands.label, words="hands"),
    Kind(
        "hands-in-octaves", "hands", hands.spell_out, detect_part=hands.detect_octaves, label=hands.label, words="hands", interval="octave"
    ),
    Kind("hands-in-thirds", "hands", hands.spell_out, detect_part=hands.detect_thirds, label=hands.label, words="hands", interval="third"),
    Kind("hands-in-sixths", "hands", hands.spell_out, detect_part=hands.detect_sixths, label=hands.label, words="hands", interval="sixth"),
    Kind("hands-in-tenths", "hands", hands.spell_out, detect_part=hands.detect_tenths, label=hands.label, words="hands", interval="tenth"),
    Kind("contrary-motion", "hands", hands.spell_out, detect_part=hands.detect_contrary, label=hands.mirror_label),
    Kind(
        "block-chord",
        "chord",
        block_chords.spell_out_block_chord,
        block_chords.detect_block_chords,
        label=block_chords.label,
        default=False,
    ),
)

KINDS_BY_NAME: dict[str, Kind] = {kind.name: kind for kind in KINDS}


def check_kinds(options: Options) -> None:
    """Raise a ``UsageError`` for a kind among the options that is none."""
    for name in (*(options.kinds or ()), *options.without):
        checked_choice("kind", name, KINDS_BY_NAME)
