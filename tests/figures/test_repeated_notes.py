"""Repeated notes: found where they are, not where they nearly are, and rebuilt from the first stroke."""

from __future__ import annotations

from dataclasses import replace

import pytest
from figures.chord_figures import shown
from figures.lines_from_text import line_of, names, texture_of

from annotator.figures.figure import CannotSpellOut, Figure
from annotator.figures.law import cover_up, written
from annotator.figures.lines import Line
from annotator.figures.repetitions import detect_repeated_notes, repeated_label, spell_out_repeated_notes
from annotator.words.labels import labels


def found(line: Line) -> list[Figure]:
    figures = list(detect_repeated_notes(line))
    for figure in figures:
        assert spell_out_repeated_notes(cover_up(figure, line.bars)) == written(figure)
    return figures


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("stroke", ["C4", "F#3", "Bb4", "C4/E4/G4", "F#3/F#4"])
@pytest.mark.parametrize("times", [4, 7, 40])
def test_every_stroke_but_the_first_is_grey(stroke: str, times: int, hand: str) -> None:
    (figure,) = found(line_of(" ".join(["G5", *[stroke] * times, "A5"]), hand))
    assert (figure.kind, figure.times, figure.hand) == ("repeated-notes", times, hand)
    assert names(figure.anchors) == stroke.replace("/", " ")
    assert len(figure.grey) == (times - 1) * (stroke.count("/") + 1)


def test_the_last_stroke_may_be_longer() -> None:
    (figure,) = found(line_of("C4 C4 C4 C4 C4*3 D4"))
    assert figure.times == 5


@pytest.mark.parametrize("text", ["C4 C4 C4 C4 C4*2 C4*2 C4*2", "C4*4 C4*4 C4 C4 C4 C4 C4", "C4 C4*2 C4 C4*2 C4 C4 C4"])
def test_the_rhythm_may_vary_since_it_stays_on_the_page(text: str) -> None:
    (figure,) = found(line_of(text))
    assert (figure.times, len(figure.grey)) == (7, 6)


def test_tied_on_notes_belong_to_the_stroke_they_continue() -> None:
    (figure,) = found(line_of("C4 C4 C4 C4~ C4 D4"))
    assert figure.times == 4
    assert len(figure.tied) == 1
    assert figure.notes[-1] == figure.tied[0]


@pytest.mark.parametrize(
    ("text", "page"),
    [
        ("C4/E4 C4/E4 C4/E4 D4", "C4/E4 c4/e4 c4/e4"),
        ("C4/E4/G4/C5 C4/E4/G4/C5", "C4/E4/G4/C5 c4/e4/g4/c5"),
        ("C4/E4/G4 r C4/E4/G4 r C4/E4/G4 r", "C4/E4/G4 c4/e4/g4 c4/e4/g4"),
        ("C4/E4/G4 C4/E4/G4 D4/F4/A4 D4/F4/A4", "C4/E4/G4 c4/e4/g4 D4/F4/A4 d4/f4/a4"),
        ("C4/E4 r C4/E4 r C4/E4 D4/F4/A4 D4/F4/A4", "C4/E4 c4/e4 c4/e4 D4/F4/A4 d4/f4/a4"),
    ],
)
def test_chords_are_struck_again_also_over_short_rests_and_one_after_another(text: str, page: str) -> None:
    (figure,) = found(line_of(text))
    assert shown(figure) == page


def test_several_chords_say_how_often_each_is_struck_where_that_is_equal() -> None:
    (equal,) = found(line_of("C4/E4/G4 C4/E4/G4 D4/F4/A4 D4/F4/A4"))
    (other,) = found(line_of("C4/E4/G4 C4/E4/G4 C4/E4/G4 D4/F4/A4 D4/F4/A4"))
    assert (equal.times, equal.group, repeated_label(equal).template) == (None, 2, "each")
    assert (other.times, other.group, repeated_label(other).template) == (None, None, "several")


def test_a_stroke_that_is_dark_in_part_gives_nothing() -> None:
    (figure,) = found(line_of("C4/E4/G4 C4/E4/G4 D4/F4/A4 D4/F4/A4"))
    less = replace(figure, anchors=figure.anchors[:-1])
    with pytest.raises(CannotSpellOut):
        spell_out_repeated_notes(cover_up(less, line_of("C4 C4").bars))


@pytest.mark.parametrize(
    "text",
    [
        "C4 C4 C4 D4 C4 C4 C4",
        "C4 C4 C4 C5 C5 C5",
        "C4 C4 r C4 C4",
        "C4/E4 C4/E4",
        "C4/E4/G4 C4/E4/G4 D4",
        "C4/E4/G4 r*2 C4/E4/G4 r*2 C4/E4/G4",
        "C4/E4/G4 C4/E4/G4 D4/F4/A4 G4/B4/D5 G4/B4/D5",
        "C4 C#4 C4 C4 C4",
        "C4/E4 C4/E4 C4/F4 C4/E4 C4/E4",
        "C4 C4~ C4 C4~ C4 D4",
        "B#3 C4 B#3 C4",
    ],
)
def test_near_misses_are_no_figure(text: str) -> None:
    assert found(line_of(text)) == []


def test_no_figure_crosses_a_cut_bar_line() -> None:
    text = " ".join(["C4"] * 6)
    assert len(found(line_of(text))) == 1
    assert found(line_of(text, bar="3/4", cuts=frozenset({1}))) == []


def test_both_hands_on_one_key_are_not_one_figure() -> None:
    texture = texture_of("C4 r C4 r C4 r C4 r", "r C4 r C4 r C4 r C4")
    assert texture.shared is not None
    assert found(texture.shared) == []


def test_a_part_of_the_line_gives_a_part_of_the_figure() -> None:
    line = line_of(" ".join(["E4"] * 9))
    (figure,) = found(line.slice(2, 7))
    assert figure.times == 5
    assert figure.moments[0][0].number == 3


def test_the_inverse_reads_nothing_but_the_first_stroke() -> None:
    line = line_of("C4 C4 C4 C4")
    (figure,) = found(line)
    wrong = replace(figure, moments=(*figure.moments[:3], line_of("C4 C4 C4 D4").events[3].notes))
    assert spell_out_repeated_notes(cover_up(wrong, line.bars)) != written(wrong)


@pytest.mark.parametrize(
    ("notes", "named"),
    [
        ("C3/E3/G3 C3/E3/G3 C3/E3/G3", "C ×3"),
        ("E3/G3/C4 E3/G3/C4 E3/G3/C4 E3/G3/C4", "C/E ×4"),
        ("C3/D3/G3 C3/D3/G3 C3/D3/G3", "chord ×3"),
    ],
)
def test_a_chord_struck_again_is_named_where_it_has_a_name(notes: str, named: str) -> None:
    (figure,) = detect_repeated_notes(line_of(notes, "left"))
    assert labels(figure)[0] == named
