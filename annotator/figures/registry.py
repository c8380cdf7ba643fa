"""The one list of figure kinds, in the order of the vocabulary. A new kind is one module and one entry here.

A kind looks either at one line at a time (``detect``) or at a whole part (``detect_part``: both hands, or earlier bars). Its inverse
``spell_out`` is always there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from annotator.figures import (
    alberti,
    arpeggios,
    bass_and_chord,
    broken_chords,
    broken_intervals,
    copies,
    double_notes,
    hands,
    ornaments,
    repetitions,
    runs,
)
from annotator.figures.figure import Covered, Figure, LabelData, Spelling
from annotator.figures.lines import Line, Texture


class Kind(NamedTuple):
    """One entry of the vocabulary.

    ``family`` groups kinds for styles and surveys: ``run``, ``chord``, ``double``, ``ornament``, ``repeat``, ``hands``.
    ``harmony`` marks accompaniments that name their chords. ``repeat`` marks copies: they are found together
    (``copy_search.find_copies``). ``label_cost`` is what reading the label takes, in notes. ``default`` tells whether it is looked for
    unasked. ``label`` says what its label says. Its words are the group of its name in each ``annotator/words/*.toml``, and what is not
    said there stands in the group ``words``, which it shares with other kinds. ``interval`` is the one that its words have places for.
    """

    name: str
    family: str
    label: Callable[[Figure], LabelData]
    spell_out: Callable[[Covered], Spelling]
    detect: Callable[[Line], Iterable[Figure]] | None = None
    detect_part: Callable[[Texture], Iterable[Figure]] | None = None
    harmony: bool = False
    repeat: bool = False
    label_cost: int = 1
    default: bool = True
    words: str = ""
    interval: str | None = None


KINDS: tuple[Kind, ...] = (
    Kind("scale-run", "run", runs.label, runs.spell_out_scale_run, runs.detect_scale_runs, words="run"),
    Kind("chromatic-run", "run", runs.label, runs.spell_out_chromatic_run, runs.detect_chromatic_runs, words="run"),
    Kind("arpeggio", "chord", arpeggios.label, arpeggios.spell_out_arpeggio, arpeggios.detect_arpeggios),
    Kind("alberti-bass", "chord", alberti.label, alberti.spell_out_alberti_bass, alberti.detect_alberti_bass, harmony=True),
    Kind(
        "broken-chord",
        "chord",
        broken_chords.label,
        broken_chords.spell_out_broken_chord,
        broken_chords.detect_broken_chords,
        harmony=True,
    ),
    Kind(
        "bass-and-chord",
        "chord",
        bass_and_chord.label,
        bass_and_chord.spell_out_bass_and_chord,
        bass_and_chord.detect_bass_and_chord,
        harmony=True,
    ),
    *(
        Kind(
            f"parallel-{interval}s",
            "double",
            double_notes.label,
            double_notes.spell_out_double_notes,
            double_notes.detect_double_notes,
            words="parallel",
            interval=interval,
        )
        for interval in double_notes.INTERVALS.values()
    ),
    *(
        Kind(
            f"broken-{interval}s",
            "double",
            broken_intervals.label,
            broken_intervals.spell_out_broken_interval,
            broken_intervals.detect_broken_intervals,
            words="broken",
            interval=interval,
        )
        for interval in broken_intervals.INTERVALS
    ),
    Kind("turn", "ornament", ornaments.turn_label, ornaments.spell_out_turn, ornaments.detect_turns),
    Kind("mordent", "ornament", ornaments.mordent_label, ornaments.spell_out_mordent, ornaments.detect_mordents),
    Kind("trill", "ornament", repetitions.trill_label, repetitions.spell_out_alternation, repetitions.detect_alternations),
    Kind("tremolo", "ornament", repetitions.tremolo_label, repetitions.spell_out_alternation, repetitions.detect_alternations),
    Kind(
        "repeated-notes",
        "repeat",
        repetitions.repeated_label,
        repetitions.spell_out_repeated_notes,
        repetitions.detect_repeated_notes,
    ),
    *(
        Kind(kind, "repeat", label, copies.spell_out, repeat=True, label_cost=copies.LABEL_COST[kind])
        for kind, label in copies.LABELS.items()
    ),
    Kind(
        "pedal-note",
        "repeat",
        repetitions.pedal_label,
        repetitions.spell_out_pedal_note,
        detect_part=repetitions.detect_pedal_notes,
    ),
    Kind("hands-in-unison", "hands", hands.label, hands.spell_out_hands, detect_part=hands.detect_hands, words="hands"),
    *(
        Kind(
            f"hands-in-{interval}s",
            "hands",
            hands.label,
            hands.spell_out_hands,
            detect_part=hands.detect_hands,
            words="hands",
            interval=interval,
        )
        for interval in ("octave", "third", "sixth", "tenth")
    ),
    Kind("contrary-motion", "hands", hands.mirror_label, hands.spell_out_hands, detect_part=hands.detect_hands),
    Kind(
        "block-chord",
        "chord",
        arpeggios.block_label,
        arpeggios.spell_out_block_chord,
        arpeggios.detect_block_chords,
        default=False,
    ),
)

KINDS_BY_NAME: dict[str, Kind] = {kind.name: kind for kind in KINDS}

def _spell_out_own(covered: Covered) -> Spelling:
    """Return the keys of a bracket that greys nothing. Raises ``CannotSpellOut`` where it has grey notes."""
    return tuple([tuple([int(slot.dark(place).semitone) for place in range(len(slot.known))]) for slot in covered.slots])


def _own_label(figure: Figure) -> LabelData:
    """Return what its label says where the editor's words are not asked for: that it is one of the editor's own."""
    return LabelData("label")


OWN = Kind("own-bracket", "own", _own_label, _spell_out_own, default=False)
"""The brackets that an editor has put, under words of the editor's: no part of the vocabulary, never looked for."""


def kind_of(name: str) -> Kind:
    """Return the kind of a figure in a report: one of the vocabulary, or that of an editor's brackets."""
    return OWN if name == OWN.name else KINDS_BY_NAME[name]
