"""Sequences: in every key and hand, by letters and exactly; groups that do not keep their shape are not found."""

from __future__ import annotations

import pytest
from figures.lines_from_text import line_of, names

from annotator.figures.figure import Figure
from annotator.figures.law import cover_up, written
from annotator.figures.sequences import detect_sequences, spell_out_sequence
from annotator.lines import Line
from annotator.score import key_of, pitch_at
from annotator.theory.names import Scale


def found(line: Line) -> list[Figure]:
    figures = list(detect_sequences(line))
    for figure in figures:
        assert figure.kind == "sequence"
        assert spell_out_sequence(cover_up(figure, line.bars)) == written(figure)
    return figures


def sequence(shape: tuple[int, ...], steps: int, repeats: int, fifths: int) -> str:
    """Return a shape (letters above C4) and its repeats, as the key signature has them."""
    alters = key_of(fifths).alters
    tokens = []
    for time in range(repeats + 1):
        for letter in shape:
            pitch = pitch_at(28 + letter + steps * time, alters[(letter + steps * time) % 7])
            sign = "#" * pitch.alter if pitch.alter > 0 else "b" * -pitch.alter
            tokens.append(f"{pitch.step}{sign}{pitch.octave}")
    return " ".join(tokens)


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("fifths", [0, 2, -5])
@pytest.mark.parametrize("steps", [1, -1, -2, 3])
@pytest.mark.parametrize("repeats", [2, 4])
@pytest.mark.parametrize("shape", [(0, 4, 2, 5), (0, 2, 3, 4, 5, 4, 3, 2)])
def test_the_model_and_the_first_note_of_each_repeat_are_dark(
    shape: tuple[int, ...], repeats: int, steps: int, fifths: int, hand: str
) -> None:
    line = line_of(sequence(shape, steps, repeats, fifths), hand, fifths=fifths)
    figure = max(found(line), key=lambda figure: len(figure.grey))
    assert (figure.steps, figure.times, figure.group) == (steps, repeats, len(shape))
    assert len(figure.struck) == (repeats + 1) * len(shape)
    assert len(figure.anchors) == len(shape) + repeats
    assert not figure.exact


def test_chords_move_as_a_whole() -> None:
    (figure,) = found(line_of("C4/E4 D4 E4 F4 D4/F4 E4 F4 G4 E4/G4 F4 G4 A4"))
    assert names(figure.grey) == "E4 F4 G4 F4 G4 A4"


def test_a_note_against_the_key_is_odd_and_dark() -> None:
    (figure,) = found(line_of("C4 G4 E4 A4 D4 A4 F#4 B4 E4 B4 G4 C5"))
    assert names(figure.odd) == "F#4"


def test_semitones_kept_make_an_exact_sequence() -> None:
    (figure,) = found(line_of("C4 E4 G4 C5 D4 F#4 A4 D5 E4 G#4 B4 E5 F#4 A#4 C#5 F#5"))
    assert (figure.exact, figure.odd, figure.times) == (True, (), 3)
    assert len(figure.anchors) == 7


def test_semitones_kept_count_however_they_are_spelled() -> None:
    (figure,) = found(line_of("C4 E4 G4 A4 C#4 F4 Ab4 Bb4 D4 F#4 A4 B4 Eb4 G4 Bb4 C5"))
    assert (figure.exact, figure.steps, figure.times) == (True, 0, 3)
    (figure,) = found(line_of("C5 E5 G5 A5 Bb4 D5 F5 G5 G#4 B#4 D#5 E#5 F#4 A#4 C#5 D#5"))
    assert (figure.exact, figure.steps, figure.times) == (True, -1, 3)


def test_a_line_by_step_has_scale_and_direction() -> None:
    (figure,) = found(line_of("C4 D4 E4 F4 E4 F4 G4 A4 G4 A4 B4 C5"))
    assert (figure.scale, figure.direction) == (Scale("C", "major"), "turning")
    (figure,) = found(line_of("E5 D5 C5 D5 C5 B4 A4 B4 A4 G4 F4 G4"))
    assert (figure.scale, figure.direction) == (Scale("C", "major"), "turning")
    (figure,) = found(line_of("C4 G4 E4 A4 D4 A4 F4 B4 E4 B4 G4 C5"))
    assert (figure.scale, figure.direction) == (None, None)


def test_a_repeat_with_too_many_odd_notes_ends_the_sequence_and_may_begin_another() -> None:
    good = sequence((0, 4, 2, 5), 1, 2, 0)
    (figure,) = found(line_of(good + " F4 C#5 A4 D#5"))
    assert figure.times == 2


@pytest.mark.parametrize(
    "text",
    [
        "C4 G4 E4 A4 D4 A4 F4 B4 G4 D5 B4 E5",
        "C4 G4 E4 A4 D4 A4 F4 B4 F4 E4 G4 C5",
        "C4 G4 E4 A4 D4 A4 F4 B4",
        "C4 G4 E4 A4 C4 G4 E4 A4 C4 G4 E4 A4",
        "C4 G4 E4 A4 D4*2 A4 F4 E4 B4 G4 C5",
        "C4 G4 E4 A4 r*4 D4 A4 F4 B4 E4 B4 G4 C5",
        "C4 G4 E4 A4 D4 Ab4 F#4 Bb4 E4 Bb4 G#4 C#5",
        "C4*2 E4*2 D4*2 F4*2 E4*2 G4*2",
        "C4/E4 D4 E4 F4 D4/G4 E4 F4 G4 E4/G4 F4 G4 A4",
        "C4/E4 D4 E4 F4 D4 E4 F4 G4 E4/G4 F4 G4 A4",
    ],
)
def test_near_misses_are_no_sequence(text: str) -> None:
    assert found(line_of(text)) == []
