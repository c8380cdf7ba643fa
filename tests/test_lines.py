"""Lines: how long an event lasts, and what of a merged line is looked at: where it is more than one of its voices."""

from __future__ import annotations

import random
from dataclasses import replace
from unittest.mock import PropertyMock, patch

import pytest
from figures.lines_from_text import names, texture_of
from figures.random_lines import random_text

from annotator.figures.candidates import find_candidates
from annotator.figures.figure import Figure
from annotator.figures.lines import Line, Texture
from annotator.options.settings import Options


def test_an_event_of_a_merged_line_lasts_to_the_next_or_as_long_as_it_sounds() -> None:
    texture = texture_of(("C5 D5 r E5", "C4*3 r"))
    assert [(names(event.notes), event.ticks) for event in texture.hands["right"].events] == [
        ("C4 C5", 3),
        ("D5", 6),  # C4 sounds on below it, to the end of its third sixteenth
        ("E5", 3),
    ]
    assert [event.joined for event in texture.hands["right"].events] == [False, True, True]
    texture = texture_of(("C5 D5 r*2 E5", "C4 r*4"))
    assert [(event.ticks, event.joined) for event in texture.hands["right"].events] == [(3, False), (3, True), (3, False)]


def test_a_hand_with_one_voice_is_as_that_voice() -> None:
    texture = texture_of("C5 D5 r E5", ("C3*4", "E3 F3 G3 A3"))
    assert texture.hands["right"].events is texture.voices[0].events
    assert [line.scope for line in texture.lines] == ["voice", "voice", "voice", "hand", "shared"]


def test_what_one_voice_plays_alone_is_looked_at_once() -> None:
    texture = texture_of(("C5 D5 E5 F5 r G5 A5 B5 C6 r C5 E5 G5 C6", "r*9 r r*2 C4 r"), "")
    merged = [line for line in texture.lines if line.scope == "hand"]
    assert [names(event.notes) for line in merged for event in line.events] == ["C5", "E5", "C4 G5", "C6"]
    assert not [line for line in texture_of(("C5 D5 r E5", "r*5 C4 D4")).lines if line.scope == "hand"]


def _keys(figures: list[Figure]) -> set[tuple[object, ...]]:
    return {(figure.kind, figure.struck, figure.anchors, figure.odd, figure.chord, figure.scale) for figure in figures}


def _every_line(texture: Texture) -> tuple[Line, ...]:
    """Return the lines with the merged ones whole."""
    merged = [line for hand, line in texture.hands.items() if sum(voice.hand == hand for voice in texture.voices) > 1]
    return (*texture.voices, *merged, *([texture.shared] if texture.shared else []))


@pytest.mark.parametrize("seed", range(40))
def test_nothing_is_lost_by_looking_at_a_merged_line_only_where_it_is_its_own(seed: int) -> None:
    chance = random.Random(seed)
    voices = [random_text(chance, chance.choice((8, 30, 60))) for _ in range(4)]
    pause = " ".join(["r"] * chance.randint(1, 40))
    texture = texture_of((voices[0], f"{pause} {voices[1]}"), (f"{pause} {voices[2]}", voices[3]) if seed % 3 else f"{pause} {voices[2]}")
    found = _keys(find_candidates(texture, Options()))
    with patch.object(Texture, "lines", new_callable=PropertyMock, return_value=_every_line(replace(texture))):
        assert _keys(find_candidates(replace(texture), Options())) == found


def test_the_bass_of_a_hand_is_the_lowest_note_that_sounds_in_any_voice() -> None:
    texture = texture_of("C5*4", ("r C3 E3*2 r G3", "G2*3 A2"))
    basses = {tick: f"{low.step}{low.octave}" for tick, low in texture.hands["left"].basses.items()}
    assert basses == {0: "G2", 3: "G2", 6: "G2", 9: "A2", 15: "G3"}
    assert all(voice.basses == texture.hands[voice.hand].basses for voice in texture.voices)


def test_a_tied_bass_goes_on() -> None:
    basses = texture_of("", ("r*4 C3*4", "G2*4~ G2*4")).hands["left"].basses
    assert [low.step for low in basses.values()] == ["G", "G"]
