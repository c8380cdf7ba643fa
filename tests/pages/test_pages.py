"""Pages as a whole: nothing touches, every note is there, the groups are as promised, and the same comes out each time."""

from __future__ import annotations

import copy
import re
from dataclasses import replace
from pathlib import Path

import pytest
from collision_figures import PAPERS as PAPERS_PROVED
from collision_figures import figures_of, scores
from lxml import etree
from marked_pages import SVG, collisions, corpus, engraving, layer, margin_of, overlapping_labels, prepared, wider_than_their_bracket

from annotator.errors import UsageError
from annotator.marks.style import Style, load_style
from annotator.pages import fonts
from annotator.pages.boxes import Box, boxes_of
from annotator.pages.engraving import engrave
from annotator.pages.finishing import highest
from annotator.pages.paper import MARGIN, PAPERS, paper_of

POLONAISE = "schumann_clara/polonaise_op1n3"
RAG = "joplin/maple_leaf_rag"

@pytest.fixture(scope="module")
def pages() -> tuple[str, ...]:
    return engraving(corpus(POLONAISE)).pages


@pytest.mark.parametrize("name", [POLONAISE, RAG])
def test_no_pixel_is_inked_by_a_figure_and_by_something_else(name: str) -> None:
    done = engraving(corpus(name))
    assert done.crowded == 0
    assert "".join(done.pages).count('class="bracket"') >= 15
    assert collisions(done.pages[:1], "a4") == [0]
    assert [pair for page in done.pages for pair in overlapping_labels(page)] == []


def test_the_collision_check_sees_a_collision(pages: tuple[str, ...]) -> None:
    moved = re.sub(r'(class="bracket" d="M\d+) (\d+)', lambda m: f"{m[1]} {int(m[2]) + 2000}", pages[0])
    assert collisions((moved,), "a4")[0] > 100


@pytest.mark.slow
@pytest.mark.parametrize("paper", PAPERS_PROVED)
@pytest.mark.parametrize("style", ("default", "large-print"))
@pytest.mark.parametrize("path", scores(), ids=lambda path: path.stem)
def test_nothing_touches(path: Path, style: str, paper: str) -> None:
    figures = figures_of(path, style, paper)
    assert figures.faults == 0, figures


def test_no_bracket_stands_above_the_page_head_nor_near_the_edge_of_the_paper(pages: tuple[str, ...]) -> None:
    first, second = (margin_of(etree.fromstring(page.encode())) for page in pages[:2])
    title = next(each for each in first.iter(SVG + "text") if "Polonaise" in (each.text or ""))
    assert 0 < float(title.get("y")) - highest(first, paper_of("a4")) < 1000
    assert 10.0 * MARGIN + highest(second, paper_of("a4")) == 700.0  # seven millimetres from the edge


def test_every_note_has_its_own_id_once(pages: tuple[str, ...]) -> None:
    _, score, _ = prepared(corpus(POLONAISE))
    ids = [
        group.get("id")
        for page in pages
        for group in etree.fromstring(page.encode()).iter(SVG + "g")
        if "note" in group.get("class", "").split()
    ]
    assert sorted(ids) == sorted(note.id for part in score.parts for note in part.notes)


def test_grey_and_anchor_notes_carry_their_class(pages: tuple[str, ...]) -> None:
    _, score, marked = prepared(corpus(POLONAISE))
    ids = {note.id: note.number for part in score.parts for note in part.notes}
    found: dict[str, set[int]] = {"grey": set(), "anchor": set()}
    for page in pages:
        for group in etree.fromstring(page.encode()).iter(SVG + "g"):
            own = group.get("class", "").split()
            for name in found:
                if "note" in own and name in own:
                    found[name].add(ids[group.get("id")])
                    assert (group.get("fill") == load_style("default").grey) == (name == "grey")
    assert found == {"grey": set(marked.grey), "anchor": set(marked.anchors)}


def test_each_figure_has_one_group_a_system_and_its_words_no_more(pages: tuple[str, ...]) -> None:
    _, _, marked = prepared(corpus(POLONAISE))
    kinds = {mark.id: mark.kind for mark in marked.marks}
    seen = set()
    for page in pages:
        for group in margin_of(etree.fromstring(page.encode())):
            if "figure" not in group.get("class", "").split():
                continue
            name = group.get("data-figure")
            seen.add(name)
            assert group.get("class") == f"figure {kinds[name]}"
            brackets, texts = group.findall(SVG + "path"), group.findall(SVG + "text")
            assert len(brackets) in (1, 2)  # one a hand
            assert [each.get("class") for each in group] == ["bracket"] * len(brackets) + ["label"] * len(texts)
            for text in texts:
                size = float(text.get("font-size").removesuffix("px"))
                width = fonts.text_width(text.text, size, family=text.get("font-family"))
                assert float(text.get("textLength")) == pytest.approx(width, abs=0.1)
    assert seen == set(kinds)


def test_no_label_is_wider_than_its_bracket(pages: tuple[str, ...]) -> None:
    assert [text for page in pages for text in wider_than_their_bracket(page)] == []


def test_the_foot_has_title_meaning_and_page_number(pages: tuple[str, ...]) -> None:
    for number, page in enumerate(pages, 1):
        sheets = [each for each in etree.fromstring(page.encode()).iter(SVG + "g") if each.get("class") == "sheet"]
        texts = [text.text for text in sheets[0]]
        assert f"{number} / {len(pages)}" in texts
        assert any("grey" in text for text in texts)
        assert texts[0].startswith("Polonaise")


def test_the_same_pages_come_out_each_time(pages: tuple[str, ...]) -> None:
    document, score, marked = prepared(corpus(POLONAISE))
    assert engrave(document, score, marked, load_style("default"), "a4").pages == pages


def test_the_document_stays_as_it_is() -> None:
    document, score, marked = prepared(corpus("bach/bwv846"))
    before = etree.tostring(document.tree)
    engrave(document, score, marked, Style(), "letter")
    assert etree.tostring(document.tree) == before


def test_a_timewise_score_gives_the_same_music() -> None:
    document, score, marked = prepared(corpus("bach/bwv846"))
    turned = copy.deepcopy(document)
    root = turned.tree.getroot()
    part = root.find("part")
    measures = list(part)
    root.remove(part)
    root.tag = "score-timewise"
    for measure in measures:
        outer = etree.SubElement(root, "measure", measure.attrib)
        inner = etree.SubElement(outer, "part", {"id": part.get("id")})
        inner.extend(list(measure))
    assert engrave(turned, score, marked, Style(), "a4").pages == engrave(document, score, marked, Style(), "a4").pages


def test_styles_without_labels_or_greying() -> None:
    document, score, marked = prepared(corpus("bach/bwv846"))
    plain = engrave(document, score, marked, replace(Style(), labels="none", greying=False), "a4")
    text = "".join(plain.pages)
    assert '<text class="label"' not in text
    assert 'class="bracket"' in text
    assert Style().grey not in text


def test_blank_labels_leave_the_line_whole_and_room_to_write() -> None:
    document, score, marked = prepared(corpus("schubert/Lindenbaum"))
    blank = engrave(document, score, marked, load_style("worksheet"), "a4")
    assert '<text class="label"' not in "".join(blank.pages)
    assert "Write on each bracket" in blank.pages[0]
    others = [box for child in margin_of(etree.fromstring(layer(blank.pages[0], False).encode())) for box in boxes_of(child)]
    sides = {mark.id: mark.side for mark in marked.marks}
    for figure in margin_of(etree.fromstring(blank.pages[0].encode())):
        if "figure" not in figure.get("class", "").split():
            continue
        lines = [tuple(map(float, each)) for each in re.findall(r"M([\d.]+) ([\d.]+) L([\d.]+) ([\d.]+)", figure[0].get("d"))]
        left, right = min(line[0] for line in lines), max(line[2] for line in lines)
        (height,) = {line[1] for line in lines if line[1] == line[3]}
        drawn = sum(line[2] - line[0] for line in lines if line[1] == line[3])
        up, down = (450.0, -15.0) if sides[figure.get("data-figure")] == "above" else (-15.0, 450.0)
        assert not any(box.meets(Box(left + 20, height - up, right - 20, height + down)) for box in others)
        assert drawn > 0.8 * (right - left) or "alberti-bass" in figure.get("class", "")


def test_note_names_stand_at_the_anchors() -> None:
    document, score, marked = prepared(corpus("bach/bwv846"))
    done = engrave(document, score, marked, Style(note_names_on_anchors=True), "a4", language="de")
    names = [
        "".join(group.itertext()).strip()
        for page in done.pages
        for group in etree.fromstring(page.encode()).iter(SVG + "g")
        if "note-name" in group.get("class", "").split()
    ]
    anchors = [note for part in score.parts for note in part.notes if note.number in marked.anchors]
    assert len(names) == len(anchors)
    assert names.count("H") == sum(note.pitch.step == "B" and not note.pitch.alter for note in anchors)
    assert sum(collisions(done.pages[:1], "a4")) == 0


def test_papers() -> None:
    assert {"a4", "letter"} <= set(PAPERS)
    assert 'width="215.9mm" height="279.4mm"' in engraving(corpus("bach/bwv846"), paper="letter").pages[0]
    with pytest.raises(UsageError, match="quarto"):
        paper_of("quarto")
