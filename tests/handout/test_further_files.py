"""What a handout can have besides its three files: a warm-up page, a practice series, all of it in one file."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from scores_at_hand import EXAMPLES

from annotator.options.settings import Options
from annotator.pages.paper import paper_of
from annotator.products.handout.examples import warm_up_page
from annotator.products.handout.lesson import prepare
from annotator.products.handout.making import in_print_order, plan_handout
from annotator.words.phrases import title_words

NAMES = sorted(path.stem for path in EXAMPLES.glob("*.musicxml"))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_warm_up_is_one_page_of_figures_each_once_hands_apart_then_together(name: str, paper: str) -> None:
    work = prepare(EXAMPLES / f"{name}.musicxml", Options(paper=paper))
    page = warm_up_page(work)
    assert page.count('class="figure ') >= len({figure.kind for _, figure in work.report.figures}) or len(work.report.figures) > 8
    at = [page.find(f">{title_words(hand)}<") for hand in ("right", "left", "together")]
    there = [place for place in at if place >= 0]
    assert there and there == sorted(there)
    assert 'class="note grey"' not in page, "a warm-up is played from the notes"
    height = 10 * paper_of(paper).height
    assert max(float(y) for y in re.findall(r'<svg[^>]* y="([\d.]+)"', page)) < height


def test_the_practice_series_comes_with_the_lesson(tmp_path: Path) -> None:
    plan = plan_handout(EXAMPLES / f"{NAMES[0]}.musicxml", Options(steps=2, warm_up=True, out=tmp_path))
    names = [file.path.name.removeprefix(f"{NAMES[0]}-") for file in plan.files]
    assert names == ["handout.pdf", "worksheet.pdf", "answers.pdf", "warm-up.pdf", "step-2.pdf"], "the marked score is step 1"


def test_one_file_holds_all_in_print_order(tmp_path: Path) -> None:
    source = EXAMPLES / f"{NAMES[0]}.musicxml"
    copy = plan_handout(source, Options(warm_up=True, one_file=True, out=tmp_path)).write()
    assert [path.name for path in copy.files] == [f"{NAMES[0]}-lesson.pdf"]
    files = {"handout": ("h1", "h2", "h3"), "worksheet": ("w1",), "answers": ("a1",), "warm-up": ("u1", "u2")}
    pages = in_print_order(files, paper_of("a4"))
    assert [page if len(page) == 2 else "" for page in pages] == ["h1", "h2", "h3", "", "u1", "u2", "w1", "", "a1"]
