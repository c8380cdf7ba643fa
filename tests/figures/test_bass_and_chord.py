"""Bass and chord: oom-pah and waltz, in one voice and in two, alternating basses; and what is none."""

import random
from fractions import Fraction

import pytest
from figures.chord_figures import follows, found, harmonies, shown
from figures.lines_from_text import line_of, texture_of

from annotator.figures.bass_and_chord import detect_bass_and_chord, spell_out_bass_and_chord
from annotator.settings import Options

WALTZ_C, WALTZ_G7 = "C3 E4/G4 E4/G4 ", "B2 F4/G4 F4/G4 "


@pytest.mark.parametrize(
    ("notes", "page", "chords", "group"),
    [
        (WALTZ_C * 2, "C3 E4/G4 e4/g4 c3 e4/g4 e4/g4", ["0: C major/C"], 3),
        (
            WALTZ_C + WALTZ_G7 + WALTZ_C,
            "C3 E4/G4 e4/g4 B2 F4/G4 f4/g4 C3 E4/G4 e4/g4",
            ["0: C major/C", "3: G dominant-seventh/B", "6: C major/C"],
            3,
        ),
        ("C3 E4/G4/C5 G2 E4/G4/C5 " * 2, "C3 E4/G4/C5 G2 e4/g4/c5 C3 e4/g4/c5 G2 e4/g4/c5", ["0: C major/C"], 2),
        ("C3 E4/G4 E4/G4 E4/G4 " * 2, "C3 E4/G4 e4/g4 e4/g4 c3 e4/g4 e4/g4 e4/g4", ["0: C major/C"], 4),
        ("C2/C3 E4/G4 G2/G3 E4/G4 ", "C2/C3 E4/G4 G2/G3 e4/g4", ["0: C major/C"], 2),  # a bass in octaves
        ("C2/C3 E4/G4/C5 G1/G2 E4/G4/C5 ", "C2/C3 E4/G4/C5 G1/G2 e4/g4/c5", ["0: C major/C"], 2),
        ("C3 E4/G4 E4/G4 C3 E4/G4 F4/G4 C3 E4/G4 E4/G4", "C3 E4/G4 e4/g4 c3 e4/g4 F4!/g4 c3 E4!/g4 e4/g4", ["0: C major/C"], 3),
        (WALTZ_C + "C3 E4/G4 E4/G4*3", "C3 E4/G4 e4/g4 c3 e4/g4 e4/g4", ["0: C major/C"], 3),
        ("C3 E4/G4*2 C3 E4/G4*2 D3 F4/A4*2", "C3 E4/G4 c3 e4/g4", ["0: C major/C"], 2),  # a last bar all dark is left out
        ("C3 E4/G4 D3 F4/A4 D3 F4/A4", "D3 F4/A4 d3 f4/a4", ["0: D minor/D"], 2),  # and so is a first one
    ],
)
def test_what_is_grey(notes: str, page: str, chords: list[str], group: int) -> None:
    line = line_of(notes, "left", unit=Fraction(1))
    (figure,) = detect_bass_and_chord(line, Options())
    assert (shown(figure), harmonies(figure), figure.group) == (page, chords, group)
    assert figure.form is None
    assert follows(figure, line, spell_out_bass_and_chord)


def test_a_held_bass_in_one_voice_and_chords_in_another() -> None:
    texture = texture_of("", ("r E4/G4 E4/G4 r F4/G4 F4/G4 r E4/G4 E4/G4", "C3*3 B2*3 C3*3"), unit=Fraction(1), bar=Fraction(3))
    (figure,) = detect_bass_and_chord(texture.hands["left"], Options())
    assert shown(figure) == "C3 E4/G4 e4/g4 B2 F4/G4 f4/g4 C3 E4/G4 e4/g4"
    assert follows(figure, texture.hands["left"], spell_out_bass_and_chord)


def test_a_group_that_no_chord_holds_goes_on_if_little_in_it_is_new() -> None:
    line = line_of("C3 E4/G4/C5 E4/G4/C5 D3 E4/G4/C5 E4/G4/C5 C3 E4/G4/C5 E4/G4/C5", "left", unit=Fraction(1), bar=Fraction(3))
    (figure,) = detect_bass_and_chord(line, Options())
    assert shown(figure) == "C3 E4/G4/C5 e4/g4/c5 D3 e4/g4/c5 e4/g4/c5 C3 e4/g4/c5 e4/g4/c5"
    assert harmonies(figure) == ["0: C major/C"]


@pytest.mark.parametrize(
    "notes",
    [
        WALTZ_C,  # once
        "C3 E4/G4 D3 F4/A4 E3 G4/B4",  # a new harmony every time: nothing would be grey
        "C3 D4/E4 D4/E4 C3 D4/E4 D4/E4",  # no chord
        "G4 E4/C4 E4/C4 G4 E4/C4 E4/C4",  # the single note is above
        "C3 E4/G4 r C3 E4/G4 r",  # rests
        "C3 E4/G4 E4/G4 C3 E4/G4",  # unequal groups
        "C3/E3 G3/C4 C3/E3 G3/C4",  # no bass note
        "C3 G3/C4 C3 G3/C4",  # two notes by name
    ],
)
def test_near_misses_find_nothing(notes: str) -> None:
    assert found(detect_bass_and_chord, line_of(notes, "left", unit=Fraction(1))) == []


def test_random_notes_and_chords_find_nothing() -> None:
    rolls = random.Random(9)

    def word() -> str:
        return rolls.choice("CDEFGAB") + rolls.choice(["", "#", "b"])

    text = " ".join(f"{word()}2 {word()}3/{word()}4" for _ in range(300))
    assert found(detect_bass_and_chord, line_of(text, "left", unit=Fraction(1))) == []


def test_a_double_bar_ends_it() -> None:
    line = line_of(WALTZ_C * 4, "left", unit=Fraction(1), bar=Fraction(3), cuts=frozenset({2}))
    assert [len(figure.moments) for figure in detect_bass_and_chord(line, Options())] == [6, 6]
