"""The one list of figure kinds, in the order of the vocabulary. A new kind is one module and one entry here.

A kind looks either at one line at a time (``detect``) or at a whole part (``detect_part``: both hands, or earlier bars). Its inverse
``spell_out`` is always there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

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


@dataclass(frozen=True, slots=True)
class Kind:
    """One entry of the vocabulary.

    ``family`` groups kinds for styles and surveys: ``run``, ``chord``, ``double``, ``ornament``, ``repeat``, ``hands``.
    ``harmony`` marks accompaniments that name their chords. ``repeat`` marks copies: they are found together
    (``copy_search.find_copies``). ``label_cost`` is what reading the label takes, in notes. ``default`` tells whether it is looked for
    unasked. ``label`` says what its label says. Its words are the group of its name in each ``annotator/words/*.toml``, and what is not
    said there stands in the group ``words``, which it shares with other kinds. ``interval`` is the one that its words have places for.
    """

    name: str
    family: str
    spell_out: Callable[[Covered], Spelling]
    detect: Callable[[Line], Iterable[Figure]] | None = None
    detect_part: Callable[[Texture], Iterable[Figure]] | None = None
    harmony: bool = False
    repeat: bool = False
    label_cost: int = 1
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
            double_notes.detect_double_notes,
            label=double_notes.label,
            words="parallel",
            interval=interval,
        )
        for interval in double_notes.INTERVALS.values()
    ),
    *(
        Kind(
            f"broken-{interval}s",
            "double",
            broken_intervals.spell_out_broken_interval,
            broken_intervals.detect_broken_intervals,
            label=broken_intervals.label,
            words="broken",
            interval=interval,
        )
        for interval in broken_intervals.INTERVALS
    ),
    Kind("turn", "ornament", ornaments.spell_out_turn, ornaments.detect_turns, label=ornaments.turn_label),
    Kind("mordent", "ornament", ornaments.spell_out_mordent, ornaments.detect_mordents, label=ornaments.mordent_label),
    Kind("trill", "ornament", repetitions.spell_out_alternation, repetitions.detect_alternations, label=repetitions.trill_label),
    Kind("tremolo", "ornament", repetitions.spell_out_alternation, repetitions.detect_alternations, label=repetitions.tremolo_label),
    Kind(
        "repeated-notes",
        "repeat",
        repetitions.spell_out_repeated_notes,
        repetitions.detect_repeated_notes,
        label=repetitions.repeated_label,
    ),
    *(
        Kind(kind, "repeat", copies.spell_out, label=label, repeat=True, label_cost=copies.LABEL_COST[kind])
        for kind, label in copies.LABELS.items()
    ),
    Kind(
        "pedal-note",
        "repeat",
        repetitions.spell_out_pedal_note,
        detect_part=repetitions.detect_pedal_notes,
        label=repetitions.pedal_label,
    ),
    Kind("hands-in-unison", "hands", hands.spell_out_hands, detect_part=hands.detect_hands, label=hands.label, words="hands"),
    *(
        Kind(
            f"hands-in-{interval}s",
            "hands",
            hands.spell_out_hands,
            detect_part=hands.detect_hands,
            label=hands.label,
            words="hands",
            interval=interval,
        )
        for interval in ("octave", "third", "sixth", "tenth")
    ),
    Kind("contrary-motion", "hands", hands.spell_out_hands, detect_part=hands.detect_hands, label=hands.mirror_label),
    Kind(
        "block-chord",
        "chord",
        arpeggios.spell_out_block_chord,
        arpeggios.detect_block_chords,
        label=arpeggios.block_label,
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


OWN = Kind("own-bracket", "own", _spell_out_own, label=_own_label, default=False)
"""The brackets that an editor has put, under words of the editor's: no part of the vocabulary, never looked for."""


def kind_of(name: str) -> Kind:
    """Return the kind of a figure in a report: one of the vocabulary, or that of an editor's brackets."""
    return OWN if name == OWN.name else KINDS_BY_NAME[name]
