"""Accompaniments that a player names at a glance: what each is shown as, once the figures are chosen.

The patterns are common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from figures.lines_from_text import texture_of

from annotator.figures.candidates import find_candidates
from annotator.figures.cover import choose
from annotator.figures.law import holds
from annotator.options.settings import Options

EIGHTH = Fraction(1, 2)


@pytest.mark.parametrize(
    ("left", "kinds", "grey"),
    [
        pytest.param("F#3/A3 D4 " * 8, ["broken-chord"], 21, id="rocking: two lower notes, then the upper one"),
        pytest.param("C3 G3 E3 G3 C3*4 G2*4 D3 B3 G3 B3 C3*4 r*12", ["alberti-bass"] * 2, 6, id="one Alberti group beside another"),
        pytest.param("r*4 C3 G3 E3 G3 C3*4 r*8 D3 B3 G3 B3 G3*4 r*4", ["alberti-bass"] * 2, 6, id="one Alberti group after a rest"),
        pytest.param("C3 C4 G3 C4 " * 4, ["alberti-bass"], 15, id="Alberti over an octave, one chord"),
        pytest.param("C3 C4 G3 C4 F3 F4 C4 F4 G3 G4 D4 G4 C3 C4 G3 C4", ["alberti-bass"], 12, id="Alberti over an octave, changing chords"),
        pytest.param("C3 G3 C3 G3 B2 G3 B2 G3 C3 A3 C3 A3 C3 G3 C3 G3", ["tremolo"], 10, id="two in turn, in fours"),
        pytest.param(
            "C3 E3 G3 E3 C3 E3 G3 E3 C3*4 r*4 B2 D3 G3 D3 G2*4 r*8",
            ["broken-chord"] * 2,
            7,
            id="one low, middle, high, middle beside others",
        ),
        pytest.param("r*12 B2 D3 G3 D3 G2*4 r*12", [], 0, id="one low, middle, high, middle alone"),
        pytest.param(
            "C3 E3 G3 E3 C3 E3 G3 E3 C3*4 r*4 B2 G3 D3 G3 B2*4 r*8", ["broken-chord"], 4, id="one low, high, middle, high beside others"
        ),
        pytest.param(
            "F#2 A#3/C#4/E4 C#3 A#3/C#4/E4 F#2 A#3/C#4/E4 C#3 A#3/C#4/E4 B2 D4/F#4 F#2 D4/F#4 B2 D4/F#4 F#2 D4/F#4",
            ["bass-and-chord", "repeated-group"],
            17,
            id="an alternating bass under a seventh whose root it has alone",
        ),
        pytest.param("C3 E3/G3 E3/G3 G2 " * 2 + "F2 A2/C3 A2/C3 C3 " * 2, ["bass-and-chord"], 12, id="bass, chord, chord, bass"),
        pytest.param("C2 C3 E3/G3/C4 r " * 2 + "G2 G3 D3/F3/B3 r " * 2, ["repeated-group"] * 2, 10, id="bass, octave, chord, rest"),
        pytest.param("E3/C4 r F3/D4 r E3/C4 r D3/B3 r C3/A3 r D3/B3 r", ["parallel-sixths"], 6, id="sixths parted by rests"),
        pytest.param("C3/E3 r D3/F3 r E3/G3 r F3/A3 r G3/B3 r A3/C4 r", ["parallel-thirds"], 6, id="thirds parted by rests"),
    ],
)
def test_what_an_accompaniment_is_shown_as(left: str, kinds: list[str], grey: int) -> None:
    texture = texture_of("", left, unit=Fraction(1, 4) if "*" in left or "G3 C4" in left else EIGHTH)
    chosen = choose(find_candidates(texture, Options()), lambda figure: holds(figure, texture.bars))
    assert ([figure.kind for figure in chosen], sum(len(figure.grey) for figure in chosen)) == (kinds, grey)
