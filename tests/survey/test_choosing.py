"""Which scores are chosen and in which order; how alike two mixes are."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from survey.invented_measures import library, piece

from annotator.errors import UsageError
from annotator.survey.choosing import choose
from annotator.survey.columns import columns_of
from annotator.survey.likeness import alike, likeness, mix
from annotator.survey.measures import Survey
from annotator.survey.wishes import Wish

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
    assert names(Wish(easiest=True)) == "bcad"
    assert names(Wish(easiest=True, reverse=True)) == "dacb"
    assert names(Wish(sort="to-read")) == "abcd"
    assert names(Wish(sort="To Read", reverse=True)) == "dcba"
    assert names(Wish(sort="file")) == "abcd"
    assert names(Wish(sort="drills")) == "dacb", "none before scale-run before trill, equals by path"


def test_wishes():
    assert names(Wish(kind="scale-run")) == "ac", "those with most of it first, those without it not at all"
    assert names(Wish(kind="trill")) == "ba"
    assert names(Wish(share=0.5)) == "ab"
    assert names(Wish(share=0.51)) == ""
    assert names(Wish(kind="trill", easiest=True)) == "ba"
    assert names(Wish(kind="scale-run", sort="effort")) == "ca"
    assert names(Wish(kind="trill", sort="drilled")) == "ab"


def test_like():
    assert names(Wish(like=SCORES[1])) == "bcd", "itself left out; all share a's notes of no figure, b its trills besides and c its runs"
    twin = replace(SCORES[1], path="twin.xml")
    assert all(score.path != "twin.xml" for score in choose(Survey((*SCORES, twin)), Wish(like=SCORES[1])).scores), "nor a copy of it"


def test_every_column_sorts():
    for wish in (Wish(), Wish(kind="trill", like=SCORES[0])):
        for column in columns_of(wish):
            found = choose(library(), replace(wish, kind=None, sort=column.key) if wish.kind is None else replace(wish, sort=column.key))
            values = [column.value(score) for score in found.scores]
            assert values == sorted(values, key=lambda value: value.casefold() if isinstance(value, str) else value)
    with pytest.raises(UsageError, match="the columns are title"):
        names(Wish(sort="colour"))


PARTS = st.dictionaries(st.sampled_from(["scale_run", "trill", "arpeggio"]), st.integers(1, 60))


@given(PARTS, PARTS)
def test_likeness_is_a_likeness(one, other):
    here, there = piece("a", **one), piece("b", **other)
    assert sum(mix(here.measures).values()) == pytest.approx(1)
    assert 0 <= alike(here, there) <= 1 + 1e-9
    assert alike(here, there) == pytest.approx(alike(there, here))
    assert alike(here, here) == pytest.approx(1)


def test_likeness_of_nothing_in_common():
    assert likeness({"trill": 1.0}, {"scale-run": 1.0}) == 0
