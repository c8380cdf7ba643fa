"""Double notes: found in every interval, key and hand, rebuilt from their leading line, not found where they nearly are."""

from __future__ import annotations

from fractions import Fraction

import pytest
from figures.lines_from_text import line_of, name, names

from annotator.figures import double_notes
from annotator.figures.figure import Figure
from annotator.figures.law import cover_up, written
from annotator.figures.lines import Line
from annotator.music.intervals import LETTERS
from annotator.music.names import Scale
from annotator.music.score import key_of, pitch_at

INTERVALS = ("third", "fourth", "sixth", "octave", "tenth")
BY_LEAP = (28, 32, 30, 34, 29, 33, 28, 31)
BY_STEP = (28, 29, 30, 31, 32, 33, 34, 35)
TURNING = (28, 29, 30, 31, 32, 31, 30, 29, 28)


def found(line: Line, interval: str) -> list[Figure]:
    figures = [each for each in double_notes.detect_double_notes(line) if each.kind == f"parallel-{interval}s"]
    for figure in figures:
        assert figure.interval == interval
        assert double_notes.spell_out_double_notes(cover_up(figure, line.bars)) == written(figure)
    return figures


def pairs(bottoms: tuple[int, ...], interval: str, fifths: int = 0) -> str:
    """Return pairs on diatonic numbers, as the key signature has them."""
    alters = key_of(fifths).alters

    def word(at: int) -> str:
        pitch = pitch_at(at, alters[at % 7])
        return pitch.step + ("#" * pitch.alter if pitch.alter > 0 else "b" * -pitch.alter) + str(pitch.octave)

    return " ".join(f"{word(at)}/{word(at + LETTERS[interval])}" for at in bottoms)


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("fifths", [0, 3, -4, 6])
@pytest.mark.parametrize("interval", INTERVALS)
def test_a_line_by_leap_keeps_its_leading_notes_dark(interval: str, fifths: int, hand: str) -> None:
    line = line_of(pairs(BY_LEAP, interval, fifths), hand, fifths=fifths, bar="5/4")
    (figure,) = found(line, interval)
    assert figure.anchors == tuple(event.notes[-1 if hand == "right" else 0] for event in line.events)
    assert (figure.scale, figure.direction, figure.odd) == (None, None, ())


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("fifths", [0, 3, -4])
@pytest.mark.parametrize("interval", INTERVALS)
@pytest.mark.parametrize("way", ["up", "down"])
def test_a_run_keeps_only_its_first_and_last_pair_dark(interval: str, fifths: int, hand: str, way: str) -> None:
    bottoms = BY_STEP if way == "up" else BY_STEP[::-1]
    line = line_of(pairs(bottoms, interval, fifths), hand, fifths=fifths, bar="5/4")
    figure = max(found(line, interval), key=lambda figure: len(figure.grey))
    assert figure.anchors == line.events[0].notes + line.events[-1].notes
    assert figure.direction == way
    assert figure.scale is not None
    assert figure.scale.type == "major"


def test_turning_pairs_of_a_run_are_dark() -> None:
    line = line_of(pairs(TURNING, "third"))
    figure = max(found(line, "third"), key=lambda figure: len(figure.grey))
    assert names(figure.anchors) == "C4 E4 G4 B4 C4 E4"
    assert (figure.direction, figure.scale) == ("turning", Scale("C", "major"))


def test_an_arpeggio_in_octaves_keeps_only_its_ends_dark() -> None:
    line = line_of("C3/C4 E3/E4 G3/G4 C4/C5 E4/E5 G4/G5")
    figure = max(found(line, "octave"), key=lambda figure: len(figure.grey))
    assert names(figure.anchors) == "C3 C4 G4 G5"
    assert figure.chord is not None
    assert figure.chord.root == "C"


def test_a_chromatic_run_in_octaves_keeps_only_its_ends_dark() -> None:
    line = line_of("C3/C4 C#3/C#4 D3/D4 Eb3/Eb4 E3/E4 F3/F4")
    figure = max(found(line, "octave"), key=lambda figure: len(figure.grey))
    assert len(figure.grey) == 8
    assert figure.scale == Scale(None, "chromatic")


def test_chromatic_thirds_keep_the_size_of_the_first_pair() -> None:
    line = line_of("G#4/B4 A4/C5 A#4/C#5 B4/D5 C5/D#5 C#5/E5")
    figure = max(found(line, "third"), key=lambda figure: len(figure.grey))
    assert figure.exact
    assert names(figure.anchors) == "G#4 B4 C#5 E5"
    larger = line_of("G#4/B4 A4/C5 A#4/C#5 B4/D#5 C5/E5 C#5/F5")
    assert not any(figure.exact for figure in found(larger, "third"))


def test_a_note_against_the_key_is_odd_and_dark() -> None:
    line = line_of("C4/E4 G4/B4 E4/G4 F#4/A4 D4/F4 C4/E4")
    (figure,) = found(line, "third")
    assert names(figure.odd) == "F#4"
    assert "F#4" in names(figure.anchors)


def test_an_accidental_holds_to_the_end_of_its_bar() -> None:
    line = line_of("C4/E4 G4/B4 F#4/A4 C4/E4 F#4/A4 C4/E4 F#4/A4 C4/E4")
    (figure,) = found(line, "third")
    assert [name(note) for note in figure.odd] == ["F#4"]


def test_an_octave_is_a_copy() -> None:
    line = line_of("C3/C4 F#3/F#4 E3/E4 Bb3/Bb4 C3/C4")
    (figure,) = found(line, "octave")
    assert figure.odd == ()
    (figure,) = found(line_of("C3/C4 F3/F#4 E3/E4 B3/B4 C3/C4"), "octave")
    assert names(figure.odd) == "F3"


def test_an_odd_note_in_a_run_stays_dark_and_the_run_goes_on() -> None:
    line = line_of("C4/E4 D4/F4 E4/G4 F#4/A4 G4/B4 A4/C5 B4/D5 C5/E5")
    figure = max(found(line, "third"), key=lambda figure: len(figure.grey))
    assert "F#4" in names(figure.anchors)
    assert len(figure.grey) == 11


@pytest.mark.parametrize(
    ("interval", "text"),
    [
        ("third", "C4/E4 F4/A4 D4/F4"),
        ("third", "C4/E4 F4/A4 D4/F#4 G#4/B4 C#4/E4"),
        ("third", "C4/E4 F4/A4 D4/G4 E4/G4 C4/E4"),
        ("third", "C4/E4 F4/A4 r*2 D4/F4 G4/B4"),
        ("third", "C4/E4 F4/A4 D4 G4/B4 C4/E4"),
        ("sixth", "C4/E4/A4 D4/F4/B4 F4/A4/D5 E4/G4/C5"),
        ("octave", "C3/C4 F3/F4 D3/D4 G3/A4 C3/C4"),
        ("octave", "C3/Cb4 F3/F#4 D3/D4 G3/G4 C3/C4"),
    ],
)
def test_near_misses_are_no_figure(interval: str, text: str) -> None:
    assert found(line_of(text), interval) == []


@pytest.mark.parametrize("interval", INTERVALS)
def test_one_interval_is_not_another(interval: str) -> None:
    line = line_of(pairs(BY_LEAP, interval))
    assert [other for other in INTERVALS if found(line, other)] == [interval]


def test_to_and_fro_by_step_is_no_run() -> None:
    (figure,) = found(line_of("C4/E4 D4/F4 C4/E4 D4/F4 E4/G4 D4/F4"), "third")
    assert (figure.scale, figure.direction, len(figure.anchors)) == (None, None, 6)


def test_four_pairs_by_step_name_their_scale_but_keep_the_leading_notes_dark() -> None:
    (figure,) = found(line_of("C4/E4 D4/F4 E4/G4 F4/A4"), "third")
    assert (figure.scale, figure.direction, len(figure.anchors)) == (Scale("C", "major"), "up", 4)


def test_the_other_note_follows_the_melodic_minor_scale_up_and_down() -> None:
    up = "A4/C5 B4/D5 C5/E5 D5/F#5 E5/G#5 F#5/A5"
    figure = max(found(line_of(up, fifths=0, mode="minor"), "third"), key=lambda figure: len(figure.grey))
    assert figure.scale == Scale("A", "melodic minor")
    assert figure.odd == ()


@pytest.mark.parametrize("text", ["C4/E4 r F4/A4 r D4/F4 r G4/B4 r", "C4/E4 F4/A4 r D4/F4 G4/B4", "C4/E4*2 r*2 F4/A4*2 r D4/F4 G4/B4"])
def test_a_row_goes_on_over_a_rest_no_longer_than_a_pair(text: str) -> None:
    (figure,) = found(line_of(text), "third")
    assert names(figure.anchors) == "E4 A4 F4 B4"


def test_no_row_goes_on_over_a_rest_at_a_double_bar() -> None:
    assert found(line_of("C4/E4 r F4/A4 r | D4/F4 r G4/B4 r", bar=Fraction(1), cuts=frozenset({1})), "third") == []
