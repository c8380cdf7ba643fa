"""Worksheet and answers correspond, number by number."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from handout.pdf_text import CHAIN, STUDY, lines_of, made
from lxml import etree
from marked_pages import meeting_texts, overlapping_labels
from scores_at_hand import EXAMPLES

from annotator.marks.report import Report
from annotator.marks.style import load_style
from annotator.options.settings import Options
from annotator.pages.svg import SVG
from annotator.products.handout.lesson import prepare
from annotator.products.handout.making import worksheet_style
from annotator.products.handout.worksheet import worksheets
from annotator.words.labels import change_words, labels

Pages = tuple[str, ...]
BOTH = pytest.mark.parametrize("source", [STUDY, CHAIN], ids=lambda path: path.stem)


@cache
def sheets(source: Path = STUDY, paper: str = "a4") -> tuple[Pages, Pages, Report]:
    lesson = prepare(source, Options(paper=paper))
    return *worksheets(lesson, worksheet_style(lesson.style)), lesson.report


def elements(pages: Pages, *names: str) -> list[Any]:
    return [each for page in pages for each in etree.fromstring(page.encode()).iter(*(SVG + name for name in names))]


def told(pages: Pages) -> dict[int, str]:
    """Return what stands on the lines of each number."""
    found: dict[int, list[str]] = {}
    for text in elements(pages, "text"):
        if text.getparent().get("class") == "sheet" and text.get("font-size") == f"{10.5 * 35.28:.1f}px":
            if text.get("font-weight") == "bold" and text.text.isdigit():
                found[int(text.text)] = []
            elif found:
                found[max(found)].append(text.text)
    return {number: " ".join(lines) for number, lines in found.items()}


@BOTH
def test_each_number_has_its_line_and_in_the_answers_the_full_name(source: Path) -> None:
    worksheet, answers, report = sheets(source)
    numbers = list(range(1, len(report.figures) + 1))
    assert list(told(worksheet)) == list(told(answers)) == numbers
    assert set(told(worksheet).values()) == {""}
    for number, (_, figure) in enumerate(report.figures, 1):
        assert told(answers)[number] == ", ".join([labels(figure)[0], *(text for _, text in change_words(figure))])


@BOTH
def test_a_bracket_says_its_number_and_in_parentheses_where_it_goes_on(source: Path) -> None:
    worksheet, _, report = sheets(source)
    said: dict[str, list[str]] = {}
    for group in elements(worksheet, "g"):
        if group.get("data-figure"):
            said.setdefault(group.get("data-figure"), []).extend(text.text for text in group.iter(SVG + "text"))
    assert [said[name] for name, _ in report.figures] == [
        [str(number)] + [f"({number})"] * (len(said[name]) - 1) for number, (name, _) in enumerate(report.figures, 1)
    ]
    assert any(len(words) > 1 for words in said.values())


@BOTH
def test_without_words_both_have_the_same_drawing(source: Path) -> None:
    def drawn(pages: Pages) -> list[tuple[str, dict[str, str]]]:
        return [(each.tag, dict(each.attrib)) for each in elements(pages, "use", "path", "rect", "ellipse", "polygon")]

    worksheet, answers, _ = sheets(source)
    assert worksheet != answers and len(worksheet) == len(answers)
    assert drawn(worksheet) == drawn(answers)
    assert not [page for page in (*worksheet, *answers) if re.search(r'class="[^"]*\bgrey\b', page)], "a note is grey"


def test_name_and_date_are_on_the_worksheet_only() -> None:
    files = made(STUDY)[1]
    blank, filled = ("\n".join(lines_of(files[name])) for name in ("worksheet", "answers"))
    assert "Worksheet" in blank and "Name ___" in blank and "Date ___" in blank and "Write on each line" in blank
    assert "Answers" in filled and not any(word in filled for word in ("Worksheet", "Name", "Date", "Write on each line"))


@pytest.mark.parametrize(
    ("source", "paper"), list(zip(sorted(EXAMPLES.glob("*.musicxml")), ["a4", "letter", "a4", "letter"], strict=True)), ids=str
)
def test_no_texts_meet(source: Path, paper: str) -> None:
    worksheet, answers, _ = sheets(source, paper)
    for page in (*worksheet, *answers):
        assert overlapping_labels(page) == meeting_texts(page) == []


def test_a_study_of_one_page_of_music_has_its_lines_on_the_other_side() -> None:
    assert len(sheets()[0]) == 2


def test_the_worksheet_is_at_least_as_large_as_the_style_asked_for() -> None:
    assert worksheet_style(load_style("large-print")).unit == load_style("large-print").unit > load_style("worksheet").unit
    assert worksheet_style(load_style("default")).unit == load_style("worksheet").unit
    assert worksheet_style(load_style("worksheet")) == load_style("worksheet")
