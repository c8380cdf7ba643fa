"""Broken chords: patterns in all sizes, the voicing that goes on, hands and voices that share one; and what is none."""

import random
from fractions import Fraction

import pytest
from figures.chord_figures import follows, found, harmonies, shown
from figures.lines_from_text import line_of, texture_of

from annotator.figures.broken_chords import SIZES, detect_broken_chords, spell_out_broken_chord
from annotator.figures.figure import CannotSpellOut
from annotator.figures.voicing import Voicing, pattern_of
from annotator.music.chords import Chord

THIRD, HALF = Fraction(1, 3), Fraction(1, 2)
C_MAJOR = Chord("C", "major", 0, "C")


@pytest.mark.parametrize(
    ("size", "unit", "notes", "page"),
    [
        (3, THIRD, "C4 E4 G4 " * 2, "C4 E4 G4 c4 e4 g4"),
        (3, THIRD, "G4 E4 C4 " * 2 + "A4 F4 C4 " * 2, "G4 E4 C4 g4 e4 c4 a4 f4 C4 a4 f4 c4"),
        (3, THIRD, "C4 E4 G4 " + "C4 F4 A4 " * 2 + "B3 D4 G4", "C4 E4 G4 C4 f4 a4 c4 f4 a4 B3 d4 g4"),
        (3, THIRD, "C4 E4 G4 " * 2 + "B3 F4 G4", "C4 E4 G4 c4 e4 g4"),  # four tones have no places in a pattern of three
        (3, THIRD, "C4 E4 G4 " + "D4 F4 G4 " * 3, "C4 E4 G4 D4 F4 G4 d4 f4 g4 d4 f4 g4"),  # four tones: nobody can count them up
        (4, HALF, "C4 E4 G4 E4 " * 2 + "D4 F4 A4 F4 " * 2, "C4 E4 G4 E4 c4 e4 g4 e4 D4 f4 a4 f4 d4 f4 a4 f4"),
        (4, HALF, "C3 E4 G3 E4 " * 2, "C3 E4 G3 E4 c3 e4 g3 e4"),  # Alberti's order, but spread
        (6, Fraction(1, 4), "C3 G3 E4 G4 E4 G3 " * 3, "C3 G3 E4 G4 E4 G3 c3 g3 e4 g4 e4 g3 c3 g3 e4 g4 e4 g3"),
        (8, HALF, "C3 G3 C4 E4 G4 E4 C4 G3 " * 2, "C3 G3 C4 E4 G4 E4 C4 G3 c3 g3 c4 e4 g4 e4 c4 g3"),
    ],
)
def test_what_is_grey(size: int, unit: Fraction, notes: str, page: str) -> None:
    bar = Fraction(3) if size == 6 else Fraction(4)
    line = line_of(notes, "left", unit=unit, bar=bar)
    figures = list(detect_broken_chords(line))
    assert [(figure.group, shown(figure)) for figure in figures] == [(size, page)]
    assert follows(figures[0], line, spell_out_broken_chord)


@pytest.mark.parametrize(
    ("notes", "page", "group"),
    [
        ("F#3/A3 D4 " * 4, "F#3/A3 D4 f#3/a3 d4 f#3/a3 d4 f#3/a3 d4", 2),
        ("F#3/A3 D4 " * 2 + "G3/B3 D4 " * 2, "F#3/A3 D4 f#3/a3 d4 G3/b3 d4 g3/b3 d4", 2),
        ("G4 C4/E4 " * 3, "G4 C4/E4 g4 c4/e4 g4 c4/e4", 2),
        ("C3/E3 G3 C4 G3 " * 2, "C3/E3 G3 C4 G3 c3/e3 g3 c4 g3", 4),
        ("C3 E3/G3 C4 E3/G3 " * 2, "C3 E3/G3 C4 E3/G3 c3 e3/g3 c4 e3/g3", 4),
    ],
)
def test_a_stroke_of_the_pattern_may_be_a_chord(notes: str, page: str, group: int) -> None:
    line = line_of(notes, "left", unit=HALF)
    (figure,) = detect_broken_chords(line)
    assert (shown(figure), figure.group) == (page, group)
    assert follows(figure, line, spell_out_broken_chord)


def test_changes_of_a_rocking_pattern_are_counted_in_strokes() -> None:
    (figure,) = detect_broken_chords(line_of("F#3/A3 D4 " * 2 + "G3/B3 D4 " * 2, "left", unit=HALF))
    assert harmonies(figure) == ["0: D major/F#", "4: G major/G"]


@pytest.mark.parametrize(
    "notes",
    [
        "C3 E3/G3 " * 4,  # bass and chord
        "C3/D3 G3 " * 4,  # no chord
        "C3/E3 G3 C3/E3 r C3/E3 G3",  # one group
    ],
)
def test_strokes_of_several_notes_that_are_no_pattern(notes: str) -> None:
    assert found(detect_broken_chords, line_of(notes, "left", unit=HALF)) == []


def test_chords_change_inside_one_figure_and_only_harmony_counts() -> None:
    line = line_of("C4 E4 G4 E4 G4 C5 C4 F4 A4 C4 F4 A4 B3 F4 G4 B3 F4 G4 C4 E4 G4", "left", unit=THIRD)
    (figure,) = detect_broken_chords(line)
    assert harmonies(figure) == ["0: C major/C", "6: F major/C", "12: G dominant-seventh/B", "18: C major/C"]
    assert shown(figure) == "C4 E4 G4 E4 g4 c5 C4 f4 a4 c4 f4 a4 B3 F4 G4 b3 f4 g4 C4 e4 g4"
    assert follows(figure, line, spell_out_broken_chord)


@pytest.mark.parametrize(
    ("notes", "groups"),
    [
        ("D4 G4 D4 B3 Db4 G4 Db4 Bb3 C4 F4 C4 A3 ", 0),  # three names, one of them diminished, for six notes
        ("Db3 Ab3 Db4 Fb4 Bbb2 Bbb3 Eb4 Gb4 ", 0),  # a double sign
        ("C4 E4 G4 E4 " * 2 + "B3 F4 G#4 F4 ", 2),  # the pattern ends before the name that costs more than it saves
        ("C4 E4 G4 E4 " * 2 + "B3 F4 G#4 F4 " * 2, 4),
    ],
)
def test_names_that_are_slower_to_read_than_their_notes(notes: str, groups: int) -> None:
    assert [len(figure.struck) // 4 for figure in detect_broken_chords(line_of(notes, "left", unit=HALF))] == [groups] * (groups > 0)


@pytest.mark.parametrize(
    ("notes", "chords"),
    [
        ("C3 E3 A3 G3 E3 C3 ", []),
        ("G3 B3 E4 D4 B3 G3 ", []),
        ("F3 A3 D4 C4 A3 F3 ", [Chord("D", "minor-seventh", 1, "F")]),
    ],
)
def test_a_sixth_over_tonic_or_dominant_has_no_name(notes: str, chords: list[Chord]) -> None:
    texture = texture_of("C5 E5 G5 B5 C6 G5 " * 2, notes * 2, unit=HALF, bar=Fraction(3))
    figures = detect_broken_chords(texture.voices[1])
    assert [change.chord for figure in figures for change in figure.changes] == chords


def test_an_unexpected_spacing_is_dark_once_and_then_in_force() -> None:
    line = line_of("C3 E3 G3 C4 " * 2 + "B2 D3 G3 D4 " * 2 + "C3 E3 G3 C4 ", "left", unit=HALF)
    (figure,) = detect_broken_chords(line)
    assert shown(figure) == "C3 E3 G3 C4 c3 e3 g3 c4 B2 d3 g3 D4! b2 d3 g3 d4 C3 e3 g3 c4"
    assert follows(figure, line, spell_out_broken_chord)


def test_a_passing_note_is_dark_and_the_figure_goes_on() -> None:
    line = line_of("C3 G3 E4 G3 C4 G3 E4 G3 " + "C3 G3 E4 G3 D4 G3 E4 G3 " + "C3 G3 E4 G3 C4 G3 E4 G3", "left", unit=HALF)
    figure = max(detect_broken_chords(line), key=lambda f: len(f.struck))
    assert figure.group == 8
    assert shown(figure).endswith(" c3 g3 e4 g3 D4! g3 e4 g3 c3 g3 e4 g3 c4 g3 e4 g3")
    assert follows(figure, line, spell_out_broken_chord)


def test_a_group_with_a_passing_note_takes_the_chord_its_other_notes_name() -> None:
    seventh, passing = "F#2 C3 A3 C4 Eb4 A3 C4 Eb4 ", "Ab2 F3 B3 C4 D4 B3 C4 D4 "
    line = line_of(seventh * 2 + passing * 2, "left")
    (figure,) = [f for f in detect_broken_chords(line) if f.group == 8]
    assert harmonies(figure) == ["0: F# diminished-seventh/F#", "16: B diminished-seventh/Ab"]
    assert shown(figure).endswith(" Ab2 F3! b3 C4! D4! b3 C4! d4 ab2 f3 b3 C4! d4 b3 C4! d4")
    assert follows(figure, line, spell_out_broken_chord)
    leaping = line_of(seventh * 2 + "G2 Eb3 A3 C4 F#4 A3 C4 F#4 " * 2, "left")  # F sharp does not pass: no A half-diminished
    assert all(len(figure.moments) <= 16 for figure in detect_broken_chords(leaping))


def test_the_first_note_of_a_group_is_a_tone_of_its_chord() -> None:
    assert found(detect_broken_chords, line_of("B4 G4 E4 C5 D5 G4 E4 C5", "right", unit=HALF)) == []


def test_both_hands_share_one() -> None:
    right = "r r G4 C5 E5 G4 C5 E5 " * 2 + "r r A4 D5 F5 A4 D5 F5 " * 2
    texture = texture_of(right, ("C4*8 C4*8 C4*8 C4*8", "r E4*7 r E4*7 r D4*7 r D4*7"))
    assert texture.shared is not None
    (figure,) = [f for f in detect_broken_chords(texture.shared) if f.group == 8]
    assert harmonies(figure) == ["0: C major/C", "16: D minor-seventh/C"]
    assert shown(figure) == (
        "C4 E4 G4 C5 E5 G4 C5 E5 c4 e4 g4 c5 e5 g4 c5 e5 C4 d4 A4! D5! F5! a4 d5 f5 c4 d4 a4 d5 f5 a4 d5 f5"
    )
    assert follows(figure, texture.shared, spell_out_broken_chord)


def test_two_voices_of_a_hand_share_one_and_one_voice_alone_is_left_to_its_own_line() -> None:
    texture = texture_of("", ("r E3 G3 r E3 G3", "C3*3 C3*3"), unit=THIRD)
    assert found(detect_broken_chords, texture.hands["left"]) == ["C3 E3 G3 c3 e3 g3"]
    alone = texture_of("", ("C3 E3 G3 C3 E3 G3", "r*3 r*3"), unit=THIRD)
    assert found(detect_broken_chords, alone.hands["left"]) == []
    assert len(found(detect_broken_chords, alone.voices[0])) == 1


@pytest.mark.parametrize(
    "notes",
    [
        "C4 E4 " * 6,  # two notes: a tremolo
        "C3 G3 E3 G3 " * 3,  # Alberti bass
        "C4 E4 G4",  # once only
        "C4 E4 G4 B3 D4 G4",  # two triads in a row
        "C3 E3 G3 C4 E4 G4 C5 E5 G5",  # an arpeggio
        "E5 G4 D5 G4 C5 G4 B4 G4",  # a tune over one note: E G D would be no more than half of a chord
        "C4 D4 G4 C4 D4 G4",  # no chord
        "C4 E4 G4 G4 E4 C4",  # another pattern
        "C4 E4*2 G4 C4 E4*2 G4",  # unequal
        "C4 E4 G4 r C4 E4 G4",  # a rest
        "C4 D4 E4 F4 G4 A4 B4 C5",  # a scale
        "C4 D4 E4 C4 D4 E4 C4 D4 E4",  # a pattern, but no chord
    ],
)
def test_near_misses_find_nothing(notes: str) -> None:
    assert found(detect_broken_chords, line_of(notes, "left", unit=HALF)) == []


def test_random_leaps_find_nothing() -> None:
    rolls = random.Random(3)
    keys = [rolls.choice("CDEFGAB") + rolls.choice(["", "#", "b"]) + rolls.choice("2345") for _ in range(800)]
    assert found(detect_broken_chords, line_of(" ".join(keys), "left")) == []


def test_groups_stand_on_the_beat_where_they_can() -> None:
    after_rest = "r E4 G4 " + "C4 E4 G4 " * 4
    assert found(detect_broken_chords, line_of(after_rest, "left", unit=THIRD)) == ["C4 E4 G4" + " c4 e4 g4" * 3]
    off = "r C4 E4 G4 C4 E4 G4 r r"  # never on the beat, but whole
    assert found(detect_broken_chords, line_of(off, "left", unit=THIRD)) == ["C4 E4 G4 c4 e4 g4"]


def test_only_the_smallest_pattern_is_told() -> None:
    (figure,) = detect_broken_chords(line_of("C4 E4 G4 " * 8, "left", unit=THIRD))
    assert figure.group == 3


def test_reading_undoes_covering_for_any_groups() -> None:
    """Seeded random groups on a pattern: what the voicing leaves grey, it gives back."""
    rolls = random.Random(7)
    chords = [Chord("C", "major", 0, "C"), Chord("G", "dominant-seventh", 1, "B"), Chord("F", "minor", 0, "F")]
    for _ in range(400):
        first = [48, 52, 55, 60][: rolls.choice([3, 4])]
        pattern = pattern_of(first, C_MAJOR)
        assert pattern is not None
        writer, reader = (Voicing(pattern, sorted(set(first)), C_MAJOR) for _ in range(2))
        for _ in range(6):
            group = [rolls.choice([48, 50, 52, 53, 55, 59, 60, 65, 67]) for _ in first]
            changed = rolls.choice([None, None, *chords])
            try:
                dark, odd = writer.cover(group, changed)
            except CannotSpellOut:
                break  # the lowest note is no tone of the chord: the figure ends
            assert all(dark[place] for place, strange in enumerate(odd) if strange)
            assert reader.read([key if d else None for key, d in zip(group, dark, strict=True)], changed) == group


def test_the_sizes_are_those_of_the_vocabulary() -> None:
    assert SIZES == (3, 4, 6, 8)


@pytest.mark.parametrize(
    ("held", "chord"),
    [
        ("G2*16", Chord("G", "major", 0, "G")),  # the hand has the root below
        ("r*16", Chord("G", "major", 1, "B")),
        ("G2*3 r*13", Chord("G", "major", 0, "G")),
        ("r*4 G2*12", Chord("G", "major", 1, "B")),  # struck later
        ("A2*16", Chord("G", "major", 1, "B")),  # no tone of the chord
    ],
)
def test_the_slash_is_the_bass_that_the_hand_has(held: str, chord: Chord) -> None:
    texture = texture_of("", ("B3 D4 G4 D4 " * 4, held), unit=HALF)
    line = texture.voices[0]
    (figure,) = detect_broken_chords(line)
    assert (figure.chord, figure.changes[0].chord) == (chord, chord)
    assert follows(figure, line, spell_out_broken_chord)


@pytest.mark.parametrize(
    "notes",
    [
        "Eb5 Ab4 G4 Ab4 Eb4 Ab4 G4 Ab4 " * 2,  # G is a neighbour of A flat, and no seventh
        "C4 E4 B4 " + "D4 F4 A4 " * 3,  # three tones of a seventh, and nothing confirms it
        "G3 D4 F4 " + "A3 C4 E4 " + "G3 D4 F4 ",  # no dominant without its third where it leads elsewhere
    ],
)
def test_no_name_that_a_pianist_would_not_say(notes: str) -> None:
    figures = detect_broken_chords(line_of(notes, unit=HALF if "Eb5" in notes else THIRD))
    assert not [each for figure in figures for each in harmonies(figure) if "seventh" in each]
