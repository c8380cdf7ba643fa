"""What must not matter: the key and the octave a piece is written in, which hand plays it, what another voice does besides.

Music is invented from a seed (``robustness.invented_music``); all of it in sixteenths, in 4/4, for two hands.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from typing import Any

import pytest
from figures.lines_from_text import part_of
from robustness.invented_music import invent, written

from annotator.figures.figure import Figure
from annotator.figures.lines import Texture, read_lines
from annotator.figures.registry import KINDS
from annotator.marks.finding import find_figures
from annotator.music.names import Scale
from annotator.music.score import Part, Score
from annotator.options.settings import Options

SEED = 77
FEW, MANY = 100, 3_000
KEYS = range(-5, 6)
ONE_SIDED = tuple(
    kind.name for kind in KINDS if kind.family == "hands" or kind.name.startswith("parallel-") or kind.name in ("sequence", "imitation")
)
"""Kinds that the vocabulary defines for one hand, or with other anchors in either."""


def score(part: Part, resolution: int) -> Score:
    return Score("", "", (part,), resolution)


def found(part: Part, resolution: int, options: Options | None = None) -> list[tuple[Any, ...]]:
    """Return the figures of a part: kind, hand, notes, anchors, form."""
    return [identity(figure) for _, figure in find_figures(score(part, resolution), options).figures]


def identity(figure: Figure) -> tuple[Any, ...]:
    """Return what a figure is, names of keys and notes aside."""
    struck, dark = (tuple(sorted(note.number for note in notes)) for notes in (figure.struck, figure.anchors))
    return figure.kind, figure.hand, struck, dark, figure.direction, figure.form


def hands(number: int) -> tuple[Any, Any, random.Random]:
    """Return the invented music of two hands, and more chance."""
    chance = random.Random(f"{SEED}/{number}")
    return invent(chance, 37), invent(chance, 23), chance


def check_octaves_and_keys(number: int, kinds: Counter[str]) -> None:
    right, left, chance = hands(number)
    home = found(*part_of(written(right), written(left)))
    kinds.update(figure[0] for figure in home)
    octave = chance.choice((-7, 7))
    assert found(*part_of(written(right, 0, octave), written(left, 0, octave))) == home, f"run {number}, an octave off"
    fifths = chance.choice(KEYS)
    moved = 4 * fifths % 7  # the letter that is so many fifths from C
    assert found(*part_of(written(right, fifths, moved), written(left, fifths, moved), fifths=fifths)) == home, (
        f"run {number}, {fifths} fifths off"
    )


def swapped(part: Part) -> Part:
    """Return the part with the staves of its notes and signs exchanged."""
    notes = tuple(replace(note, staff=3 - note.staff) for note in part.notes)
    bars = tuple(replace(bar, signs=tuple(sign._replace(staff=3 - sign.staff) for sign in bar.signs)) for bar in part.bars)
    return replace(part, notes=notes, bars=bars)


def check_hands(number: int, kinds: Counter[str]) -> None:
    right, left, _ = hands(number)
    part, resolution = part_of(written(right), written(left))
    options = Options(without=ONE_SIDED)
    home = found(part, resolution, options)
    kinds.update(figure[0] for figure in home)
    other = {"right": "left", "left": "right"}
    away = [(kind, other[hand], *rest) for kind, hand, *rest in found(swapped(part), resolution, options)]
    assert sorted(away, key=repr) == sorted(home, key=repr), f"run {number}"


def check_another_voice(number: int, kinds: Counter[str]) -> None:
    """Add a voice of notes that stand alone, a bar apart. The key the music is in is told by all voices: it is held here."""
    right, left, chance = hands(number)
    isolated = " ".join("C1 " + "r " * 15 if chance.random() < 0.7 else "r " * 16 for _ in range(len(left) // 16 + 1))
    alone = read_lines(*part_of(written(right), written(left)))
    company = read_lines(*part_of(written(right), (written(left), isolated)))
    without, with_it = of_voices(alone, alone.keys), of_voices(company, (*alone.keys, *company.keys[len(alone.keys) :]))
    kinds.update(figure[0] for figure in without)
    assert with_it == without, f"run {number}"


def of_voices(texture: Texture, keys: tuple[Scale, ...]) -> list[tuple[Any, ...]]:
    """Return the candidate figures of the voice lines of the first two voices, in these keys, bar by bar."""
    lines = [replace(line, keys=keys) for line in texture.voices if line.events and line.events[0].notes[0].voice in ("1", "2")]
    return [identity(figure) for line in lines for kind in KINDS if kind.detect for figure in kind.detect(line)]


CHECKS = (check_octaves_and_keys, check_hands, check_another_voice)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_what_must_not_matter(check: Any) -> None:
    kinds: Counter[str] = Counter()
    for number in range(FEW):
        check(number, kinds)
    assert len(kinds) > 12 and kinds.total() > FEW, kinds


@pytest.mark.slow
@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_what_must_not_matter_in_many_pieces(check: Any) -> None:
    kinds: Counter[str] = Counter()
    for number in range(FEW, MANY):
        check(number, kinds)
