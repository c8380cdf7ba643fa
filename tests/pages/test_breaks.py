"""Line breaks: even ones of our own, or those of the source."""

from __future__ import annotations

from typing import Any

import pytest
from lxml import etree
from marked_pages import corpus, prepared
from marked_pages import engraving as engraved
from scores_at_hand import CORPUS, EXAMPLES

from annotator.marks.marking import Markings
from annotator.marks.style import Style, load_style
from annotator.pages import engraving, mei
from annotator.pages.engraver import ask, even_pages
from annotator.pages.engraving import engrave
from annotator.reading import load, read_document

POLONAISE = "schumann_clara/polonaise_op1n2"
BREAKING = CORPUS / "schubert" / "Lindenbaum.xml"  # a score that says where its systems begin


def systems(texts: tuple[str, ...]) -> int:
    """Return the number of systems on the pages."""
    return sum(text.count('class="system"') for text in texts)


def test_the_breaks_of_the_source_are_kept_when_asked_for() -> None:
    document = load(BREAKING)
    score = read_document(document)
    told = {
        place
        for part in document.tree.getroot().iter("part")
        for place, measure in enumerate(part.iter("measure"))
        if any("yes" in (each.get("new-system"), each.get("new-page")) for each in measure.iter("print"))
    }
    none = Markings((), frozenset(), frozenset())
    source = engrave(document, score, none, Style(), "a4", breaks="source").pages
    even = engrave(document, score, none, Style(), "a4", breaks="even").pages
    assert systems(source) == len(told | {0})
    assert systems(even) != systems(source)
    assert all(etree.fromstring(page.encode()) is not None for page in (*source, *even))


@pytest.mark.parametrize(
    ("filled", "shared"),
    [
        ((4,), (4,)),
        ((4, 2), (3, 3)),
        ((6, 3), (5, 4)),
        ((6, 5), (6, 5)),
        ((6, 1), (4, 3)),
        ((4, 6, 1), (4, 4, 3)),
        ((3, 6, 1), (3, 4, 3)),
        ((2, 1), (2, 1)),
        ((5, 5, 5, 1), (5, 4, 4, 3)),
    ],
)
def test_a_last_page_that_would_be_half_empty_gets_more(filled: tuple[int, ...], shared: tuple[int, ...]) -> None:
    assert even_pages(filled) == shared
    assert sum(shared) == sum(filled)


@pytest.mark.parametrize("style", ["default", "large-print"])
def test_no_system_stands_alone_on_the_last_page(style: str) -> None:
    done = engraved(corpus(POLONAISE), style, "tablet" if style == "default" else "a4")
    assert done.systems[-1] >= 3
    assert done.systems == tuple(systems((page,)) for page in done.pages)


def test_a_page_is_saved_where_closer_systems_do() -> None:
    done = engraved(EXAMPLES / "sonatina-at-the-open-gate.musicxml")
    assert done.systems == (6,)
    assert (done.crowded, done.narrow) == (0, 0)


@pytest.mark.parametrize(
    ("name", "jobs"),
    [
        ("sonatina-at-the-open-gate", [("import", 0), ("filled", 0), ("filled", 0), ("filled", 1)]),  # the second of CLOSE saves a page
        (POLONAISE, [("import", 0), ("filled", 0), ("filled", 2)]),  # its systems are shared out
        ("joplin/maple_leaf_rag", [("import", 0), ("filled", 3), ("filled", 3)]),  # once more with wider bars
    ],
)
def test_pages_that_are_not_well_filled_are_not_drawn(name: str, jobs: list[tuple[str, int]], monkeypatch: pytest.MonkeyPatch) -> None:
    path = corpus(name) if "/" in name else EXAMPLES / f"{name}.musicxml"
    document, score, marks = prepared(path)
    done: list[tuple[str, int]] = []

    def counted(job: str, *rest: Any, **more: Any) -> dict[str, Any]:
        """Ask as ever, and note how many pages were drawn."""
        answer = ask(job, *rest, **more)
        done.append((job, len(answer.get("pages", ()))))
        return answer

    monkeypatch.setattr(engraving, "ask", counted)
    monkeypatch.setattr(mei, "ask", counted)
    engrave(document, score, marks, load_style("default"), "a4")
    assert done == jobs
