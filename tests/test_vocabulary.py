"""The whole vocabulary by generated cases: every kind, in every signature, both hands, several rhythms, from and across bar lines.

Conventions
-----------
* Each case is planted between rests or long notes. Among the lawful figures there must be one of its kind with the right notes, anchors,
  data and words, and none of its kind that goes beyond; where no other kind says as much, it must be what is shown.
* The controls are the smallest figures of each kind with one flaw: none of that kind may be found. Copies have controls of their own: with
  one note less, or another one, they are copies still.
* What is expected is worked out in ``generated`` from semitones alone; music, scales and chords there: common practice, from memory.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from figures.lines_from_text import names, part_of
from generated.cases import (
    EIGHTHS,
    SIXTEENTHS,
    TRIPLETS,
    Case,
    candidates,
    complaint,
    complaint_about_page,
    in_each_key,
    layouts,
    one_layout,
    plant,
)
from generated.controls import FLAWS, smallest
from generated.pitches import SIGNATURES
from generated.vocabulary import GENERATORS

from annotator.figures.figure import Figure
from annotator.figures.registry import KINDS, KINDS_BY_NAME
from annotator.marks.finding import find_figures
from annotator.marks.report import Report
from annotator.music.score import Score
from annotator.words.labels import labels

MANY = 500  # of more cases than this each is planted in one rhythm, in turn, and not in all
ON_PAGE = 3  # cases of each kind, signature and hand that are followed to the page
SHOWN = 5  # complaints that a failure shows
STILL_ONE = {("alberti-bass", "bar_line_cut"), ("alberti-bass", "key_change")}  # one group on either side: each will do beside the other


def cases(kind: str) -> list[Case]:
    return list(GENERATORS[kind]())


def test_every_kind_has_its_generator() -> None:
    copies = {"octave-copy", "retrograde", "imitation", "pedal-note"}  # tested in tests/figures alone
    missing = {kind.name for kind in KINDS} - set(GENERATORS) - copies
    assert not missing, f"write a generator in tests/generated, and its line in generated/vocabulary.py: {sorted(missing)}"
    assert set(GENERATORS) | copies == {kind.name for kind in KINDS}


@pytest.mark.parametrize("kind", GENERATORS)
def test_every_planted_figure_is_found_and_named_right(kind: str) -> None:
    found = cases(kind)
    planted = []
    for turn, case in enumerate(found):
        for layout in layouts(case, turn) if len(found) < MANY else [one_layout(case, turn)]:
            planted.append((case, layout))
    hands = ("left",) if kind.startswith(("hands", "contrary")) else ("left", "right")
    assert {(case.fifths, case.hand) for case in found} == {(fifths, hand) for fifths in SIGNATURES for hand in hands}
    assert len({layout.unit for _, layout in planted}) >= 3
    assert {(layout.across, layout.among_notes) for _, layout in planted} == {(a, b) for a in (True, False) for b in (True, False)}
    wrong = [told for case, layout in planted if (told := complaint(case, layout))]
    assert not wrong, f"{len(wrong)} of {len(planted)}:\n" + "\n".join(wrong[:SHOWN])


@pytest.mark.parametrize("kind", GENERATORS)
def test_a_planted_figure_is_what_the_page_shows(kind: str) -> None:
    chosen = in_each_key((case for case in cases(kind) if case.clear), ON_PAGE)
    wrong = [told for turn, case in enumerate(chosen) if (told := complaint_about_page(case, one_layout(case, turn)))]
    assert not wrong, f"{len(wrong)} of {len(chosen)}:\n" + "\n".join(wrong[:SHOWN])


@pytest.mark.parametrize("kind", [kind for kind in GENERATORS if not KINDS_BY_NAME[kind].repeat])
def test_near_misses_are_none_of_that_kind(kind: str) -> None:
    wrong = []
    applied = dict.fromkeys(FLAWS, 0)
    for turn, case in enumerate(smallest(GENERATORS[kind]())):
        layout = one_layout(case, turn)
        assert complaint(case, layout) is None, "without its flaw it is found"
        for name, flaw in FLAWS.items():
            flawed = flaw(case, layout)
            if flawed is None or (kind, name) in STILL_ONE:
                continue
            applied[name] += 1
            wrong += [f"{name}: {case.tokens} {layout}: {names(figure.struck)}" for figure in candidates(flawed, kind)]
    assert sum(count >= len(SIGNATURES) for count in applied.values()) >= 5
    assert not wrong, f"{len(wrong)}:\n" + "\n".join(wrong[:SHOWN])


@pytest.mark.parametrize("kind", [kind for kind in GENERATORS if kind != "block-chord" and not KINDS_BY_NAME[kind].repeat])
def test_a_tie_over_the_last_note_lengthens_the_figure_and_nothing_else(kind: str) -> None:
    """The last may be longer, also where the length is written as a tie: the tied-on note belongs to the figure."""
    for turn, case in enumerate(smallest(GENERATORS[kind]())):
        last = case.tokens[-1].partition("*")[0]
        tied = replace(case, tokens=(*case.tokens[:-1], last + "~", last))
        layout = one_layout(case, turn)
        planted = plant(tied, layout)
        assert any(len(figure.tied) == last.count("/") + 1 for figure in candidates(planted, kind)), (case, layout)


@pytest.mark.parametrize("kind", [kind for kind in GENERATORS if kind != "block-chord" and not KINDS_BY_NAME[kind].repeat])
def test_a_grace_note_neither_ends_a_figure_nor_stands_in_it(kind: str) -> None:
    for turn, case in enumerate(smallest(GENERATORS[kind]())):
        planted = plant(case, one_layout(case, turn))
        staff = 1 if case.hand == "right" else 2
        at = [note for note in planted.part.notes if planted.is_inside(note, staff)]
        middle = at[len(at) // 2]
        grace = replace(middle, number=10_000, id="g1", grace=True, duration=Fraction(0), ticks=0, pitch=at[0].pitch, chord=False)
        notes = [one for note in planted.part.notes for one in ((grace, note) if note is middle else (note,))]
        graced = replace(planted, part=replace(planted.part, notes=tuple(notes)))
        struck = [names(figure.struck) for figure in candidates(graced, kind)]
        assert struck == [names(figure.struck) for figure in candidates(planted, kind)], case


def report(right: str, left: str = "", **how: object) -> Report:
    part, resolution = part_of(right, left, **how)  # type: ignore[arg-type]
    return find_figures(Score("", "", (part,), resolution))


def only(found: Report) -> Figure:
    ((_, figure),) = found.figures
    return figure


@pytest.mark.parametrize("unit", [EIGHTHS, SIXTEENTHS, TRIPLETS])
def test_five_notes_of_a_run_leave_two_to_read(unit: object) -> None:
    found = report("C5 D5 E5 F5 G5", unit=unit)
    assert (found.notes, found.to_read) == (5, 2)


@pytest.mark.parametrize(
    ("text", "label"),
    [
        ("D4 E4 F4 G4 A4 Bb4 C5 D5 E5 F5 G5 A5", "F major run D→A"),
        ("F4 G4 A4 Bb4 C5", "F major run F→C"),
        ("A4 B4 C#5 D5 E5 F#5 G#5 A5", "A major run A→A"),
        ("A5 G#5 F#5 E5 D5 C#5 B4 A4", "A major run A→A"),
        ("A4 B4 C5 D5 E5 F5 G#5 A5", "A harmonic minor run A→A"),
        ("A4 B4 C5 D5 E5 F#5 G#5 A5", "A melodic minor run A→A"),
    ],
)
def test_accidentals_of_a_run_in_c_name_its_scale(text: str, label: str) -> None:
    assert labels(only(report(text)))[0] == label


def test_two_octaves_down_in_sixteenths_are_two_notes_to_read() -> None:
    found = report("C6 B5 A5 G5 F5 E5 D5 C5 B4 A4 G4 F4 E4 D4 C4*2")
    assert (found.notes, found.to_read) == (15, 2)
    assert labels(only(found))[0] == "C major run C→C, 2 octaves down"


@pytest.mark.parametrize("bottom", ["E4 G4 B4", "F4 A4 C5", "G4 B4 D5", "A4 C5 E5"])
def test_line_line_line_and_space_space_space_read_in_threes(bottom: str) -> None:
    """A broken triad in root position, over and over: its first group shows the pattern, the rest follows."""
    found = report(" ".join([bottom] * 4), unit=TRIPLETS)
    figure = only(found)
    assert (figure.kind, figure.group, found.to_read) == ("broken-chord", 3, 4 - 1)


@pytest.mark.parametrize("text", ["C3 C4 B2 C4", "C3 C4 B3 C4", "C4 D4 B3 D4"])
def test_low_and_neighbour_is_no_alberti_bass(text: str) -> None:
    found = report("", " ".join([text] * 4))
    assert "alberti-bass" not in {figure.kind for _, figure in found.figures}


SIXES = "C4 G4 D4 A4 F4 B4"


@pytest.mark.parametrize(
    "text",
    [
        f"r*18 {SIXES} B3 F4 C4 G4 E4 A4 A3 E4 B3 F4 D4 G4",
        f"r*18 {SIXES} D4 A4 E4 B4 G4 C5 E4 B4 F4 C5 A4 D5",
    ],
)
def test_a_sequence_is_not_given_up_for_a_broken_chord_of_two_chance_groups(text: str) -> None:
    found = report(text, unit=TRIPLETS)
    assert (only(found).kind, found.to_read) == ("sequence", 8)
