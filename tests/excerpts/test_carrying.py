"""Figures of a whole piece carried over to an excerpt: the same ids, the law kept, nothing grey that cannot be spelled out there."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from excerpts.cut_scores import LOW, cut, note, score_of
from scores_at_hand import EXAMPLES, keyboard_corpus

from annotator.figures.law import holds
from annotator.marks.finding import find_figures
from annotator.marks.marking import markings
from annotator.products.excerpts import carried, excerpt
from annotator.reading import load, read_document
from annotator.words import labels

SCORES = [*sorted(EXAMPLES.glob("*.musicxml")), *keyboard_corpus()[1:4]]  # the first is one long figure, which no part of it holds


@pytest.mark.parametrize("path", SCORES, ids=lambda path: path.stem)
def test_what_lies_wholly_within_is_carried_over_and_holds(path: Path) -> None:
    document = load(path)
    score = read_document(document)
    report = find_figures(score)
    of_whole = dict(report.figures)
    numbers = [bar.number for bar in next(part for part in score.parts if part.keyboard).bars]
    chance = random.Random(path.name)
    kept = 0
    for hand in ("both", "right", "left"):
        first = chance.randrange(max(1, len(numbers) // 3))
        little = excerpt(document, score, numbers[first], numbers[min(first + len(numbers) // 2, len(numbers) - 1)], hand)
        moved = carried(report, little)
        bars = {part.id: part.bars for part in little.score.parts}
        for name, figure in moved.figures:
            origin = of_whole[name]
            assert labels(figure, "en") == labels(origin, "en") and holds(figure, bars[figure.part])
            assert [little.notes[each.number] for each in origin.struck] == [each.number for each in figure.struck]
        back = {place: number for number, place in little.notes.items()}
        assert {back[number] for number in moved.grey_numbers} <= report.grey_numbers
        assert markings(moved, little.score).grey <= set(little.notes.values())
        inside = set(little.notes)
        for name, origin in of_whole.items():
            needed = {each.number for each in (*origin.struck, *(each for moment in origin.model for each in moment))}
            if not needed <= inside:
                assert name not in dict(moved.figures)
        kept += len(moved.figures)
    assert kept


def test_the_whole_piece_carries_everything() -> None:
    path = EXAMPLES / "sonatina-at-the-open-gate.musicxml"
    document = load(path)
    score = read_document(document)
    report = find_figures(score)
    numbers = [bar.number for bar in score.parts[0].bars]
    moved = carried(report, excerpt(document, score, numbers[0], numbers[-1]))
    assert moved.headline == report.headline and [name for name, _ in moved.figures] == [name for name, _ in report.figures]


def test_a_repeat_without_its_model_is_left_out_and_dark() -> None:
    tune = "".join(note(pitch, 1) for pitch in ("C5", "E5", "D5", "A5", "B4", "G5", "E5", "C5"))
    other = "".join(note(pitch, 2) for pitch in ("B4", "G4", "A5", "D4"))
    data = score_of(tune + LOW, other + LOW, tune + LOW)
    document = load(data)
    score = read_document(document)
    report = find_figures(score)
    repeats = [name for name, figure in report.figures if figure.kind == "repeated-group" and figure.staff == 1]
    assert repeats
    with_model, without = (carried(report, excerpt(document, score, first, "3")) for first in ("1", "2"))
    assert set(repeats) <= {name for name, _ in with_model.figures}
    assert not set(repeats) & {name for name, _ in without.figures}
    assert all(each.number not in without.grey_numbers for each in without.score.parts[0].notes if each.staff == 1)


def test_a_note_struck_only_since_the_cut_is_to_be_read() -> None:
    data = score_of(note(tie="start") + LOW, note(tie="stop") + LOW)
    document = load(data)
    score = read_document(document)
    moved = carried(find_figures(score), cut(data, "2", "2"))
    assert find_figures(score).notes == 3 and moved.notes == 2 and moved.to_read == 2
