"""Chords: names against music21 (an independent implementation), the rule where spelling fails, and the ladder."""

from fractions import Fraction
from itertools import combinations, permutations

import pytest
from generated.chords import tone_above

from annotator.music.chords import QUALITIES, Chord, name_chord, rungs, same_harmony, tones
from annotator.music.score import Pitch, pitch_at, pitch_of

ROOTS = ("C", "F#", "Bb", "E", "Ab", "D", "C#", "Gb")

MUSIC21_NAMES = {  # the words music21.chord uses for the qualities, Chord.commonName (read from music21 9)
    "major": "major triad",
    "minor": "minor triad",
    "diminished": "diminished triad",
    "augmented": "augmented triad",
    "dominant-seventh": "dominant seventh chord",
    "major-seventh": "major seventh chord",
    "minor-seventh": "minor seventh chord",
    "half-diminished-seventh": "half-diminished seventh chord",
    "diminished-seventh": "diminished seventh chord",
}


def pitch(text: str) -> Pitch:
    """Read ``F#3`` as a pitch."""
    return pitch_of(text[0], text.count("#") - text[1:].count("b"), int(text[-1]))


def named(text: str) -> Chord | None:
    return name_chord([pitch(word) for word in text.split()])


def brief(text: str) -> str | None:
    chord = named(text)
    return chord and f"{chord.root} {chord.quality} {chord.inversion} {chord.bass}"


def every_chord() -> list[Chord]:
    """Every root, quality and inversion."""
    return [
        Chord(root, quality, inversion, tones(Chord(root, quality, 0, root))[inversion])
        for root in ROOTS
        for quality, semitones in QUALITIES.items()
        if quality in MUSIC21_NAMES
        for inversion in range(len(semitones))
    ]


def close(chord: Chord) -> list[Pitch]:
    """Return the chord in close position above its bass."""
    bass = pitch_of(chord.bass[0], chord.bass.count("#") - chord.bass[1:].count("b"), 3)
    return [tone_above(chord, bass, index) for index in range(len(QUALITIES[chord.quality]))]


@pytest.mark.parametrize("chord", every_chord(), ids=lambda c: f"{c.root}-{c.quality}-{c.inversion}")
def test_every_chord_and_inversion_is_named_as_music21_names_it(chord: Chord) -> None:
    reference = pytest.importorskip("music21").chord.Chord(
        [f"{p.step}{'#' * p.alter if p.alter > 0 else '-' * -p.alter}{p.octave}" for p in close(chord)]
    )
    assert name_chord(close(chord)) == chord
    assert reference.root().name.replace("-", "b") == chord.root
    assert reference.inversion() == chord.inversion
    assert reference.commonName == MUSIC21_NAMES[chord.quality]


def test_order_octaves_and_doublings_do_not_matter() -> None:
    notes = close(Chord("G", "dominant-seventh", 1, "B"))
    for order in permutations(notes):
        assert name_chord(order) == Chord("G", "dominant-seventh", 1, "B")
    wide = [notes[0], *(pitch_at(p.diatonic + 14, p.alter) for p in notes[1:]), notes[0]]
    assert name_chord(wide) == Chord("G", "dominant-seventh", 1, "B")


@pytest.mark.parametrize(
    ("notes", "name"),
    [
        ("C3 E3 G3 A3", "A minor-seventh 1 C"),  # letters stack from A; not a sixth chord
        ("B2 D3 F3 G#3", "G# diminished-seventh 1 B"),  # the root of a diminished seventh is told by its letters
        ("B2 D3 F3 Ab3", "B diminished-seventh 0 B"),
        ("E3 G#3 C4", "C augmented 1 E"),
        ("E3 G#3 B#3", "E augmented 0 E"),
        ("C3 D#3 G3", "C minor 0 C"),  # no stack of letters: by sound
        ("D#3 G3 C4", "C minor 1 D#"),
        ("G#3 C4 E4", "C augmented 2 G#"),
        ("D3 Gb3 A#3", "D augmented 0 D"),  # no stack: by sound, from the lowest note
        ("C3 D#3 F#3 A3", "D# diminished-seventh 3 C"),
        ("C3 D#3 Gb3 A3", "C diminished-seventh 0 C"),  # no stack: by sound, from the lowest note
        ("C3 E3 A#3", "C augmented-sixth 0 C"),
        ("Ab2 C3 Eb3 F#3", "Ab augmented-sixth 0 Ab"),  # the German sixth: the letters say that F♯ is no seventh
        ("Ab2 C3 F#3", "Ab augmented-sixth 0 Ab"),  # the Italian sixth
        ("C3 F#3 Ab3", "Ab augmented-sixth 1 C"),
        ("F#2 Ab2 C3 Eb3", "Ab augmented-sixth 3 F#"),
        ("Ab2 C3 Eb3 Gb3", "Ab dominant-seventh 0 Ab"),
        ("Ab2 C3 Gb3", "Ab dominant-seventh 0 Ab"),
        ("A2 C3 F#3", "F# diminished 1 A"),  # the same letters, and no augmented sixth
        ("G#2 C3 F#3", "G# dominant-seventh 0 G#"),  # neither spelling: by sound
    ],
)
def test_the_root_is_told_by_letters_and_only_then_by_sound(notes: str, name: str) -> None:
    assert brief(notes) == name


@pytest.mark.parametrize(
    ("notes", "name"),
    [
        ("B2 F3 G3", "G dominant-seventh 1 B"),  # without its fifth
        ("G2 B2 F3", "G dominant-seventh 0 G"),
        ("F2 G2 B2", "G dominant-seventh 3 F"),
        ("D3 F3 G3", None),  # no dominant without its third
        ("G3 D4 F4", None),
        ("C3 E3 B3", "C major-seventh 0 C"),
        ("D3 F3 C4", "D minor-seventh 0 D"),
        ("B2 D3 A3", "B minor-seventh 0 B"),
        ("F3 A3 B3", "B half-diminished-seventh 2 F"),
    ],
)
def test_three_notes_of_a_seventh_chord_name_it(notes: str, name: str) -> None:
    assert brief(notes) == name


@pytest.mark.parametrize(
    "notes", ["C3", "C3 G3", "C3 E3", "C3 C4 B3", "C3 D3 E3", "C3 D3 G3", "C3 E3 Gb3", "C3 Eb3 Gb3 B3", "C3 E3 G3 B3 D4"]
)
def test_what_is_no_chord_gets_no_name(notes: str) -> None:
    assert named(notes) is None


def test_a_quarter_tone_belongs_to_no_chord() -> None:
    assert name_chord([pitch("C3"), Pitch("E", Fraction(-1, 2), 3), pitch("G3")]) is None


def test_every_set_of_white_and_black_keys_keeps_its_sound() -> None:
    """Whatever is named, the tones of the name sound as the notes given do, but for one tone left out of a seventh."""
    names = [pitch_of(step, alter, 4) for step in "CDEFGAB" for alter in (-1, 0, 1)]
    found = 0
    for size in (3, 4):
        for notes in combinations(names, size):
            chord = name_chord(notes)
            if chord is None:
                continue
            found += 1
            given = {int(p.semitone) % 12 for p in notes}
            full = {int(p.semitone) % 12 for p in close(chord)}
            assert given <= full
            assert full == given or (len(full) == 4 and len(given) == 3)
    assert found > 300


def test_the_ladder_of_a_chord_goes_on_through_the_octaves_both_ways() -> None:
    chord = named("E3 G3 C4")
    assert chord is not None
    up = [tone_above(chord, pitch("E3"), index) for index in range(-3, 5)]
    assert up == [pitch(w) for w in ("E2", "G2", "C3", "E3", "G3", "C4", "E4", "G4")]


def test_the_sparse_ladder_leaves_out_the_fifth_or_under_a_fifth_the_third() -> None:
    seventh = Chord("G", "dominant-seventh", 0, "G")
    assert [tone_above(seventh, pitch("B2"), i, sparse=True) for i in range(3)] == [pitch(w) for w in ("B2", "F3", "G3")]
    assert [tone_above(seventh, pitch("D3"), i, sparse=True) for i in range(3)] == [pitch(w) for w in ("D3", "F3", "G3")]
    assert rungs(Chord("C", "major", 0, "C"), 0, sparse=True) == (0, 4, 7)


def test_a_ladder_needs_a_tone_of_the_chord_to_stand_on() -> None:
    with pytest.raises(ValueError, match="no tone"):
        tone_above(Chord("C", "major", 0, "C"), pitch("D3"), 1)


def test_spelling_goes_into_double_signs_where_the_letters_ask_for_it() -> None:
    assert tones(Chord("Cb", "diminished-seventh", 0, "Cb")) == ("Cb", "Ebb", "Gbb", "Bbbb")
    assert tone_above(Chord("Cb", "major", 0, "Cb"), pitch("Cb4"), 3) == pitch("Cb5")
    assert tone_above(Chord("G#", "major", 0, "G#"), pitch("G#3"), 1) == pitch("B#3")


def test_same_harmony_looks_past_the_bass() -> None:
    assert same_harmony(Chord("C", "major", 0, "C"), Chord("C", "major", 1, "E"))
    assert not same_harmony(Chord("C", "major", 0, "C"), Chord("C", "minor", 0, "C"))
