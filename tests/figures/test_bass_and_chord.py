"""Bass and chord: oom-pah and waltz, in one voice and in two, alternating basses; and what is none."""

import random
from fractions import Fraction

import pytest
from figures.chord_figures import follows, found, harmonies, shown
from figures.lines_from_text import line_of, texture_of

from annotator.figures.bass_and_chord import detect_bass_and_chord, spell_out_bass_and_chord
from annotator.figures.broken_chords import detect_broken_chords

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
        ("C3 E4/G4 r C3 E4/G4 r", "C3 E4/G4 c3 e4/g4", ["0: C major/C"], 2),  # bass, chord, rest
        ("C3 E4/G4 E4/G4 r C3 E4/G4 E4/G4 r", "C3 E4/G4 e4/g4 c3 e4/g4 e4/g4", ["0: C major/C"], 3),
        (WALTZ_C + "C3 E4/G4 E4/G4*3", "C3 E4/G4 e4/g4 c3 e4/g4 e4/g4", ["0: C major/C"], 3),
        ("C3 E4/G4*2 C3 E4/G4*2 D3 F4/A4*2", "C3 E4/G4 c3 e4/g4", ["0: C major/C"], 2),  # a last bar all dark is left out
        ("C3 E4/G4 D3 F4/A4 D3 F4/A4", "D3 F4/A4 d3 f4/a4", ["0: D minor/D"], 2),  # and so is a first one
    ],
)
def test_what_is_grey(notes: str, page: str, chords: list[str], group: int) -> None:
    line = line_of(notes, "left", unit=Fraction(1))
    (figure,) = detect_bass_and_chord(line)
    assert (shown(figure), harmonies(figure), figure.group) == (page, chords, group)
    assert figure.form is None
    assert follows(figure, line, spell_out_bass_and_chord)


@pytest.mark.parametrize(
    ("notes", "page", "chords", "group"),
    [
        ("C3 E4/G4 E4/G4 C3 E4/G4", "C3 E4/G4 e4/g4 c3 e4/g4", ["0: C major/C"], None),
        (
            "C3 E4/G4 E4/G4 E4/G4 B2 F4/G4 C3 E4/G4 E4/G4 E4/G4 B2 F4/G4",
            "C3 E4/G4 e4/g4 e4/g4 B2 F4/G4 C3 E4/G4 e4/g4 e4/g4",
            ["0: C major/C", "4: G dominant-seventh/B", "6: C major/C"],
            None,
        ),
        (
            "C2/C3 E4/G4 E4/G4 E4/G4 C2/C3 E4/G4 E4/G4 A2 C4/E4 C4/E4 C4/E4",
            "C2/C3 E4/G4 e4/g4 e4/g4 C2/C3 e4/g4 e4/g4 A2 C4/E4 c4/e4 c4/e4",  # octaves stay dark: two notes could be a chord
            ["0: C major/C", "7: A minor/A"],
            None,
        ),
        ("C3 E4/G4*2 E4/G4 F3 A4/C5 A4/C5 D4/E4", "C3 E4/G4 e4/g4 F3 A4/C5 a4/c5", ["0: C major/C", "3: F major/F"], None),
        (WALTZ_C * 2 + "C3 E4/G4", "C3 E4/G4 e4/g4 c3 e4/g4 e4/g4 c3 e4/g4", ["0: C major/C"], 3),  # breaks off before a rest
        (
            "C3 E4/G4 E4/G4 G2 C3 E4/G4 E4/G4 B2 D3 F4/A4 F4/A4",  # bass, chord, chord, bass
            "C3 E4/G4 e4/g4 G2 C3 e4/g4 e4/g4 B2 D3 F4/A4 f4/a4",
            ["0: C major/C", "8: D minor/D"],
            None,
        ),
    ],
)
def test_groups_of_unlike_number(notes: str, page: str, chords: list[str], group: int | None) -> None:
    line = line_of(notes, "left", unit=Fraction(1, 2))
    (figure,) = detect_bass_and_chord(line)
    assert (shown(figure), harmonies(figure), figure.group) == (page, chords, group)
    assert follows(figure, line, spell_out_bass_and_chord)


def test_a_bass_alone_leads_from_one_harmony_to_the_next() -> None:
    line = line_of("C3 E4/G4/C5 G2 E4/G4/C5 C3 E4/G4/C5 E3 D3 F4/A4/D5 A2 F4/A4/D5", "left")
    figure = max(detect_bass_and_chord(line), key=lambda figure: len(figure.struck))
    assert shown(figure) == "C3 E4/G4/C5 G2 e4/g4/c5 C3 e4/g4/c5 E3 D3 F4/A4/D5 A2 f4/a4/d5"
    assert harmonies(figure) == ["0: C major/C", "7: D minor/D"]
    assert follows(figure, line, spell_out_bass_and_chord)


def test_a_bass_carries_as_many_chords_as_a_bar_holds() -> None:
    line = line_of(("B2 " + "D4/G4 " * 7) * 2, "left", unit=Fraction(3, 8), bar=Fraction(3))
    (figure,) = detect_bass_and_chord(line)
    assert (shown(figure), figure.group) == ("B2 D4/G4 " + "d4/g4 " * 6 + "b2" + " d4/g4" * 7, 8)
    longer = line_of(("B2 " + "D4/G4 " * 8) * 2, "left", unit=Fraction(3, 8), bar=Fraction(3))
    assert found(detect_bass_and_chord, longer) == []


def test_a_chord_may_begin_on_the_upper_note_of_an_octave_bass() -> None:
    line = line_of("A2/A3 A3/C4/E4 A3/C4/E4 E3 G#3/B3/D4 G#3/B3/D4", "left")
    (figure,) = detect_bass_and_chord(line)
    assert shown(figure) == "A2/A3 A3/C4/E4 a3/c4/e4 E3 G#3/B3/D4 g#3/b3/d4"
    assert follows(figure, line, spell_out_bass_and_chord)


def test_the_last_group_ends_like_those_before_it_where_another_chord_follows() -> None:
    line = line_of("D3 F3/A3 D3 F3/A3 G2 Bb2/D3 G2 Bb2/D3 C3/E3/Bb3 C3/E3/Bb3", "left", unit=Fraction(1))
    (figure,) = detect_bass_and_chord(line)
    assert shown(figure) == "D3 F3/A3 d3 f3/a3 G2 Bb2/D3 g2 bb2/d3"
    assert follows(figure, line, spell_out_bass_and_chord)


def test_a_held_bass_in_one_voice_and_chords_in_another() -> None:
    texture = texture_of("", ("r E4/G4 E4/G4 r F4/G4 F4/G4 r E4/G4 E4/G4", "C3*3 B2*3 C3*3"), unit=Fraction(1), bar=Fraction(3))
    (figure,) = detect_bass_and_chord(texture.hands["left"])
    assert shown(figure) == "C3 E4/G4 e4/g4 B2 F4/G4 f4/g4 C3 E4/G4 e4/g4"
    assert follows(figure, texture.hands["left"], spell_out_bass_and_chord)


def test_a_group_that_no_chord_holds_goes_on_if_little_in_it_is_new() -> None:
    line = line_of("C3 E4/G4/C5 E4/G4/C5 D3 E4/G4/C5 E4/G4/C5 C3 E4/G4/C5 E4/G4/C5", "left", unit=Fraction(1), bar=Fraction(3))
    (figure,) = detect_bass_and_chord(line)
    assert shown(figure) == "C3 E4/G4/C5 e4/g4/c5 D3 e4/g4/c5 e4/g4/c5 C3 e4/g4/c5 e4/g4/c5"
    assert harmonies(figure) == ["0: C major/C"]


@pytest.mark.parametrize(
    "notes",
    [
        WALTZ_C,  # once
        "C3 E4/G4 D3 F4/A4 E3 G4/B4",  # a new harmony every time: nothing would be grey
        "C3 D4/E4 D4/E4 C3 D4/E4 D4/E4",  # no chord
        "G4 E4/C4 E4/C4 G4 E4/C4 E4/C4",  # the single note is above
        "C3 E4/G4*2 C3*2 E4/G4",  # unequal groups, and in none of them a chord twice
        "C3 E4/G4 E4/G4 C3 F4/A4 G4/B4",  # unequal harmonies: nothing holds the second group
        "C3/C4 E3/G3 C3/C4 E3/G3",  # the chord lies within the octave
        "C3 E4/G4 C3 E4/G4 F4/A4 F4/A4",  # two groups, and the second goes on otherwise
        "C3 " + "E4/G4 " * 8,  # one group
        "C3 E4/G4 r*2 C3 E4/G4 r*2",  # a rest longer than the chord
        "C3 E4/G4 E4/G4 G2",  # one group and a bass
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
    assert [len(figure.moments) for figure in detect_bass_and_chord(line)] == [6, 6]


@pytest.mark.parametrize(
    ("notes", "chords"),
    [
        ("F#2 A#3/C#4/E4 C#2 A#3/C#4/E4 " * 2, ["0: F# dominant-seventh/F#"]),  # the root is in the bass alone, and the bass alternates
        ("C3 E3/G3 G2 E3/G3 " * 2, ["0: C major/C"]),
        ("C3 E3/G3/C4 C3 E3/G3/C4 A2 E3/G3/C4 A2 E3/G3/C4", ["0: C major/C", "4: A minor-seventh/A"]),  # no tone of the harmony: another
    ],
)
def test_a_bass_that_alternates_is_no_change(notes: str, chords: list[str]) -> None:
    line = line_of(notes, "left", unit=Fraction(1))
    (figure,) = detect_bass_and_chord(line)
    assert harmonies(figure) == chords
    assert follows(figure, line, spell_out_bass_and_chord)


@pytest.mark.parametrize("notes", ["G2 Bb2/D3 Bb2/D3 Bb2/Eb3 " * 3, "G2 Bb2/Eb3 Bb2/D3 " * 3])
def test_two_triads_over_one_bass_are_no_seventh(notes: str) -> None:
    assert not list(detect_bass_and_chord(line_of(notes, "left", fifths=-2)))


def test_a_bass_that_alternates_is_left_to_bass_and_chord() -> None:
    line = line_of("F#2 A#3/C#4/E4 C#3 A#3/C#4/E4 " * 4, "left")
    assert not list(detect_broken_chords(line))
    (figure,) = detect_bass_and_chord(line)
    assert [change.chord.quality for change in figure.changes] == ["dominant-seventh"]
