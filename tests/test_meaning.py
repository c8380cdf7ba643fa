"""What a word means where kinds of figures are asked for: own names, the words that tables print, families, patterns."""

from __future__ import annotations

import pytest
from scores_at_hand import EXAMPLES

import annotator
from annotator.errors import UsageError
from annotator.figures.registry import KINDS
from annotator.options.settings import LANGUAGES
from annotator.words.labels import all_meant, kind_name, kinds_meant


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_name_that_a_table_prints_is_understood(language: str) -> None:
    for kind in KINDS:
        for said in (kind.name, kind_name(kind.name, language), kind_name(kind.name, language).upper()):
            assert kind.name in kinds_meant(said), said


def test_families_and_patterns() -> None:
    usual = [kind.name for kind in KINDS if kind.default]
    families = {kind.family.removesuffix("s") + "s" for kind in KINDS}
    assert sorted(all_meant(families)) == sorted(usual), "every kind that is looked for unasked is in a family"
    assert kinds_meant("ornaments") == ("turn", "mordent", "trill", "tremolo")
    assert set(kinds_meant("hands-*")) < set(kinds_meant("hands")) and kinds_meant("*") == tuple(usual)
    assert kinds_meant("scale") == kinds_meant("x*") == kinds_meant("") == ()


def test_from_python_and_in_the_search() -> None:
    score = annotator.read(EXAMPLES / "lamps-on-the-water.musicxml")
    found = annotator.find_figures(score, annotator.Options(kinds="runs,in Terzen"))
    assert {figure.kind for _, figure in found.figures} <= {"scale-run", "chromatic-run", "parallel-thirds"}
    assert not annotator.find_figures(score, annotator.Options(without=["*"])).figures
    with pytest.raises(UsageError, match=r"did you mean 'trill'.*a family such as runs"):
        annotator.find_figures(score, annotator.Options(kinds="trils"))
