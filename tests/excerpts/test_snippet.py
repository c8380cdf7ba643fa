"""Snippets: one picture of some bars, cropped to its ink, several of them in one page without a clash."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from lxml import etree
from scores_at_hand import EXAMPLES, keyboard_corpus

import annotator
from annotator.marks.finding import find_figures
from annotator.marks.marking import markings
from annotator.marks.style import load_style
from annotator.musicxml.seal import sealed
from annotator.pages.boxes import around, boxes_of
from annotator.pages.svg import classes, numbers
from annotator.products.excerpts import Snippet, cut_out, engrave_snippet
from annotator.reading import load, read_document

SONATINA = EXAMPLES / "sonatina-at-the-open-gate.musicxml"
SVG = "{http://www.w3.org/2000/svg}"


def shown(path: Path, bars: str, hand: str = "both", prefix: str = "", width: float = 160.0, style: str = "default") -> Snippet:
    made = annotator.excerpt(path, bars, hand, style, width_mm=width)
    return engrave_snippet(made.excerpt, markings(made.report), made.style, width, prefix=prefix)


@pytest.mark.parametrize(("bars", "hand"), [("1-2", "both"), ("5-8", "left"), ("11-12", "right"), ("20-23", "both")])
def test_a_snippet_is_as_large_as_its_ink(bars: str, hand: str) -> None:
    snippet = shown(SONATINA, bars, hand)
    page = etree.fromstring(snippet.svg.encode())
    inner = next(each for each in page.iter(SVG + "svg") if "definition-scale" in classes(each))
    left, top, wide, high = numbers(inner.get("viewBox"))
    margin = next(each for each in page.iter(SVG + "g") if "page-margin" in classes(each))
    x, y = numbers(margin.get("transform"))
    ink = around([box for child in margin for box in boxes_of(child)]).moved(x, y)
    gaps = (ink.left - left, ink.top - top, left + wide - ink.right, top + high - ink.bottom)
    assert all(55 < gap < 65 for gap in gaps), gaps
    assert snippet.width_mm <= 160.0 and page.get("width") == f"{snippet.width_mm:g}mm"
    assert abs(snippet.width_mm / snippet.height_mm - wide / high) < 0.01
    assert not [each for each in page.iter(SVG + "g") if {"sheet", "pgHead"} & set(classes(each))]


def test_two_bars_are_not_stretched_and_carry_their_marks() -> None:
    snippet = shown(SONATINA, "5-6", "left")
    assert 60 < snippet.width_mm < 130 and snippet.height_mm < 30
    assert 'class="figure broken-chord"' in snippet.svg and 'class="note grey"' in snippet.svg


def test_ids_of_two_snippets_differ_and_every_reference_is_met() -> None:
    one, two = (shown(SONATINA, "5-6", "left", prefix) for prefix in ("a-", "b-"))
    found = []
    for snippet in (one, two):
        ids = re.findall(r' id="([^"]+)"', snippet.svg)
        assert len(ids) == len(set(ids))
        assert {name.lstrip("#") for name in re.findall(r'href="([^"]+)"', snippet.svg)} <= set(ids)
        assert set(re.findall(r"#([\w-]+) g\.", snippet.svg)) <= set(ids)
        found.append(set(ids))
    assert not found[0] & found[1] and all(name.startswith("a-") for name in found[0])
    assert shown(SONATINA, "5-6", "left", "a-") == one


@pytest.mark.parametrize("path", keyboard_corpus()[:4], ids=lambda path: path.stem)
def test_excerpts_of_the_corpus_engrave(path: Path) -> None:
    document = load(path)
    score = read_document(document)
    part = next(each for each in score.parts if each.keyboard)
    bars = part.bars
    for first, hand in ((len(bars) // 3, "both"), (len(bars) // 2, "right"), (len(bars) - 3, "left")):
        little = cut_out(document, score, [range(first, first + 3)], hand, [part.id])
        marked = markings(find_figures(little.score))
        snippet = engrave_snippet(little, marked, load_style("default"), 170.0)
        assert snippet.width_mm > 10 and snippet.svg.count("<svg") == 2


def test_a_notebook_is_given_a_picture_and_it_can_be_kept(tmp_path: Path) -> None:
    object_shown = annotator.excerpt(SONATINA, bars="5-8", of_the_whole=True)
    assert object_shown._repr_svg_().startswith("<svg") and object_shown.report.figures[0][0] == "f3"
    place = object_shown.write(tmp_path / "bars.svg")
    assert place.read_bytes() == sealed(object_shown._repr_svg_().encode())
    annotator.excerpt(SONATINA, bars="1", hand="right").write(place)  # our own file may be written over, one without figures too
    annotator.excerpt(SONATINA, bars="2").write(place)
    place.write_text("<svg xmlns='http://www.w3.org/2000/svg'/>", encoding="utf-8")
    with pytest.raises(annotator.AnnotatorError, match="--force"):
        object_shown.write(place)
