"""Worksheet and answers correspond, number by number, read from the text of the PDF."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from handout.pdf_text import CHAIN, NUMBER_SIZE, STUDY, lines_of, made, pieces_of
from lxml import etree

from annotator.engraving.boxes import SVG
from annotator.engraving.paper import paper_of
from annotator.handout.heading import Heading
from annotator.handout.making import worksheet_style
from annotator.handout.worksheet import worksheets
from annotator.marking import markings
from annotator.pipeline import find_figures
from annotator.reading import load, read_document
from annotator.settings import Options
from annotator.style import load_style
from annotator.words import labels

BOTH = pytest.mark.parametrize("source", [STUDY, CHAIN], ids=lambda path: path.stem)


def numbers_of(data: bytes) -> list[tuple[int, str, float, float]]:
    return [(p.page, p.text, p.x, p.y) for p in pieces_of(data) if abs(p.size - NUMBER_SIZE) < 0.05]


@BOTH
def test_the_same_numbers_stand_at_the_same_places(source: Path) -> None:
    handout, files = made(source)
    blank, filled = numbers_of(files["worksheet"]), numbers_of(files["answers"])
    assert blank == filled
    assert [number for _, number, _, _ in blank] == [str(n) for n in range(1, len(handout.report.figures) + 1)]


def words_by_number(data: bytes) -> dict[str, str]:
    """Return what is written after each number, up to the next one or to the number of a bracket that goes on."""
    told: dict[str, str] = {}
    now = ""
    for piece in pieces_of(data):
        if abs(piece.size - NUMBER_SIZE) < 0.05:
            now = piece.text
            told[now] = ""
        elif now and not piece.text.startswith("("):
            told[now] += piece.text.replace(" ", "")
        else:
            now = ""
    return told


@BOTH
def test_each_number_of_the_answers_has_a_label_of_its_figure(source: Path) -> None:
    handout, files = made(source)
    told = words_by_number(files["answers"])
    for number, (_, figure) in enumerate(handout.report.figures, 1):
        assert any(told[str(number)].startswith(label.replace(" ", "")) for label in labels(figure)), (number, told[str(number)])


@BOTH
def test_the_worksheet_says_no_label(source: Path) -> None:
    handout, files = made(source)
    text = "\n".join(lines_of(files["worksheet"]))
    told = words_by_number(files["worksheet"])
    for number, (_, figure) in enumerate(handout.report.figures, 1):
        said = told[str(number)]
        assert not any(label.replace(" ", "") in said for label in labels(figure) if len(label) > 3), (number, said)
    assert "Worksheet" in text and "Write on each bracket" in text
    assert "Worksheet" not in "\n".join(lines_of(files["answers"]))


@cache
def sheets(language: str = "en") -> tuple[tuple[str, ...], tuple[str, ...]]:
    document = load(STUDY)
    score = read_document(document)
    marked = markings(find_figures(score, Options(language=language)), score)
    heading = Heading(score.title, score.composer, "", language)
    found = worksheets(document, score, marked, worksheet_style(load_style("default")), paper_of("a4"), "even", heading)
    return found.worksheet, found.answers


def test_without_words_both_have_the_same_drawing() -> None:
    def drawn(page: str) -> list[tuple[str, dict[str, str]]]:
        elements = etree.fromstring(page.encode()).iter(etree.Element)
        return [(each.tag, dict(each.attrib)) for each in elements if each.tag not in (SVG + "text", SVG + "tspan")]

    blank, filled = sheets()
    assert blank != filled
    assert [drawn(page) for page in blank] == [drawn(page) for page in filled]
    assert not [page for page in (*blank, *filled) if re.search(r'class="[^"]*\bgrey\b', page)], "a note is grey"


def test_a_figure_that_goes_on_has_its_number_again_in_parentheses() -> None:
    figures = len(made(STUDY)[0].report.figures)
    roots = [etree.fromstring(page.encode()) for page in sheets()[1]]
    told: dict[str, list[str]] = {}
    for group in (each for root in roots for each in root.iter(SVG + "g") if each.get("data-figure")):
        told.setdefault(group.get("data-figure"), []).append(group.find(SVG + "text").text)
    assert len(told) == figures and any(len(words) > 1 for words in told.values())
    for number, (_, words) in enumerate(sorted(told.items(), key=lambda entry: int(entry[0][1:])), 1):
        assert words == [str(number)] + [f"({number})"] * (len(words) - 1)


def test_chord_names_stand_at_their_notes_in_time_order() -> None:
    """The bass and chord of bars 13 to 17 goes through five chords, one a bar, wherever its systems break."""
    roots = [etree.fromstring(page.encode()) for page in sheets()[1]]
    groups = [group for root in roots for group in root.iter(SVG + "g") if group.get("class") == "figure bass-and-chord"]
    words = [[text.text for text in group.iter(SVG + "text")] for group in groups]
    assert [word for each in words for word in each[1:]] == ["bass and chord: Dm", "C", "B♭", "Am", "Gm"]
    for group in groups:
        places = [float(text.get("x")) for text in group.iter(SVG + "text")]
        assert places == sorted(places)


def test_the_worksheet_is_at_least_as_large_as_the_style_asked_for() -> None:
    assert worksheet_style(load_style("large-print")).unit == load_style("large-print").unit > load_style("worksheet").unit
    assert worksheet_style(load_style("default")).unit == load_style("worksheet").unit
    assert worksheet_style(load_style("worksheet")) == load_style("worksheet")
