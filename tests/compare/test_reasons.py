"""Why a note is grey: counted, joined, and true of the pages."""

from __future__ import annotations

from dataclasses import replace

import pytest
from marked_pages import prepared
from scores_at_hand import EXAMPLES

from annotator.marks.finding import find_figures
from annotator.marks.marking import markings
from annotator.marks.report import Report
from annotator.products.compare.comparison import grey_counts, reasons

STUDIES = sorted(EXAMPLES.glob("*.musicxml"))


def report_of(path: object) -> Report:
    _, score, _ = prepared(path)  # type: ignore[arg-type]
    return find_figures(score)


@pytest.mark.parametrize("path", STUDIES, ids=lambda path: path.stem)
def test_every_grey_note_has_a_reason_and_the_counts_are_those_of_the_report(path: object) -> None:
    report = report_of(path)
    marks = markings(report)
    why = reasons(report, marks)
    assert set(why) == set(marks.grey)
    counts = grey_counts(report, why)
    assert sum(counts.values()) == report.grey > 0
    found = {figure.kind for _, figure in report.figures}
    assert {kind for reason in counts for kind in reason.split()} <= found


def test_a_note_of_two_figures_has_both_kinds_for_a_reason() -> None:
    report = report_of(STUDIES[-1])
    name, figure = next(each for each in report.figures if each[1].kind == "scale-run")
    twice = replace(report, figures=(*report.figures, ("f99", replace(figure, kind="arpeggio"))))
    why = reasons(twice, markings(report))
    assert {why[note.number] for note in figure.grey} == {"arpeggio scale-run"}, name


def test_a_tied_on_note_is_grey_for_the_reason_of_the_note_it_continues() -> None:
    report = report_of(STUDIES[-1])
    figure = report.figures[1][1]
    first, later = figure.grey[0], next(n for n in report.score.parts[0].notes if n.number not in report.grey_numbers and n.counted)
    tied = replace(later, continues=first.number)
    part = report.score.parts[0]
    notes = tuple(tied if note.number == later.number else note for note in part.notes)
    score = replace(report.score, parts=(replace(part, notes=notes),))
    again = replace(report, score=score)
    why = reasons(again, markings(again))
    assert why[tied.number] == figure.kind
