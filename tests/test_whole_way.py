"""The whole way on real scores: marks go in and come out, and every grey note follows from what stays dark.

The scores are the piano scores of music21's corpus; a local folder of scores is tried as well where it is there.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from lxml import etree
from scores_at_hand import NO_LOCAL_SCORES, keyboard_corpus, local_scores
from writing.schema import is_valid

from annotator.figures.law import holds
from annotator.marks.finding import find_figures
from annotator.marks.marking import markings
from annotator.marks.report import Report
from annotator.marks.style import load_style
from annotator.music.score import Score
from annotator.musicxml.marks import write_marks
from annotator.musicxml.record import take_out
from annotator.reading import load, read, read_document

CORPUS = keyboard_corpus()
STYLE = load_style("default")


def canonical(tree: object) -> bytes:
    return etree.tostring(tree, method="c14n")  # type: ignore[call-overload,no-any-return]


def check_law(score: Score, report: Report) -> int:
    """Check every figure against its inverse and return the number of grey notes checked."""
    bars = {part.id: part.bars for part in score.parts}
    checked = 0
    for _, figure in report.figures:
        assert holds(figure, bars[figure.part]), (figure.kind, figure.struck[0].id)
        checked += len(figure.grey)
    return checked


@pytest.mark.parametrize("path", CORPUS, ids=lambda path: path.stem)
def test_marks_go_in_and_come_out(path: Path) -> None:
    source = canonical(load(path).tree)
    document = load(path)
    valid = is_valid(document.tree)
    score = read_document(document)
    report = find_figures(score)
    assert report.figures, "a real piano piece has figures"
    marks = markings(report)
    once, _ = write_marks(document, score, marks, STYLE)
    assert canonical(once.tree) != source
    assert is_valid(once.tree) or not valid, "valid in, valid out"
    assert write_marks(once, score, marks, STYLE)[0].data == once.data, "marking twice is marking once"
    assert canonical(take_out(once).tree) == source, "plain gives back the source"


@pytest.mark.parametrize("path", CORPUS, ids=lambda path: path.stem)
def test_every_grey_note_of_the_corpus_follows(path: Path) -> None:
    score = read(path)
    report = find_figures(score)
    assert check_law(score, report) == report.grey
    assert report.to_read + report.grey == report.notes


def test_each_note_is_in_one_figure_of_its_hand() -> None:
    for path in CORPUS:
        numbers = [note.number for _, figure in find_figures(read(path)).figures for note in figure.struck]
        assert len(numbers) == len(set(numbers)), path.stem


@pytest.mark.slow
def test_every_grey_note_of_the_local_scores_follows() -> None:
    paths = local_scores()
    if not paths:
        pytest.skip(NO_LOCAL_SCORES)
    for path in paths:
        score = read(path)
        report = find_figures(score)
        assert check_law(score, report) == report.grey, path.stem
