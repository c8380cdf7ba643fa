"""Alberti bass: named group by group, dark only where the chord does not tell; and what is none."""

import random
from fractions import Fraction

import pytest
from figures.chord_figures import OF_THREE_TONES, follows, found, harmonies, shown, word
from figures.lines_from_text import line_of, names, texture_of
from generated.chords import tone_above

from annotator.figures.alberti import detect_alberti_bass, spell_out_alberti_bass
from annotator.music.chords import Chord, name_chord, tones
from annotator.music.score import pitch_of

C, G7, F = "C3 G3 E3 G3 ", "D3 G3 F3 G3 ", "C3 A3 F3 A3 "


def test_chords_change_inside_one_figure() -> None:
    line = line_of(C + C + G7 + C + F + C + "B2 G3 D3 G3 " + C, "left")
    (figure,) = detect_alberti_bass(line)
    assert harmonies(figure) == [
        "0: C major/C",
        "8: G dominant-seventh/D",
        "12: C major/C",
        "16: F major/C",
        "20: C major/C",
        "24: G major/B",
        "28: C major/C",
    ]
    assert names(figure.anchors) == "C3 D3 C3 C3 C3 B2 C3"
    assert (figure.group, figure.hand, figure.odd, figure.chord) == (4, "left", (), Chord("C", "major", 0, "C"))
    assert follows(figure, line, spell_out_alberti_bass)


@pytest.mark.parametrize("root", ["C", "F#", "Bb"])
@pytest.mark.parametrize("quality", OF_THREE_TONES)
def test_every_chord_on_each_of_its_tones(root: str, quality: str) -> None:
    basses = list(tones(Chord(root, quality, 0, root)))
    if quality in ("dominant-seventh", "minor-seventh", "augmented-sixth"):
        del basses[2]  # on its fifth it has no third, and no name of its own
    for bass in basses:
        chord = Chord(root, quality, 0, root)
        low = pitch_of(bass[0], bass.count("#") - bass[1:].count("b"), 3)
        first, middle, high = (tone_above(chord, low, index, sparse=True) for index in range(3))
        line = line_of(f"{word(first)} {word(high)} {word(middle)} {word(high)} " * 2, "left")
        (figure,) = detect_alberti_bass(line)
        assert figure.chord is not None and name_chord([first, middle, high]) == figure.chord
        assert figure.chord.root == root and figure.chord.bass == bass
        assert names(figure.anchors) == word(first)
        assert follows(figure, line, spell_out_alberti_bass)


@pytest.mark.parametrize(
    ("notes", "page"),
    [
        (C + C, "C3 g3 e3 g3 c3 g3 e3 g3"),
        (C + "C3 G3 E3 G3*2", "C3 g3 e3 g3 c3 g3 e3 g3"),  # the last may be longer
        (C + "C3 G3 F3 G3 " + C, "C3 g3 e3 g3 c3 g3 F3! g3 c3 g3 e3 g3"),  # a neighbour note
        (C + "B2 G3 E3 G3 B2 G3 D3 G3", "C3 g3 e3 g3 B2 g3 e3 g3 B2 g3 d3 g3"),  # three harmonies: C, Em/B, G/B
        ("C3 C4 G3 C4 G3 G4 C4 G4 F3 F4 C4 F4", "C3 c4 g3 c4 G3 g4 c4 g4 F3 f4 c4 f4"),  # over an octave: open fifths
        (C + "E3 C4 G3 C4 " + C, "C3 g3 e3 g3 E3 c4 g3 c4 C3 g3 e3 g3"),  # another bass, the same harmony
        (C + "C3 G3 E3 A3 " + C, "C3 g3 e3 g3 c3 g3 e3 A3! c3 g3 e3 g3"),
        (C + "B2 F3 C3 F3 B2 F3 D3 F3 " + C, "C3 g3 e3 g3 B2 f3 C3! f3 b2 f3 d3 f3 C3 g3 e3 g3"),  # a suspension
    ],
)
def test_what_is_grey(notes: str, page: str) -> None:
    line = line_of(notes, "left")
    (figure,) = detect_alberti_bass(line)
    assert shown(figure) == page
    assert follows(figure, line, spell_out_alberti_bass)


def test_another_bass_under_one_chord_is_no_change() -> None:
    (figure,) = detect_alberti_bass(line_of(C + "E3 C4 G3 C4 " + C, "left"))
    assert harmonies(figure) == ["0: C major/C"]


@pytest.mark.parametrize(
    "notes",
    [
        "C4 C5 B4 C5 C4 C5 B4 C5",  # octave and neighbour: no one chord
        C,  # one group alone
        "C3 G3 C3 G3 C3 G3 C3 G3",  # two notes
        "C3 E3 G3 E3 C3 E3 G3 E3",  # low, middle, high, middle: another broken chord
        "C3 G3 D3 G3 C3 G3 D3 G3",  # no chord
        "C3 E4 G3 E4 C3 E4 G3 E4",  # spread over a tenth: close position does not give it
        "C3 G3 E3 G3*2 C3 G3 E3 G3",  # unequal
        "C3 G3 E3 G3 r C3 G3 E3 G3",  # a rest between
        "C3 G3 D3 G3 C3 G3 F3 G3",
    ],
)
def test_near_misses_find_nothing(notes: str) -> None:
    assert found(detect_alberti_bass, line_of(notes, "left")) == []


def test_groups_stand_on_the_beat() -> None:
    assert found(detect_alberti_bass, line_of("E3 G3 " + C + C, "left", unit=Fraction(1, 2))) == []
    assert len(found(detect_alberti_bass, line_of("r r r r " + C + C, "left", unit=Fraction(1, 2)))) == 1


def test_random_leaps_find_nothing() -> None:
    rolls = random.Random(5)
    keys = [rolls.choice("CDEFGAB") + rolls.choice("234") for _ in range(800)]
    assert found(detect_alberti_bass, line_of(" ".join(keys), "left")) == []


def test_a_double_bar_ends_it() -> None:
    line = line_of(C * 8, "left", cuts=frozenset({1}))
    assert [len(figure.struck) for figure in detect_alberti_bass(line)] == [16, 16]


def test_a_figure_that_one_voice_has_alone_is_not_found_again_in_the_hand() -> None:
    texture = texture_of("", (C + C, "r*4 r*4"))
    assert len(found(detect_alberti_bass, texture.voices[0])) == 1
    assert found(detect_alberti_bass, texture.hands["left"]) == []


def test_a_held_bass_in_a_voice_of_its_own_belongs_to_it() -> None:
    texture = texture_of("", ("r G3 E3 G3 r G3 E3 G3", "C3*4 C3*4"))
    (figure,) = detect_alberti_bass(texture.hands["left"])
    assert shown(figure) == "C3 g3 e3 g3 c3 g3 e3 g3"


@pytest.mark.parametrize(
    ("notes", "chords"),
    [
        (C + G7 + C, ["0: C major/C", "4: G dominant-seventh/D", "8: C major/C"]),
        (G7 + C + C, ["0: G dominant-seventh/D", "4: C major/C"]),
        (G7 + G7 + C, ["0: G dominant-seventh/D", "8: C major/C"]),
        ("B2 G3 F3 G3 " + G7 + "B2 G3 F3 G3 ", ["0: G dominant-seventh/B"]),  # the same harmony, with its third
        (G7 + G7, None),
        ("C3 B3 E3 B3 " * 2, ["0: C major-seventh/C"]),  # three tones, twice
        ("C3 B3 E3 B3 " + C, None),
    ],
)
def test_a_seventh_that_wants_a_tone_is_believed_beside_what_confirms_it(notes: str, chords: list[str] | None) -> None:
    line = line_of(notes, "left")
    figures = list(detect_alberti_bass(line))
    assert [harmonies(figure) for figure in figures] == ([] if chords is None else [chords])
    assert all(follows(figure, line, spell_out_alberti_bass) for figure in figures)


@pytest.mark.parametrize(
    ("notes", "pages"),
    [
        (C + "r*4 " + F, ["C3 g3 e3 g3", "C3 a3 f3 a3"]),  # beside another
        (F + G7 + F, ["C3 a3 f3 a3", "C3 a3 f3 a3"]),  # nothing says that what is between is a dominant
        (C + "r*28 " + F, []),  # too far
        (C + "r*4 B2 F3 C3 F3", []),  # the other is none
    ],
)
def test_one_group_will_do_beside_others(notes: str, pages: list[str]) -> None:
    line = line_of(notes, "left")
    figures = list(detect_alberti_bass(line))
    assert [shown(figure) for figure in figures] == pages
    assert all(follows(figure, line, spell_out_alberti_bass) for figure in figures)
