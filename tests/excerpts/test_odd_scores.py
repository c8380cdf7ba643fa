"""Excerpts of every notation there is, and of damaged scores: the notes of those bars, valid where the source is, never a fault."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from excerpts.cut_scores import found, wanted
from robustness.damage import SUITE, chance_of, damaged_tree
from writing.schema import is_valid

from annotator.errors import AnnotatorError, UsageError
from annotator.marks.finding import figures_of
from annotator.musicxml.splicing import serialise
from annotator.options.settings import Options
from annotator.products.excerpts import carried, excerpt
from annotator.reading import load, read_document

HANDS = ("both", "right", "left")
SEED = 20266


def check(data: bytes, chance: random.Random, exact: bool) -> int:
    """Cut a score, each hand once; return how many excerpts there were. ``exact``: the notes are compared too."""
    try:
        document = load(data)
        score = read_document(document)
    except AnnotatorError:
        return 0
    before, valid = serialise(document), is_valid(document.tree)
    report = figures_of(score, Options(parts=("all",)))
    numbers = [bar.number for bar in max(score.parts, key=lambda part: len(part.bars)).bars]
    count = 0
    for hand in HANDS if numbers else ():
        first = chance.randrange(len(numbers))
        last = min(len(numbers) - 1, first + chance.randrange(4))
        try:
            made = excerpt(document, score, numbers[first], numbers[last], hand, ("all",))
        except UsageError:  # there is no such hand, or the numbers run backwards
            continue
        count += 1
        assert is_valid(made.document.tree) or not valid
        assert carried(report, made).grey_numbers <= set(made.notes.values())
        for part in [half for each in made.score.parts for half in each.written] if exact else ():
            origin = next(half for each in score.parts for half in each.written if half.id == part.id)
            assert found(made, part) == wanted(score, origin, numbers[first], numbers[last], hand)
    assert serialise(document) == before
    return count


@pytest.mark.parametrize("path", SUITE, ids=lambda path: path.stem)
def test_every_notation_is_cut(path: Path) -> None:
    assert check(path.read_bytes(), random.Random(path.name), True)


def test_damaged_scores_are_cut() -> None:
    assert sum(check(damaged_tree(chance_of(SEED, number)), random.Random(number), False) for number in range(40)) > 40


@pytest.mark.slow
def test_many_damaged_scores_are_cut() -> None:
    assert sum(check(damaged_tree(chance_of(SEED, number)), random.Random(number), False) for number in range(40, 4000)) > 4000
