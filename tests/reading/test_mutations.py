"""Seeded damage to the files of the MusicXML test suite: only the house's own errors escape, and what reads keeps its invariants."""

from __future__ import annotations

import random
import warnings
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from annotator.errors import ScoreError
from annotator.music.score import Score
from annotator.reading import read, read_document
from annotator.reading.document import Document

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    music21 = pytest.importorskip("music21")

SUITE = sorted((Path(music21.__file__).parent / "musicxml" / "lilypondTestSuite").glob("*.xml"))
TEXTS = ("", "0", "-1", "1", "2", "x", "9" * 30, "1e9", "0.5", "NaN", "16384", "start", "stop", "H", "B", "TAB", "yes", "no")
SEED = 20_240


def check(score: Score) -> None:
    """Check what holds for every score that reads."""
    every = list(score.document.tree.iter("note"))
    for part in score.parts:
        assert [bar.index for bar in part.bars] == list(range(len(part.bars)))
        assert all(bar.ticks >= 0 and bar.offset >= 0 for bar in part.bars)
        assert all(b.tick == a.tick + a.ticks for a, b in zip(part.bars, part.bars[1:], strict=False))
        by_number = {note.number: note for note in part.notes}
        for note in part.notes:
            assert every[note.number - 1] is note.element
            assert note.tick >= part.bars[note.bar].tick and note.ticks >= 0
            assert note.onset * score.resolution == note.tick and note.duration * score.resolution == note.ticks
            assert note.continues is None or by_number[note.continues].tie_start
        for bar in part.bars:
            assert list(bar.signs) == sorted(bar.signs, key=lambda sign: sign.tick)


def damage(root: Any, chance: random.Random) -> None:
    """Drop, double or move an element, or change its text or an attribute."""
    elements = [element for element in root.iter() if isinstance(element.tag, str) and element is not root]
    element = chance.choice(elements)
    parent = element.getparent()
    kind = chance.randrange(6)
    if kind == 0:
        parent.remove(element)
    elif kind == 1:
        parent.insert(parent.index(element), etree.fromstring(etree.tostring(element, with_tail=False)))
    elif kind == 2:
        target = chance.choice(elements)
        if element not in target.iterancestors() and element is not target:
            target.append(element)
    elif kind == 3:
        element.text = chance.choice(TEXTS)
    elif kind == 4 and element.attrib:
        element.set(chance.choice(list(element.attrib)), chance.choice(TEXTS))
    else:
        element.tag = chance.choice(elements).tag


def sweep_trees(runs: int, seed: int) -> tuple[int, int]:
    """Return how many damaged trees were read and how many refused."""
    chance = random.Random(seed)
    done = [0, 0]
    for _ in range(runs):
        root = etree.parse(chance.choice(SUITE)).getroot()
        for _ in range(chance.randint(1, 4)):
            damage(root, chance)
        try:
            check(read_document(Document(root.getroottree(), "damaged", timewise=root.tag == "score-timewise")))
            done[0] += 1
        except ScoreError:
            done[1] += 1
    return done[0], done[1]


def sweep_bytes(runs: int, seed: int) -> tuple[int, int]:
    """Return how many files with changed bytes were read and how many refused."""
    chance = random.Random(seed)
    done = [0, 0]
    for _ in range(runs):
        data = bytearray(chance.choice(SUITE).read_bytes())
        for _ in range(chance.randint(1, 4)):
            data[chance.randrange(len(data))] = chance.choice(b"<>&\"'/ 0123456789\0\xffAz")
        try:
            check(read(bytes(data), "damaged"))
            done[0] += 1
        except ScoreError:
            done[1] += 1
    return done[0], done[1]


def test_damaged_trees() -> None:
    good, refused = sweep_trees(600, SEED)
    assert good > 500 and good + refused == 600


def test_damaged_bytes() -> None:
    good, refused = sweep_bytes(600, SEED)
    assert good > 50 and refused > 100 and good + refused == 600


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(5))
def test_many_damaged(seed: int) -> None:
    assert sum(sweep_trees(4_000, seed)) == 4_000
    assert sum(sweep_bytes(4_000, seed)) == 4_000
