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
from annotator.marks.style import load_style
from annotator.options.settings import Options
from annotator.pages.paper import paper_of
from annotator.pages.svg import SVG
from annotator.products.handout.blocks import GAP
from annotator.products.handout.examples import Example, Source, _chosen, examples
from annotator.products.handout.filling import new_page
from annotator.products.handout.legend import picture_width, place_legend
from annotator.reading import load, read_document
from annotator.words import kind_name, rule_words


@cache
def source_of(path: Path, language: str = "en") -> Source:
    document = load(path)
    score = read_document(document)
    options = Options(language=language)
    return Source(document, score, find_figures(score, options), options, load_style("default"), picture_width(paper_of("a4")))


@cache
def found(path: Path) -> tuple[Example, ...]:
    return examples(source_of(path))


def figures_of(report: Report) -> dict[str, int]:
    counts: dict[str, int] = {}
    for _, figure in report.figures:
        counts[figure.kind] = counts.get(figure.kind, 0) + 1
    return counts


@pytest.mark.parametrize("path", [STUDY, CHAIN], ids=lambda path: path.stem)
def test_each_kind_used_has_one_picture_with_its_bracket(path: Path) -> None:
    assert {example.kind: example.times for example in found(path)} == figures_of(source_of(path).report)
    for example in found(path):
        root = etree.fromstring(example.picture.svg.encode())
        groups = [group for group in root.iter(SVG + "g") if group.get("data-figure")]
        assert groups and {group.get("class") for group in groups} == {f"figure {example.kind}"}
        assert 0 < example.picture.width_mm <= picture_width(paper_of("a4")) and 0 < example.picture.height_mm < 80


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.musicxml")), ids=lambda path: path.stem)
def test_examples_are_short_and_their_greys_follow(path: Path) -> None:
    source = source_of(path)
    kinds: dict[str, list[tuple[str, object]]] = {}
    for name, figure in source.report.figures:
        kinds.setdefault(figure.kind, []).append((name, figure))
    for kind, figures in kinds.items():
        little, marked = _chosen(source, figures)  # type: ignore[arg-type]
        assert len(little.score.parts[0].bars) <= 4
        assert {mark.kind for mark in marked.marks} == {kind} and len({mark.id for mark in marked.marks}) == 1
        again = {note.number for _, each in find_figures(little.score, Options(kinds=(kind,))).figures for note in each.grey}
        inside = {note.number for mark in marked.marks for note in mark.notes}
        assert marked.grey <= inside and (not marked.grey or again), (kind, "grey, though the bars alone do not give it")


def test_the_page_names_each_kind_and_says_what_to_read() -> None:
    paper = paper_of("a4")
    rooms = place_legend(found(STUDY), [], paper, "en")
    text = " ".join(re.findall(r">([^<>]+)</text>", "".join(room.sheet.to_svg() for room in rooms)))
    for example in found(STUDY):
        assert kind_name(example.kind) in text and rule_words(example.kind).replace("'", "&#39;") in text.replace("'", "&#39;")
    assert place_legend((), [], paper, "en") == []


def test_the_legend_begins_where_there_is_room() -> None:
    paper = paper_of("a4")
    page = new_page(paper)
    half, none = replace(page, top=0.6 * page.bottom), replace(new_page(paper), top=page.bottom - 100.0)
    left = place_legend(found(STUDY), [half, none], paper, "en")
    alone = place_legend(found(STUDY), [], paper, "en")
    assert len(left) == len(alone) + 1 and left[0].top > half.top
    assert left[1] == none and not len(none.sheet.group), "what has no room is left as it is"
    for room in left:
        assert room.top <= room.bottom + GAP
