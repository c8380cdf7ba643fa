"""The PDF: plain and marked are one drawing, pairs stay together, nothing lies over anything else."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy
import pytest
from lxml import etree
from marked_pages import SVG, margin_of
from PIL import Image
from scores_at_hand import EXAMPLES

from annotator.marks.style import load_style
from annotator.options.settings import Options
from annotator.pages.boxes import Box, around, boxes_of
from annotator.pages.paper import paper_of
from annotator.pages.pdf import write_png
from annotator.pages.svg import classes, numbers
from annotator.products.compare import comparison
from annotator.products.compare.plain_and_marked import Cut, System
from annotator.products.compare.sheets import Sheet, pair_pages

STUDIES = [path.stem for path in sorted(EXAMPLES.glob("*.musicxml"))]
Pages = Callable[..., tuple[str, ...]]


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Pages:
    """Return a function that gives the pages of a comparison as SVG texts, just before they become a PDF."""
    folder = tmp_path_factory.mktemp("pages")

    @cache
    def make(name: str, style: str = "default", paper: str = "a4", facing: bool = False) -> tuple[str, ...]:
        seen: list[tuple[str, ...]] = []
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(comparison, "write_pdf", lambda made, *_: seen.append(tuple(made)) or b"%PDF")
            options = Options(out=folder, style=style, paper=paper, force=True, facing=facing)
            comparison.plan_comparison(EXAMPLES / f"{name}.musicxml", options).write()
        return seen[0]

    return make


def halves(page: str, name: str) -> list[Any]:
    """Return the plain or the marked systems of a page."""
    return [each for each in margin_of(etree.fromstring(page.encode())) if name in classes(each)]


def notes_of(system: Any) -> dict[str, float]:
    """Return where each note stands from the left, by id."""
    left = (numbers(system.get("transform")) or [0.0])[0]
    found = {}
    for note in system.iter(SVG + "g"):
        if "note" in classes(note):
            found[note.get("id")] = left + around([box for head in note for box in boxes_of(head)]).left
    return found


@pytest.mark.parametrize("name", STUDIES)
def test_each_plain_system_has_its_marked_twin_below_with_every_note_at_the_same_place(name: str, pages: Pages) -> None:
    for page in pages(name):
        plain, marked = halves(page, "plain"), halves(page, "marked")
        assert len(plain) == len(marked) > 0
        for upper, lower in zip(plain, marked, strict=True):
            assert notes_of(upper) == notes_of(lower)
            assert len(notes_of(upper)) > 0
            assert around(boxes_of(upper)).bottom < around(boxes_of(lower)).top


@pytest.mark.parametrize("name", STUDIES)
def test_plain_is_all_ink_and_marked_has_its_greys_and_brackets(name: str, pages: Pages) -> None:
    for page in pages(name):
        for system in halves(page, "plain"):
            text = etree.tostring(system, encoding="unicode")
            assert "#909090" not in text
            assert "data-figure" not in text
            assert not [each for each in system.iter() if "grey" in classes(each)]
    marked = [each for page in pages(name) for each in halves(page, "marked")]
    assert any("grey" in classes(each) for system in marked for each in system.iter(SVG + "g"))
    assert any(each.get("data-figure") for system in marked for each in system)


@pytest.mark.parametrize(("style", "paper"), [("default", "a4"), ("large-print", "letter"), ("beginner", "tablet")])
def test_nothing_on_a_page_lies_over_anything_else_or_off_the_paper(style: str, paper: str, pages: Pages) -> None:
    room = paper_of(paper)
    for page in pages("sonatina-at-the-open-gate", style, paper):
        children = [(each, around(found)) for each in margin_of(etree.fromstring(page.encode())) if (found := boxes_of(each))]
        for index, (one, box) in enumerate(children):
            assert box.top > -900 and box.bottom < room.inner_height + 1000
            assert box.left > -900 and box.right < room.inner_width + 900
            for other, its in children[index + 1 :]:
                assert not box.meets(its), (one.get("class"), other.get("class"))


def test_plain_and_marked_never_ink_the_same_pixel(pages: Pages) -> None:
    def inked(page: str, left_out: str) -> Any:
        root = etree.fromstring(page.encode())
        margin = margin_of(root)
        for each in list(margin):
            if left_out in classes(each):
                margin.remove(each)
        picture = Image.open(io.BytesIO(write_png(etree.tostring(root, encoding="unicode"), "a4", 150))).convert("L")
        return numpy.asarray(picture) < 235

    for page in pages("lamps-on-the-water"):
        both = inked(page, "nothing")
        upper, lower = both & ~inked(page, "plain"), both & ~inked(page, "marked")
        assert upper.sum() > 1000 and lower.sum() > 1000
        rows = [each.any(axis=1).nonzero()[0] for each in (upper, lower)]
        assert not set(rows[0]) & set(rows[1]), "a plain and a marked system share a row of pixels"


def test_a_pair_that_is_higher_than_the_page_is_made_smaller_both_alike() -> None:
    box = Box(0.0, 0.0, 18000.0, 20000.0)
    music = etree.fromstring(f'<g xmlns="{SVG.strip("{}")}"><rect x="0" y="0" width="18000" height="20000"/></g>')
    system = System(0, music, (), box, box, {"n1": Box(0, 9000, 100, 9100)})
    sheet = Sheet(load_style("default"), "Tall", "", "")
    page, other = pair_pages(Cut((system, system), None, {}, "", "", paper_of("a4")), sheet, ("plain", "marked"))
    for made in (page, other):
        moves = [numbers(halves(made, name)[0].get("transform")) for name in ("plain", "marked")]
        assert moves[0][2] == moves[1][2] < 1
        assert moves[1][1] >= moves[0][1] + 20000 * moves[0][2]
        assert moves[1][1] + 20000 * moves[1][2] <= paper_of("a4").inner_height + 1
        assert len(halves(made, "plain")) == 1


def test_there_are_as_few_pages_as_can_be_and_they_are_filled_evenly() -> None:
    def dealt(heights: list[float]) -> list[int]:
        boxes = [Box(0.0, 0.0, 18000.0, (height - 380.0) / 2) for height in heights]
        group = etree.fromstring(f'<g xmlns="{SVG.strip("{}")}"><rect x="0" y="0" width="10" height="10"/></g>')
        cut = Cut(tuple(System(0, group, (), box, box, {}) for box in boxes), None, {}, "", "", paper_of("a4"))
        sheet = Sheet(load_style("default"), "", "", "")
        return [len(halves(page, "plain")) for page in pair_pages(cut, sheet, ("plain", "marked"))]

    assert paper_of("a4").inner_height == 26450.0  # what the heights below are made for
    assert dealt([8000.0] * 6) == [3, 3]
    assert dealt([12000.0] * 6) == [2, 2, 2]
    assert dealt([8000.0] * 4) == [2, 2], "not three and one"
    assert dealt([8000.0]) == [1]


def test_facing_pages_begin_on_the_left_and_turn_together(pages: Pages) -> None:
    made = pages("lamps-on-the-water", facing=True)
    assert len(made) % 2 == 1 and len(made) >= 3
    assert not halves(made[0], "plain") and not halves(made[0], "marked"), "the front page has no music"
    for left, right in zip(made[1::2], made[2::2], strict=True):
        plain, marked = halves(left, "plain"), halves(right, "marked")
        assert [notes_of(each) for each in plain] == [notes_of(each) for each in marked]
        assert not halves(left, "marked") and not halves(right, "plain")
        tops = [[around(boxes_of(each[0])).top for each in half] for half in (plain, marked)]
        assert tops[0] == tops[1], "systems stand at the same height on both pages"


WORDS = {"en": ("plain", "marked"), "fr": ("sans repères", "avec repères")}


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext on this machine: the PDF's text is not read")
@pytest.mark.parametrize("language", WORDS)
def test_the_text_of_the_pdf_names_both_versions_in_the_language(language: str, compared: Callable[..., Path]) -> None:
    stem = compared(language=language)
    text = subprocess.run(["pdftotext", "-raw", f"{stem}.pdf", "-"], check=True, capture_output=True, timeout=60).stdout.decode()
    assert "Sonatina at the Open Gate" in text
    lines = re.sub(r"\s+", " ", text)
    page = Path(f"{stem}.html").read_text(encoding="utf-8").partition("<template")[0]
    for word in WORDS[language]:
        assert lines.count(word) >= page.count('class="system"') > 3, (word, lines)
