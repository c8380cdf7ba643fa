"""The page of a survey as text: whole, escaped, closed to the network, the same every time."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from survey.library_of_notes import HOSTILE, MEASURES, hostile_library, library, scored

from annotator.options.settings import LANGUAGES
from annotator.products.survey import page as scatter
from annotator.products.survey.measures import Survey
from annotator.products.survey.page import notes_by_kind, survey_page


class Seen(HTMLParser):
    """Collects the elements of a page, and checks that what is opened is closed in order."""

    EMPTY = frozenset({"meta", "input", "rect", "path", "circle"})

    def __init__(self, page: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in self.EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_score_has_a_row_and_a_dot(language: str) -> None:
    seen = Seen(survey_page(library(12), language))
    assert seen.open == []
    rows = [attributes for tag, attributes in seen.elements if tag == "tr" and "data-rank" in attributes]
    dots = [attributes for tag, attributes in seen.elements if tag == "circle"]
    assert {row["data-rank"] for row in rows} == {dot["data-rank"] for dot in dots} == {str(rank) for rank in range(12)}
    assert len(rows) == len(dots) == 12
    assert ("html", {"lang": language}) in seen.elements


def test_ids_are_there_once() -> None:
    ids = [attributes["id"] for _, attributes in Seen(survey_page(library(30))).elements if "id" in attributes]
    assert len(ids) == len(set(ids)) > 60


def test_the_same_survey_gives_the_same_page() -> None:
    assert survey_page(library(40), "de") == survey_page(library(40), "de")


def test_what_comes_from_scores_is_escaped() -> None:
    page = survey_page(hostile_library())
    seen = Seen(page)
    assert seen.open == []
    assert page.count("<script>") == 1
    assert {tag for tag, _ in seen.elements}.isdisjoint({"img", "iframe", "object", "link", "base", "form", "a"})
    assert not [name for _, attributes in seen.elements for name in attributes if name.startswith("on") or name == "style"]
    titles = {attributes["data-title"] for tag, attributes in seen.elements if tag == "circle"}
    assert titles == set(HOSTILE)


def test_the_policy_allows_the_pages_own_style_and_script_and_nothing_else() -> None:
    page = survey_page(library(2))
    (policy,) = (a["content"] or "" for tag, a in Seen(page).elements if a.get("http-equiv") == "Content-Security-Policy")
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert set(rules) == {"default-src", "style-src", "script-src", "font-src", "base-uri", "form-action"}
    assert rules["default-src"] == rules["base-uri"] == rules["form-action"] == "'none'"
    for rule, element in (("style-src", "style"), ("script-src", "script")):
        (text,) = re.findall(rf"<{element}>(.*?)</{element}>", page, re.DOTALL)
        assert rules[rule] == f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def test_nothing_is_asked_of_the_network() -> None:
    page = re.sub(r"sha256-[^']+", "", survey_page(library(3)))
    assert not re.search(r"https?:|//[a-z]|url\(|@import|fetch\(|XMLHttp|\bsrc=|\bhref=", page)


def test_a_score_without_title_is_called_by_its_file() -> None:
    page = survey_page(Survey((scored(replace(MEASURES, title=" "), "folder/waltz no 3.mxl"),)))
    assert "<summary><bdi>waltz no 3</bdi></summary>" in page


def test_an_empty_survey_says_so_and_still_lists_what_failed() -> None:
    empty = Survey((), library(1).failed, ())
    page = survey_page(empty)
    assert Seen(page).open == []
    assert "No score was found." in page
    assert "folder/bad.xml: this is not MusicXML: &lt;html&gt;" in page
    assert "<table" not in page


def test_a_library_without_figures_has_no_bar_chart() -> None:
    page = survey_page(Survey((scored(replace(MEASURES, kinds=(), to_read=200)),)))
    assert 'id="kinds"' not in page


def test_the_bars_add_up_the_notes_of_all_scores_the_most_first() -> None:
    kinds = notes_by_kind(library(5).scores)
    assert kinds == sorted(kinds, key=lambda item: (-item[1], item[0]))
    assert sum(notes for _, notes in kinds) == 5 * (40 + 20)


def test_titles_on_the_scatter_lie_over_nothing() -> None:
    scores = library(150).scores
    dots = [scatter.Dot(rank, score.measures.title, score.effort, score.measures.share) for rank, score in enumerate(scores)]
    places = [(scatter.place(dot.effort, dot.share, 70), dot) for dot in dots]
    boxes = [(x, y + 4 - scatter.LINE, x + scatter.text_width(title), y + 4) for title, x, y in scatter.labels(places)]
    assert len(boxes) > 8
    for place, box in enumerate(boxes):
        assert box[0] >= scatter.LEFT
        assert box[2] <= scatter.RIGHT
        for other in boxes[:place]:
            assert box[0] >= other[2] or other[0] >= box[2] or box[1] >= other[3] or other[1] >= box[3]
        size = scatter.radius(len(dots))
        for (x, y), _ in places:
            assert x + size <= box[0] or x - size >= box[2] or y + size <= box[1] or y - size >= box[3]


def test_higher_is_harder_and_further_right_is_greyer() -> None:
    (left, low), (right, high) = scatter.place(10, 0.2, 60), scatter.place(50, 0.9, 60)
    assert left < right
    assert high < low  # y grows downwards
    assert scatter.place(0, 0, 60) == (scatter.LEFT, scatter.BOTTOM)
