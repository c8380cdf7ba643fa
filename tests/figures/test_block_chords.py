"""Block chords: every chord in close position, spacing that leaves notes dark, and what is no chord."""

import pytest
from figures.chord_figures import OF_THREE_TONES, brief, follows, found, shown, word
from figures.lines_from_text import line_of, name, texture_of
from generated.chords import tone_above

from annotator.figures.arpeggios import detect_block_chords, spell_out_block_chord
from annotator.music.chords import QUALITIES, Chord, tones
from annotator.music.score import pitch_of


@pytest.mark.parametrize("root", ["C", "F#", "Eb"])
@pytest.mark.parametrize("quality", OF_THREE_TONES)
def test_every_chord_in_every_inversion(root: str, quality: str) -> None:
    for inversion, bass in enumerate(tones(Chord(root, quality, 0, root))):
        chord = Chord(root, quality, inversion, bass)
        low = pitch_of(bass[0], bass.count("#") - bass[1:].count("b"), 3)
        text = "/".join(word(tone_above(chord, low, index)) for index in range(len(QUALITIES[quality])))
        line = line_of(text)
        (figure,) = detect_block_chords(line)
        assert figure.chord == chord
        assert [name(note) for note in figure.anchors] == [text.split("/")[0]]
        assert follows(figure, line, spell_out_block_chord)


@pytest.mark.parametrize(
    ("notes", "chord", "page"),
    [
        ("E3/G3/C4", "C major/E", "E3/g3/c4"),
        ("C3/E3/G3/C4", "C major/C", "C3/e3/g3/c4"),
        ("C3/G3/C4/E4/G4/C5", None, None),  # open: too little would be grey
        ("C3/E3/G3/C4/G4", "C major/C", "C3/e3/g3/c4/G4!"),  # the spacing does not give the last
        ("B2/F3/G3", "G dominant-seventh/B", "B2/f3/g3"),  # three notes of a seventh: without the fifth
        ("D3/F3/G3", None, None),  # no dominant without its third
        ("C3/E3/B3", None, None),  # no other seventh without its fifth
    ],
)
def test_what_is_grey(notes: str, chord: str | None, page: str | None) -> None:
    line = line_of(notes)
    figures = list(detect_block_chords(line))
    if chord is None:
        assert figures == []
    else:
        (figure,) = figures
        assert figure.chord is not None
        assert (brief(figure.chord), shown(figure)) == (chord, page)
        assert follows(figure, line, spell_out_block_chord)


@pytest.mark.parametrize("notes", ["C4/E4", "C4/D4/E4", "C4/F4/Bb4", "C4/E4/Gb4", "C4/C5/C6", "C4/G4/C5"])
def test_what_is_no_chord(notes: str) -> None:
    assert found(detect_block_chords, line_of(notes)) == []


def test_a_chord_of_which_a_note_is_held_over_is_not_struck_whole() -> None:
    assert found(detect_block_chords, line_of("C4/E4/G4 F4/A4/C5")) == ["C4/e4/g4", "F4/a4/c5"]
    assert found(detect_block_chords, line_of("C4/E4/G4~ C4/F4/A4/C5/F5")) == ["C4/e4/g4"]


def test_two_voices_of_a_hand_make_one_chord_together() -> None:
    texture = texture_of(("C4/E4 D4/F4", "G4 B4"), "")
    assert [found(detect_block_chords, voice) for voice in texture.voices] == [[], []]
    assert found(detect_block_chords, texture.hands["right"]) == ["C4/e4/g4", "D4/f4/b4"]
