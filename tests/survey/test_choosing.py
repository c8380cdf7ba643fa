"""Which scores are chosen and in which order; how alike two mixes are."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from survey.invented_measures import library, piece

from annotator.errors import MissingError, SettingsError, UsageError
from annotator.options.option import Between
from annotator.options.settings import Options
from annotator.products.survey.choosing import Wish, alike, choose, levels_of, mix
from annotator.products.survey.measures import Drilled, Survey

SCORES = (
    piece("c.xml", effort=10, to_read=90, scale_run=10),
    piece("a.xml", effort=20, to_read=50, scale_run=40, trill=10),
    piece("b.xml", effort=5, to_read=50, trill=50),
    piece("d.xml", effort=30, to_read=100),
)


def names(wish: Wish) -> str:
    return "".join(score.path[0] for score in choose(Survey(SCORES), wish).scores)


def test_orders():
    assert names(Wish()) == "abcd", "the most to take in at a glance first, equals by path"
    assert names(Wish(Options(easiest=True))) == "bcad"
    assert names(Wish(Options(easiest=True, reverse=True))) == "dacb"
    assert names(Wish(Options(sort="to-read"))) == "abcd"
    assert names(Wish(Options(sort="To Read", reverse=True))) == "dcba"
    assert names(Wish(Options(sort="file"))) == "abcd"
    assert names(Wish(Options(sort="drills"))) == "cabd", "scale-run alone, scale-run and trill, trill, none"


def test_wishes():
    assert names(Wish(kinds=("scale-run",))) == "ac", "those with most of it first, those without it not at all"
    assert names(Wish(kinds=("trill",))) == "ba"
    assert names(Wish(Options(share=50))) == "ab"
    assert names(Wish(Options(share=51))) == ""
    assert names(Wish(Options(easiest=True), kinds=("trill",))) == "ba"
    assert names(Wish(Options(sort="effort"), kinds=("scale-run",))) == "ca"
    assert names(Wish(Options(sort="drilled"), kinds=("trill",))) == "ab"


def test_ranges():
    assert names(Wish(Options(effort=Between(5, 10)))) == "bc", "both ends belong to it"
    assert names(Wish(Options(effort=Between(10.1, inf)))) == "ad"
    assert names(Wish(Options(effort=Between(-inf, 20)), kinds=("trill",))) == "ba"
    assert names(Wish(kinds=("trill", "scale-run"))) == "abc", "a's 50 notes in figures of either kind, b's 50, c's 10"


def test_copies_drill_nothing():
    measures = SCORES[1].measures
    kinds = (Drilled("sequence", 3, 60, copies=True), *measures.kinds, Drilled("turn", 1, 4))
    assert replace(measures, kinds=kinds).drills == ("scale-run", "trill"), "nor does what is in less than a twentieth of the notes"


def test_own_levels(tmp_path):
    told = tmp_path / "levels.csv"
    told.write_text("file,level,remark\nsub/a.xml,3,\nb,2,lovely\nc.xml,,\n", encoding="utf-8")
    scores = [replace(score, path=str(tmp_path / ("sub" if score.path == "a.xml" else "") / score.path)) for score in SCORES]
    levels = levels_of(told, scores)
    assert sorted((path[-5:], level) for path, level in levels.items()) == [("a.xml", "3"), ("b.xml", "2")]
    wish = Wish(Options(sort="level"), levels=levels)
    chosen = choose(Survey(tuple(scores)), wish).scores
    column = next(column for column in wish.columns() if column.key == "level")
    assert [column.text(score) for score in chosen] == ["2", "3", "–", "–"], "those without one come last"
    told.write_text("name,grade\na,1\n", encoding="utf-8")
    with pytest.raises(SettingsError, match="the first line is file,level"):
        levels_of(told, scores)
    with pytest.raises(MissingError):
        levels_of(tmp_path / "none.csv", scores)


def test_like():
    assert names(Wish(like=SCORES[1])) == "cbd", "itself left out; all share a's notes of no figure; b its trills too, but it is far easier"
    hard = tuple(replace(score, effort=20.0) for score in SCORES)
    assert [score.path for score in choose(Survey(hard), Wish(like=hard[1])).scores] == ["b.xml", "c.xml", "d.xml"], (
        "one effort: by figures"
    )
    twin = replace(SCORES[1], path="twin.xml")
    assert all(score.path != "twin.xml" for score in choose(Survey((*SCORES, twin)), Wish(like=SCORES[1])).scores), "nor a copy of it"


def test_every_column_sorts():
    for wish in (Wish(), Wish(kinds=("trill",), like=SCORES[0])):
        for column in wish.columns():
            found = choose(library(), replace(wish, options=Options(sort=column.key)))
            values = [column.value(score) for score in found.scores]
            assert values == sorted(values, key=lambda value: value.casefold() if isinstance(value, str) else value)
    with pytest.raises(UsageError, match="the columns are title"):
        names(Wish(Options(sort="colour")))


PARTS = st.dictionaries(st.sampled_from(["scale_run", "trill", "arpeggio"]), st.integers(1, 60))


@settings(deadline=None, derandomize=True)
@given(PARTS, PARTS)
def test_likeness_is_a_likeness(one, other):
    here, there = piece("a", **one), piece("b", **other)
    assert sum(mix(here.measures).values()) == pytest.approx(1)
    assert 0 <= alike(here, there) <= 1 + 1e-9
    assert alike(here, there) == pytest.approx(alike(there, here))
    assert alike(here, here) == pytest.approx(1)


def test_likeness_of_mixes():
    some, other = piece("a", scale_run=50), piece("b", scale_run=25, trill=25)
    assert alike(some, other) == pytest.approx(0.75), "a quarter of run and half of no figure"
    assert alike(piece("a", trill=100), piece("b", scale_run=100)) == 0
