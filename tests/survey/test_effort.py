"""The reading effort: bounded, monotone, about what must be read, and as good as it is said to be."""

from __future__ import annotations

from dataclasses import replace

import pytest
from benchmarks.effort import chosen_weights, graded_at_hand, halves, interval, kendall, spearman, weighted
from scores_at_hand import LOCAL_SCORES, NO_LOCAL_SCORES
from survey.library_of_notes import MEASURES

from annotator.products.survey.effort import FACTORS, effort
from annotator.products.survey.measures import HandMeasures, Measures

SILENT = HandMeasures(notes=0, compass=0, reach=0, ledger_lines=0)

HARDER = {
    "more to read": replace(MEASURES, to_read=91),
    "the same in less time": replace(MEASURES, beats=95.0),
    "more accidentals": replace(MEASURES, signs=9),
    "a fuller key signature": replace(MEASURES, signature=3),
    "a wider right hand": replace(MEASURES, right=replace(MEASURES.right, compass=25)),
    "a wider left hand": replace(MEASURES, left=replace(MEASURES.left, compass=25)),
    "a more varied rhythm": replace(MEASURES, rhythm=1.3),
    "fuller hands": replace(MEASURES, thickness=1.3),
    "more bars in several voices": replace(MEASURES, voices=6.0),
}


@pytest.mark.parametrize("harder", HARDER.values(), ids=HARDER)
def test_more_of_anything_is_more_effort(harder: Measures) -> None:
    assert effort(harder) > effort(MEASURES)


@pytest.mark.parametrize(
    "alike",
    [
        replace(MEASURES, notes=400, to_read=180, signs=16, beats=192.0, bars=64, odd=6),
        replace(MEASURES, title="Another", composer="", odd=0, kinds=(), keys=()),
    ],
    ids=["twice as long", "called otherwise"],
)
def test_neither_length_nor_names_count(alike: Measures) -> None:
    assert effort(alike) == pytest.approx(effort(MEASURES))


def test_grey_notes_do_not_count() -> None:
    fuller = replace(MEASURES, notes=400, signs=16)  # as many accidentals in 100 notes, 200 more notes, all of them grey
    assert effort(fuller) == pytest.approx(effort(MEASURES))


def test_it_stays_between_nothing_and_a_hundred() -> None:
    nothing = replace(MEASURES, notes=0, to_read=0, signs=0, beats=0.0, right=SILENT, left=SILENT)
    everything = replace(
        MEASURES,
        to_read=10**6,
        notes=10**6,
        signs=10**7,
        right=replace(MEASURES.right, compass=127),
        left=replace(MEASURES.left, compass=127),
        rhythm=20.0,
        thickness=10.0,
        voices=100.0,
    )
    assert effort(nothing) == 0
    assert 90 < effort(everything) < 100


def test_a_score_without_beats_or_signature_has_an_effort() -> None:
    assert 0 < effort(replace(MEASURES, beats=0.0, signature=0)) < effort(MEASURES)


def test_half_an_amount_earns_half_the_points() -> None:
    assert sum(factor.weight for factor in FACTORS) == 100
    for factor in FACTORS:
        assert replace(factor, amount=lambda _, half=factor.half: half).points(MEASURES) == factor.weight / 2
        assert replace(factor, amount=lambda _: 0).points(MEASURES) == 0


def test_the_correlations_are_what_textbooks_say() -> None:
    def graded(grades: list[int]) -> list[tuple[str, Measures, float]]:
        return [(str(place), replace(MEASURES, bars=place), float(grade)) for place, grade in enumerate(grades)]

    def by_bars(found: Measures) -> float:
        return found.bars

    # Worked by hand: 1 - 6 * 2 / (3 * 8) and (2 - 1) / 3; with a tie, 1.5 / sqrt(2 * 1.5) and 2 / sqrt(3 * 2).
    assert spearman(graded([1, 3, 2]), by_bars) == pytest.approx(0.5)
    assert kendall(graded([1, 3, 2]), by_bars) == pytest.approx(1 / 3)
    assert spearman(graded([1, 2, 2]), by_bars) == pytest.approx(1.5 / 3**0.5)
    assert kendall(graded([1, 2, 2]), by_bars) == pytest.approx(2 / 6**0.5)
    assert spearman(graded([4, 3, 2, 1]), by_bars) == pytest.approx(-1)


@pytest.mark.slow
@pytest.mark.skipif(not LOCAL_SCORES.is_dir(), reason=NO_LOCAL_SCORES)
def test_it_agrees_with_the_grades_of_scores_that_did_not_choose_its_weights() -> None:
    first, second = halves(graded_at_hand())
    weights = chosen_weights(first)
    assert weights == tuple(factor.weight for factor in FACTORS)
    assert spearman(second, weighted(weights)) > 0.7
    assert interval(second, weighted(weights))[0] > 0.4
    assert spearman(second, effort) == pytest.approx(spearman(second, weighted(weights)))
