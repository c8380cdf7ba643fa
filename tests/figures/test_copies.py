"""Copies: each row of the vocabulary found as it should be, its nearest misses not, and what stays black.

The rules and numbers are the vocabulary's own, read off pages by eye: no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from figures.lines_from_text import names, texture_of

from annotator.figures.candidates import find_candidates, pruned
from annotator.figures.copies import KINDS, cut, fitted
from annotator.figures.copy_rows import ELSEWHERE, ON_BAR, ON_BEAT, places_in, rows_of
from annotator.figures.copy_search import find_copies
from annotator.figures.cover import choose
from annotator.figures.figure import Figure
from annotator.figures.joining import join
from annotator.figures.law import holds
from annotator.figures.lines import Texture
from annotator.music.score import BASS, TREBLE, ClefChange
from annotator.options.settings import Options
from annotator.words.labels import labels

BEAT = "C4 G4 E4 A4"
OTHER = "D4 B4 F4 C5"
BAR = "C4 F4 D4 A4 E4 B4 G4 C5 G4 E4 B4 D4 A4 F4 C4 G4"  # no run, no chord, nothing twice
END = "F#3*16"


def copies(texture: Texture, *kinds: str) -> list[Figure]:
    found = pruned(rows_of(texture), find_copies(texture, kinds or KINDS, rows_of(texture)))
    for figure in found:
        assert holds(figure, texture.bars)
        assert figure.grey
        model = {note.number for stroke in figure.model for note in stroke}
        assert not model & {note.number for note in figure.struck}
        assert figure.group == len(figure.model)
        odd = {note.number for note in figure.odd}
        for first in range(len(figure.moments)):
            for stop in range(first + 1, len(figure.moments) + 1):
                piece = cut(figure, first, stop, odd, texture.hands[figure.hand])
                assert piece is None or holds(piece, texture.bars)
    return found


def right(text: str, *kinds: str, **how: object) -> list[Figure]:
    return copies(texture_of(text, **how), *kinds)  # type: ignore[arg-type]


@pytest.mark.parametrize("times", [1, 2, 5])
@pytest.mark.parametrize("group", [BEAT, "C4/E4 G4*2 C4", "F#3 A3 C#4 F#4 E4 D4 C#4 A3", "C4 F4 D4 A4 E4 G4", "C4 r G4 E4 r A4 r r"])
def test_what_was_just_played_is_grey_when_it_comes_again_rests_and_all(group: str, times: int) -> None:
    (figure,) = [f for f in right(" ".join([*[group] * (times + 1), OTHER]), "repeated-group") if f.model_bars is None]
    assert (figure.times, figure.group, figure.steps, figure.anchors) == (times, len(group.replace("r", "").split()), 0, ())


def test_a_group_may_begin_anywhere() -> None:
    (figure,) = right("D5 F4 A3 C4 F4 D4 A4 E4 B4 C4 F4 D4 A4 E4 B4 G3", "repeated-group")
    assert names(figure.struck) == "C4 F4 D4 A4 E4 B4"


def test_one_copy_off_the_beat_saves_six_notes() -> None:
    assert not right("D5 F4 A3 B3 C4 F4 D4 A4 E4 C4 F4 D4 A4 E4 B4 G3", "repeated-group")


def test_one_note_again_and_two_in_turn_are_other_figures() -> None:
    assert not right("C4 C4 C4 C4 C4 C4 C4 C4", "repeated-group")
    assert not right("C4 E4 C4 E4 C4 E4 C4 E4", "repeated-group")


@pytest.mark.parametrize(("strokes", "copied"), [(9, 8), (10, 10), (3, 3), (2, 0)])
def test_the_last_of_several_is_half_a_group_and_a_single_one_three_quarters(strokes: int, copied: int) -> None:
    assert (fitted(0, strokes, 4) or 0) == copied


@pytest.mark.parametrize(("octaves", "steps"), [(1, 7), (-1, -7), (2, 14)])
def test_octaves(octaves: int, steps: int) -> None:
    group = [("C", 4), ("G", 4), ("E", 4), ("A", 4)]
    text = " ".join(f"{letter}{octave + octaves * turn}" for turn in range(3) for letter, octave in group)
    figure = next(f for f in right(text + " D4 B4 F4 C5", "octave-copy"))
    assert (figure.steps, figure.times, figure.anchors) == (steps, 2, ())


def test_an_octave_is_exact() -> None:
    (figure,) = right("C4 F4 D4 A4 E4 B4 G4 C5 C5 F5 D5 A5 E#5 B5 G5 C6", "octave-copy")
    assert names(figure.odd) == "E#5"


def test_a_sequence_keeps_its_model_and_reads_the_outer_note_of_each_copy() -> None:
    (figure,) = right("C4 F4 D4 A4 D4 G4 E4 B4 E4 A4 F4 C5 D5 C4 B4 A3", "sequence")
    assert (names(figure.struck), names(figure.anchors)) == ("D4 G4 E4 B4 E4 A4 F4 C5", "D4 E4")
    assert (figure.steps, figure.semitones, figure.times, names(figure.moments[0])) == (1, None, 2, "D4")


def test_a_note_of_a_sequence_with_a_sign_of_its_own_is_black() -> None:
    (figure,) = right("C4 F4 D4 A4 E4 B4 C4 G4 D4 G#4 E4 B4 F4 C5 D4 A4", "sequence")
    assert names(figure.odd) == "G#4"


def test_a_real_sequence_keeps_its_semitones() -> None:
    (figure,) = [f for f in right("C4 E4 D4 G4 D4 F#4 E4 A4 E4 G#4 F#4 B4 D5 C4 B4 A3", "sequence") if f.semitones]
    assert (figure.steps, figure.semitones, figure.odd) == (1, 2, ())


def test_a_single_sequence_moves_a_fifth_at_most() -> None:
    model, sixth = "C4 F4 D4 A4 E4 B4 C4 G4", "A4 D5 B4 F5 C5 G5 A4 E5"
    assert not right(f"{model} {sixth}", "sequence")


def test_a_scale_is_no_sequence() -> None:
    assert not right("C4 D4 E4 F4 G4 A4 B4 C5 D5 E5 F5 G5", "sequence")


def test_the_way_back_turns_at_the_highest_or_lowest_stroke() -> None:
    assert not right("C4 G3 D5 B4 F4 A4 F4 B4 D5 G3 C4 D3", "retrograde")


def test_an_earlier_bar_is_named_at_its_first_place() -> None:
    between = "E5 B4 G5 A4 F5 C5 A5 D5 B5 E5 C6 F5 D6 A5 E6 G5"
    (figure,) = right(f"{BAR} {between} {BAR} {END}", "repeated-group")
    assert (figure.model_bars, figure.times, names(figure.struck)) == (("1", "1"), 1, BAR)


def test_from_a_beat_of_an_earlier_bar_six_notes_are_to_be_saved() -> None:
    between = "E5 B4 G5 A4 F5 C5 A5 D5 B5 E5 C6 F5 D6 A5 E6 G5"
    new = "G#3 G#4 G#3 A#4"
    (figure,) = right(f"{BAR} {between} {new} {BAR.split(' ', 4)[4]} {END}", "repeated-group")
    assert (len(figure.grey), figure.model_bars) == (12, ("1", "1"))


@pytest.mark.parametrize(("bars_between", "found"), [(6, True), (10, True), (13, False)])
def test_one_bar_far_back_is_not_named(bars_between: int, found: bool) -> None:
    chromatic = ["C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A"]
    others = [
        " ".join(f"{chromatic[number % 10]}{2 + (place + number // 10) % 5}*2" for place in range(8)) for number in range(bars_between)
    ]
    assert bool(right(" ".join([BAR, *others, BAR, END]), "repeated-group")) == found


@pytest.mark.parametrize(("octave", "label"), [(1, "= bar 1, an octave higher"), (-1, "= bar 1, an octave lower"), (0, "= bar 1")])
def test_an_earlier_bar_may_be_octaves_away(octave: int, label: str) -> None:
    between = "E5 B4 G5 A4 F5 C5 A5 D5 B5 E5 C6 F5 D6 A5 E6 G5"
    moved = " ".join(f"{name[:-1]}{int(name[-1]) + octave}" for name in BAR.split())
    (figure,) = right(f"{BAR} {between} {moved} {END}", "octave-copy" if octave else "repeated-group")
    assert (figure.model_bars, figure.steps, figure.anchors) == (("1", "1"), 7 * octave, ())
    assert labels(figure)[0] == label


def test_part_of_an_earlier_bar_an_octave_away_is_no_copy() -> None:
    between = "E5 B4 G5 A4 F5 C5 A5 D5 B5 E5 C6 F5 D6 A5 E6 G5"
    moved = [f"{name[:-1]}{int(name[-1]) + 1}" for name in BAR.split()]
    assert not right(" ".join([BAR, between, *moved[:8], "G3 A#3 B3 G#3 F3 C3 D#3 A3", END]), "octave-copy")


def test_a_bar_number_that_is_printed_twice_is_not_named() -> None:
    between = "E5 B4 G5 A4 F5 C5 A5 D5 B5 E5 C6 F5 D6 A5 E6 G5"
    texture = texture_of(f"{BAR} {between} {BAR} {END}")
    bars = tuple(replace(bar, number="1") for bar in texture.bars)
    lines = {hand: replace(line, bars=bars) for hand, line in texture.hands.items()}
    assert not copies(replace(texture, bars=bars, hands=lines), "repeated-group")


def test_a_cut_bar_line_breaks_what_is_directly_before() -> None:
    assert right(f"{BAR} {BAR}", "repeated-group")[0].model_bars is None
    (figure,) = right(f"{BAR} {BAR}", "repeated-group", cuts=frozenset({1}))
    assert figure.model_bars == ("1", "1")


def test_the_first_stroke_in_a_new_clef_is_black() -> None:
    texture = texture_of(f"{BAR} {BAR}")
    clefs = (ClefChange(1, 0, 0, TREBLE), ClefChange(1, 1, texture.bars[1].tick + 12, BASS))
    (figure,) = copies(replace(texture, part=replace(texture.part, clefs=clefs)), "repeated-group")
    assert (names(figure.anchors), figure.odd, figure.anchors[0]) == ("E4", (), figure.struck[4])


def test_other_rhythm_is_no_copy() -> None:
    assert not right("C4 G4 E4 A4 D4 B4 C4*2 G4*2 E4*2 A4*2 D4*2 B4*2")


def test_another_grace_of_ties_is_no_copy() -> None:
    assert not right("C4 G4 E4 A4~ A4 G4 E4 C4 G4 E4 A4 G4 E4 D4", "repeated-group")


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("C4*16 r*2 D4*2 E4*12", [ON_BAR, ON_BAR, ON_BEAT]),
        ("C4*8 r*10 D4*2 E4*12", [ON_BAR, ON_BAR, ON_BEAT]),
        ("C4*16~ C4*2 D4*2 E4*12", [ON_BAR, ELSEWHERE, ON_BEAT]),  # held over the bar line
        ("C4*16 r*10 D4*6", [ON_BAR, ON_BEAT]),  # an upbeat
    ],
)
def test_what_comes_after_a_rest_on_the_bar_line_begins_the_bar(text: str, places: list[int]) -> None:
    assert places_in(texture_of(text).hands["right"]) == places


def test_two_bars_that_begin_with_a_rest_are_moved_as_one_by_both_hands() -> None:
    texture = texture_of(
        "r*2 C6*2 E6*2 A5*2 C6*2 E5*2 A5*2 E5*2 D5/F5*16 r*2 B5*2 D6*2 G5*2 B5*2 D5*2 G5*2 D5*2 C5/E5*16",
        "A3/C4*16 r*2 D4*2 F4*2 A3*2 D4*2 F3*2 A3*2 D3*2 G3/B3*16 r*2 C4*2 E4*2 G3*2 C4*2 E3*2 G3*2 C3*2",
    )
    found = copies(texture, "sequence")
    assert [(figure.hand, figure.steps) for figure in found] == [("right", -1), ("left", -1)]
    (figure,) = join(found, texture.bars)
    assert (figure.both_hands, len(figure.struck), len(figure.grey)) == (True, 18, 14)


def test_octaves_and_back_are_one_figure() -> None:
    (figure,) = right("C3 G3 C4 C4 G4 C5 C5 G5 C6 G5 C5 C5 G4 C4 C4 G3", "octave-copy")
    assert (figure.times, figure.direction, names(figure.anchors), len(figure.grey)) == (2, "turning", "", 13)
    assert labels(figure) == ("an octave higher ×2 and back", "oct. higher ×2, back", "oct. up ×2, back")


def test_what_is_new_on_the_way_there_is_struck_on_the_way_back() -> None:
    (figure,) = right("C3 F3 A3 G3 B3 C4 C4 F4 A4 A4 B4 C5 B4 A4 A4 F4 C4 C4 B3 E3 D3", "octave-copy")
    assert (names(figure.odd), len(figure.grey), figure.direction) == ("A4", 12, "turning")


@pytest.mark.parametrize("text", ["C4 G3 C3 E4 B3 E3 C4 G3 C3 G3", "C3 G3 C4 C4 G4 C5 E4 A4 F4 D4"])
def test_a_way_back_turns_at_the_end_and_saves_five(text: str) -> None:
    assert all(figure.direction is None for figure in right(text, "octave-copy"))


def test_octaves_and_back_lose_their_end_or_their_beginning() -> None:
    texture = texture_of("C3 G3 C4 C4 G4 C5 C5 G5 C6 G5 C5 C5 G4 C4 C4 G3")
    (figure,) = copies(texture, "octave-copy")
    short, alone, none = (cut(figure, first, stop, (), texture.hands[figure.hand]) for first, stop in ((0, 9), (6, 13), (3, 13)))
    assert short is not None and (short.kind, short.direction, len(short.moments)) == ("octave-copy", "turning", 9)
    assert alone is not None and (alone.kind, names(alone.model[0])) == ("retrograde", "G3")
    assert none is None


def test_both_hands_go_octaves_away_and_back_under_one_label_where_that_is_worth_as_much() -> None:
    way = "C{0} A{0} C{1} C{1} A{1} C{2} C{2} A{2} C{3} A{2} C{2} C{2} A{1} C{1} C{1} A{0}"
    lower = way.replace("A", "F")
    texture = texture_of(way.format(3, 4, 5, 6), lower.format(2, 3, 4, 5))
    (figure,) = [f for f in choose(find_candidates(texture, Options())) if f.kind == "octave-copy"]
    assert (figure.both_hands, len(figure.grey), labels(figure)[0]) == (True, 26, "an octave higher ×2 and back, both hands")


@pytest.mark.parametrize(("third", "odd"), [("B4", ""), ("C5", "C5")])
def test_a_real_sequence_may_have_an_odd_note(third: str, odd: str) -> None:
    higher = f"E4 A4 F#4 C#5 G#4 D#5 B4 E5 {third} G#4 D#5 F#4 C#5 A4 E4 B4"
    (figure,) = [f for f in right(f"{BAR} {higher} {END}", "sequence") if f.semitones is not None]
    assert (figure.semitones, names(figure.odd), len(figure.grey)) == (4, odd, 15 - len(figure.odd))


def test_a_real_sequence_with_many_odd_notes_is_none() -> None:
    higher = "E4 A4 F#4 D5 G#4 D#5 C5 E5 B4 G#4 D#5 G4 C#5 A4 F4 B4"
    assert not [f for f in right(f"{BAR} {higher} {END}", "sequence") if f.semitones is not None and len(f.moments) == 16]


@pytest.mark.parametrize(("bars_between", "found"), [(2, True), (3, True), (4, False)])
def test_whole_bars_up_to_four_back_may_be_some_steps_away(bars_between: int, found: bool) -> None:
    other = " ".join(["G5 C4 D5 A4*3 r*10", "F#3*5 B5*2 r*9", "A5*7 r*9", "r*3 E6*2 r*11"][:bars_between])
    higher = "D4 G4 E4 B4 F4 C5 A4 D5 A4 F4 C5 E4 B4 G4 D4 A4"
    named = [f for f in right(f"{BAR} {other} {higher} {END}", "sequence") if f.model_bars]
    assert [(f.model_bars, f.steps, names(f.anchors), labels(f)) for f in named] == [
        (("1", "1"), 1, "D4", ("= bar 1, a step higher", "= bar 1, step higher", "= 1, ↑ step"))
    ] * found


def test_a_section_may_hold_a_pointer_to_one_of_its_own_bars() -> None:
    between = "E5 B4 G5 A4 F5 C5 A5 D5 B5 E5 C6 F5 D6 A5 E6 G5"
    third = "A3 r G5 B3 r C4 F5 E4 r D5 B4 r C6 E5 r A4"
    section = f"{BAR} {between} {BAR} {third}"
    texture = texture_of(f"{section} {END} {section} {END}")
    chosen = choose([f for f in copies(texture, "repeated-group") if f.model_bars])
    assert [(f.model_bars, len(f.grey)) for f in chosen] == [(("1", "1"), 16), (("1", "5"), 60)]
