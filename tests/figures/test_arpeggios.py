"""Arpeggios: every chord, up and down, turning, across staves; what is none; and that all grey notes follow."""

import random
from fractions import Fraction

import pytest
from figures.chord_figures import OF_THREE_TONES, follows, found, shown, word
from figures.lines_from_text import line_of, name, pitches, texture_of
from generated.chords import tone_above

from annotator.figures.arpeggios import detect_arpeggios, fill, spell_out_arpeggio, turning_notes
from annotator.music.chords import Chord, classes_of, tones
from annotator.music.score import pitch_of


def text_of(chord: Chord, size: int, octave: int = 3) -> str:
    """Write ``size`` notes up the chord from its bass."""
    bass = pitch_of(chord.bass[0], chord.bass.count("#") - chord.bass[1:].count("b"), octave)
    return " ".join(word(tone_above(chord, bass, index)) for index in range(size))


@pytest.mark.parametrize("root", ["C", "F#", "Bb", "Ab"])
@pytest.mark.parametrize("quality", OF_THREE_TONES)
def test_every_chord_and_inversion_is_found_and_named_up_down_and_turning(root: str, quality: str) -> None:
    for inversion, bass in enumerate(tones(Chord(root, quality, 0, root))):
        chord = Chord(root, quality, inversion, bass)
        up = text_of(chord, 6)
        down = " ".join(reversed(up.split()))
        there_and_back = f"{up} {down.split(' ', 1)[1]}"
        for text, direction, dark in ((up, "up", 2), (down, "down", 2), (there_and_back, "turning", 3)):
            line = line_of(text)
            (figure,) = detect_arpeggios(line)
            assert (figure.chord, figure.direction, len(figure.anchors)) == (chord, direction, dark)
            assert len(figure.struck) == len(text.split())
            assert follows(figure, line, spell_out_arpeggio)


@pytest.mark.parametrize(
    ("notes", "figures"),
    [
        ("C4 E4 G4 C5", ["C4 e4 g4 C5"]),
        ("C4 E4 G4 C5*2", ["C4 e4 g4 C5"]),  # the last may be longer
        ("C4 E4 G4 C5 E5 C5 G4 C5 E5 G5", ["C4 e4 g4 c5 E5 c5 G4 c5 e5 G5"]),  # legs of three beside one of four
        ("E4 C4 E4 G4 C5", ["C4 e4 g4 C5"]),  # a leg of two is none: the figure begins at the turn
        ("C4 E4 G4 C5 G4 C5", ["C4 e4 g4 C5"]),
        ("G3 B3 D4 F4 G4 B4", ["G3 b3 d4 f4 g4 B4"]),
        ("C4 E4 G4 B4 D5 B4 G4 E4", ["C4 e4 g4 B4"]),  # no ninth: the chord ends, and B D G E is no chord's order
        ("C4 E4 G4 C5 F5 A5 C6 F6", ["C4 e4 g4 C5", "C5 f5 a5 c6 F6"]),  # two chords, one note in common
    ],
)
def test_what_is_grey(notes: str, figures: list[str]) -> None:
    line = line_of(notes)
    assert found(detect_arpeggios, line)[: len(figures)] == figures
    assert all(follows(figure, line, spell_out_arpeggio) for figure in detect_arpeggios(line))


@pytest.mark.parametrize(
    "notes",
    [
        "C4 E4 G4",  # three notes
        "C4 E4 G4 E4 C4 E4 G4 E4",  # a broken chord
        "C4 G4 E4 G4 C4 G4 E4 G4",  # Alberti bass
        "C4 G4 C5 E5",  # not each the next tone
        "C4 E4 G4 C5/E5",  # a chord at the end
        "C4 E4*2 G4 C5",  # unequal values
        "C4 E4 r G4 C5",  # a rest
        "C4 D4 E4 F4 G4 A4 B4 C5",  # a scale
        "G3 B3 F4 G4 B4 F5",  # G7 without its fifth: of a seventh chord all four notes
        "D3 F3 G3 D4 F4 G4",
        "C4 Eb4 G4 B4",  # thirds, but no chord of the table
    ],
)
def test_near_misses_find_nothing(notes: str) -> None:
    assert found(detect_arpeggios, line_of(notes)) == []


def test_random_leaps_find_nothing() -> None:
    rolls = random.Random(11)
    keys = [rolls.choice("CDEFGAB") + rolls.choice(["", "#", "b"]) + rolls.choice("23456") for _ in range(600)]
    assert found(detect_arpeggios, line_of(" ".join(keys))) == []


def test_a_double_bar_ends_it() -> None:
    text = "C4 E4 G4 C5 E5 G5 C6 E6"
    assert found(detect_arpeggios, line_of(text)) == ["C4 e4 g4 c5 e5 g5 c6 E6"]
    assert found(detect_arpeggios, line_of(text, unit=Fraction(1), cuts=frozenset({1}))) == ["C4 e4 g4 C5", "E5 g5 c6 E6"]


def test_the_sound_counts_where_spelling_changes_on_the_way() -> None:
    line = line_of("B3 D4 F4 G#4 B4 D5 F5 Ab5")
    (figure,) = detect_arpeggios(line)
    assert shown(figure) == "B3 d4 f4 g#4 b4 d5 f5 Ab5"
    assert figure.chord == Chord("B", "diminished-seventh", 0, "B")
    assert follows(figure, line, spell_out_arpeggio)


def test_it_passes_from_hand_to_hand_in_blocks_of_two_and_more() -> None:
    shared = texture_of("r r r C4 E4 G4", "C3 E3 G3 r r r").shared
    assert shared is not None
    (figure,) = detect_arpeggios(shared)
    assert shown(figure) == "C3 e3 g3 c4 e4 G4"
    assert (figure.staff, figure.voice) == (2, "2")
    alternating = texture_of("r E3 r C4 r G4", "C3 r G3 r E4 r").shared
    assert alternating is not None and found(detect_arpeggios, alternating) == []
    in_one_hand = texture_of("C4 E4 G4 C5 r r", "r r r r C3 E3").shared
    assert in_one_hand is not None and found(detect_arpeggios, in_one_hand) == []  # the voice line has it


def test_a_tune_over_a_middle_voice_is_no_arpeggio() -> None:
    woven = texture_of(("r E4 r C5", "C4 r G4 r"), "").hands["right"]
    assert found(detect_arpeggios, woven) == []
    handed_on = texture_of(("r r G4 C5", "C4 E4 r r"), "").hands["right"]
    assert found(detect_arpeggios, handed_on) == ["C4 e4 g4 C5"]


def test_a_tied_last_note_brings_its_continuation_along() -> None:
    (figure,) = detect_arpeggios(line_of("C4 E4 G4 C5~ C5"))
    assert [name(note) for note in figure.notes] == ["C4", "E4", "G4", "C5", "C5"]
    assert len(figure.struck) == 4


def test_root_position_on_the_lines_reads_in_threes() -> None:
    """E G B, G B D …: three notes on three neighbouring lines of the treble staff are a root-position triad (staff lines: any primer)."""
    lines = [p.diatonic for p in pitches("E4 G4 B4 D5 F5")]
    assert lines == list(range(lines[0], lines[0] + 9, 2))
    for low in ("E4 G4 B4", "G4 B4 D5", "B4 D5 F5"):
        up = " ".join(f"{w[0]}{int(w[1]) + octave}" for octave in (0, 1) for w in low.split())
        (figure,) = detect_arpeggios(line_of(up, unit=Fraction(1, 3)))
        assert figure.chord is not None and figure.chord.inversion == 0 and figure.chord.root == low[0]
        assert len(figure.struck) == 6 and len(figure.anchors) == 2


def test_a_long_leg_is_given_by_a_ladder_of_the_same_tones_and_by_no_other() -> None:
    rolls = random.Random(11)
    names = [rolls.choice("CDEFGAB") + rolls.choice(["", "b", "#"]) for _ in range(40)]
    chords = [Chord(root, quality, 0, root) for root in names for quality in OF_THREE_TONES]
    given = 0
    for _ in range(4000):
        chord = rolls.choice(chords)
        classes = classes_of(chord)
        keys = [key for key in range(24, 108) if key % 12 in classes]
        place, way, walk = rolls.randrange(8, 13), rolls.choice((-1, 1)), []
        for leg in (rolls.randint(4, 6), *(rolls.randint(3, 5) for _ in range(rolls.randrange(3)))):
            walk += [keys[place + way * step] for step in range(bool(walk), leg)]
            place, way = place + way * (leg - 1), -way
        named = rolls.choice([chord, rolls.choice(chords)])
        filled = fill(named, {turn: walk[turn] for turn in turning_notes(walk)}, len(walk))
        assert (filled == walk) == (classes == classes_of(named))
        given += filled == walk
    assert given > 1000


@pytest.mark.parametrize(
    ("notes", "figure", "chord"),
    [
        ("D2 A2 D3 F3 A3", "D2 A2 d3 f3 A3", Chord("D", "minor", 0, "D")),  # a fifth below: the bass
        ("A1 A2 D3 F3 A3", "A1 A2 d3 f3 A3", Chord("D", "minor", 2, "A")),  # an octave below
        ("C3*4 E4 G4 C5 E5", "C3 E4 g4 c5 E5", Chord("C", "major", 0, "C")),  # longer
        ("C4*4 E4 G4 C5 E5", "C4 e4 g4 c5 E5", Chord("C", "major", 0, "C")),  # longer, and the neighbouring tone
        ("G5*4 E5 C5 G4 E4", "G5 e5 c5 g4 E4", Chord("C", "major", 1, "E")),
        ("G5*4 E4 G4 C5 E5", "E4 g4 c5 E5", Chord("C", "major", 1, "E")),  # above: no bass
        ("F3*4 E4 G4 C5 E5", "E4 g4 c5 E5", Chord("C", "major", 1, "E")),  # no tone of the chord
        ("C3*4 r E4 G4 C5 E5", "E4 g4 c5 E5", Chord("C", "major", 1, "E")),  # not directly before
        ("C3/E3*4 E4 G4 C5 E5", "E4 g4 c5 E5", Chord("C", "major", 1, "E")),
        ("C3 E4 G4 C5 E5", "E4 g4 c5 E5", Chord("C", "major", 1, "E")),  # neither longer nor so near
    ],
)
def test_the_bass_before_an_arpeggio_belongs_to_it(notes: str, figure: str, chord: Chord) -> None:
    line = line_of(notes, "left")
    (arpeggio,) = detect_arpeggios(line)
    assert (shown(arpeggio), arpeggio.chord) == (figure, chord)
    assert follows(arpeggio, line, spell_out_arpeggio)
