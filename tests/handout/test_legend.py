"""The legend: one example of each kind of figure used, from the piece itself, and nothing grey that does not follow on the page."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from handout.pdf_text import CHAIN, STUDY
from lxml import etree
from scores_at_hand import EXAMPLES

from annotator.marks.finding import find_figures
from annotator.marks.report import Report
from annotator.options.settings import Options
from annotator.pages.paper import paper_of
from annotator.pages.svg import SVG
from annotator.products.handout.blocks import GAP
from annotator.products.handout.examples import PICTURE, Example, chosen, of_each_kind, place_legend
from annotator.products.handout.lesson import Lesson, prepare
from annotator.products.handout.sheet import Sheet
from annotator.words.labels import kind_name, rule_words
from annotator.words.phrases import times_words


@cache
def lesson_of(path: Path, language: str = "en") -> Lesson:
    return prepare(path, Options(language=language))


@cache
def found(path: Path) -> list[Example]:
    return of_each_kind(lesson_of(path))


def figures_of(report: Report) -> dict[str, int]:
    counts: dict[str, int] = {}
    for _, figure in report.figures:
        counts[figure.kind] = counts.get(figure.kind, 0) + 1
    return counts


@pytest.mark.parametrize("path", [STUDY, CHAIN], ids=lambda path: path.stem)
def test_each_kind_used_has_one_picture_with_its_bracket(path: Path) -> None:
    assert {example.kind: example.where.partition(":")[0] for example in found(path)} == {
        kind: times_words(times) for kind, times in figures_of(lesson_of(path).report).items()
    }
    for example in found(path):
        root = etree.fromstring(example.picture.svg.encode())
        groups = [group for group in root.iter(SVG + "g") if group.get("data-figure")]
        assert groups and {group.get("class") for group in groups} == {f"figure {example.kind}"}
        assert 0 < example.picture.width_mm <= PICTURE * paper_of("a4").inner_width / 100 and 0 < example.picture.height_mm < 80


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.musicxml")), ids=lambda path: path.stem)
def test_examples_are_short_and_their_greys_follow(path: Path) -> None:
    lesson = lesson_of(path)
    kinds: dict[str, list[tuple[str, object]]] = {}
    for name, figure in lesson.report.figures:
        kinds.setdefault(figure.kind, []).append((name, figure))
    for kind, figures in kinds.items():
        little, marked = chosen(lesson, figures)  # type: ignore[arg-type]
        assert len(little.score.parts[0].bars) <= 4
        assert {mark.kind for mark in marked.marks} == {kind} and len({mark.id for mark in marked.marks}) == 1
        again = {note.number for _, each in find_figures(little.score, Options(kinds=(kind,))).figures for note in each.grey}
        inside = {note.number for mark in marked.marks for note in mark.notes}
        assert marked.grey <= inside and (not marked.grey or again), (kind, "grey, though the bars alone do not give it")


def test_the_page_names_each_kind_and_says_what_to_read() -> None:
    paper = paper_of("a4")
    pages = place_legend(found(STUDY), [], paper, "en")
    text = " ".join(re.findall(r">([^<>]+)</text>", "".join(page.to_svg() for page in pages)))
    for example in found(STUDY):
        assert kind_name(example.kind) in text and rule_words(example.kind).replace("'", "&#39;") in text.replace("'", "&#39;")
    assert place_legend((), [], paper, "en") == []


def test_the_legend_begins_where_there_is_room() -> None:
    paper = paper_of("a4")
    bottom = Sheet(paper).bottom
    half, none = Sheet(paper, 0.6 * bottom), Sheet(paper, bottom - 100.0)
    pages = place_legend(found(STUDY), [half, none], paper, "en")
    assert pages[:2] == [half, none] and len(pages) == len(place_legend(found(STUDY), [], paper, "en")) + 1
    assert half.top > 0.6 * bottom and none.top == bottom - 100.0 and not len(none.group), "what has no room is left as it is"
    assert all(page.top <= page.bottom + GAP for page in pages)


def test_the_remark_below_the_examples_does_not_go_over_alone() -> None:
    paper, examples = paper_of("a4"), found(STUDY)
    for height in range(2000, 3600, 20):
        pages = place_legend(examples, [], replace(paper, height=height), "en")
        last = re.findall(r">([^<>]+)</text>", pages[-1].to_svg())
        assert any(kind_name(example.kind) in last for example in examples), height
