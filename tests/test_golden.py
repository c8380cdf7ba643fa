"""What the program makes of every score at hand is what the golden file says; two deliberate faults are seen."""

from __future__ import annotations

import golden as tool
import pytest
from golden import ENGRAVER, changes, golden, outcome, pages, scores, with_pages

import annotator.figures.candidates
from annotator.figures.figure import Figure

HERE = scores()
KNOWN = golden()
EVERY_RUN = set(with_pages())


@pytest.mark.fast
@pytest.mark.parametrize("name", HERE)
def test_reports_labels_and_marks_are_as_they_were(name: str) -> None:
    assert changes(name, KNOWN.get(name, {}), outcome(HERE[name])) == []


@pytest.mark.parametrize("name", [name if name in EVERY_RUN else pytest.param(name, marks=pytest.mark.slow) for name in HERE])
def test_pages_are_as_they_were(name: str) -> None:
    known = KNOWN[name].get("pages", {})
    if ENGRAVER not in known:  # by note it must be as any other engraver has it
        assert pages(HERE[name])["by note"] in [each["by note"] for each in known.values()]
    else:
        assert pages(HERE[name]) == known[ENGRAVER]


STUDY = "examples/letter-by-the-window.musicxml"


def test_a_kind_that_is_lost_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    kinds = annotator.figures.candidates.KINDS
    monkeypatch.setattr(annotator.figures.candidates, "KINDS", tuple(kind for kind in kinds if kind.name != "alberti-bass"))
    (line,) = changes(STUDY, KNOWN[STUDY], outcome(HERE[STUDY]))
    assert line.startswith(f"{STUDY}: to_read ")
    assert f"alberti-bass {KNOWN[STUDY]['kinds']['alberti-bass']} → 0" in line


def test_a_word_changed_in_one_language_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    right = tool.labels

    def wrong(figure: Figure, language: str) -> tuple[str, str, str]:
        long, medium, short = right(figure, language)
        return (long.replace("Bass", "Baß") if language == "de" else long), medium, short

    monkeypatch.setattr(tool, "labels", wrong)
    assert changes(STUDY, KNOWN[STUDY], outcome(HERE[STUDY])) == [f"{STUDY}: labels in de"]


def test_a_bracket_that_ends_elsewhere_is_told() -> None:
    before, now = KNOWN[STUDY], {**KNOWN[STUDY], "pages": {ENGRAVER: {"svg": ["0"], "by note": ["0"]}}}
    drawn = before["pages"].get(ENGRAVER)
    assert drawn is None or changes(STUDY, before, now) == [f"{STUDY}: svg of page 1; by note of page 1"]
