"""A bar that is too short for the words on its bracket is made wider, and the engraver does what is relied on here."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from lxml import etree
from marked_pages import SVG, corpus, prepared, wider_than_their_bracket

from annotator.marks.style import Style, load_style
from annotator.pages import engraving, fonts
from annotator.pages.mei import LETTER, LETTER_WIDTH, POINTS, Stretch, widen, with_more
from annotator.pages.systems import Strip

RAG = "joplin/maple_leaf_rag"
POLONAISE = "schumann_clara/polonaise_op1n1"
MEI = "http://www.music-encoding.org/ns/mei"


def test_a_stretch_that_stays_too_narrow_asks_for_more() -> None:
    first = Stretch(3, 7, 1, "above", 800.0, 200.0)
    known = with_more({}, [first])
    again = with_more(known, [replace(first, missing=50.0)])
    assert known == {(3, 7): first}
    assert again[3, 7].width == 850.0
    assert again[3, 7].missing == 250.0


def test_the_bar_counts_as_so_much_wider_and_gets_two_unseen_symbols() -> None:
    bars = "".join(f'<measure><note xml:id="note-{number}"/><note xml:id="note-{number + 1}"/></measure>' for number in (1, 3))
    mei = etree.fromstring(f'<section xmlns="{MEI}">{bars}</section>')
    stretches = with_more({}, [Stretch(3, 4, 2, "below", 800.0, 200.0)])
    assert Strip({1: 0, 2: 0, 3: 1, 4: 1}, (0.0, 1000.0, 2500.0), 0.0).widths(stretches.values()) == [1000.0, 1700.0]
    widen(mei, stretches)
    symbols = [(each.get("startid"), each.get("staff"), each.get("place"), "".join(each.itertext())) for each in mei.iter(f"{{{MEI}}}harm")]
    assert symbols == [("#note-3", "2", "below", LETTER * 8), ("#note-4", "2", "below", LETTER)]


def test_the_letters_are_as_wide_as_said() -> None:
    assert fonts.text_width(LETTER, POINTS * 35.28) == pytest.approx(LETTER_WIDTH, rel=0.01)


def test_no_text_is_wider_than_its_bracket(monkeypatch: pytest.MonkeyPatch) -> None:
    style = replace(load_style("default"), label_size=340.0)  # large letters, so that some bar is too short
    widened_pages = engraving.engrave(*prepared(corpus(POLONAISE)), style, "a4")
    monkeypatch.setattr(engraving, "WIDENINGS", 0)
    as_they_are = engraving.engrave(*prepared(corpus(POLONAISE)), style, "a4")
    assert as_they_are.narrow
    assert any(wider_than_their_bracket(page) for page in as_they_are.pages)
    assert widened_pages.narrow == 0
    assert not any(wider_than_their_bracket(page) for page in widened_pages.pages)
    assert not any("harm" in each.get("class", "").split() for page in widened_pages.pages for each in _groups(page))


def _groups(page: str) -> list[etree._Element]:
    return list(etree.fromstring(page.encode()).iter(SVG + "g"))


def test_a_single_instrument_has_no_name_at_its_staves_and_several_have() -> None:
    alone = engraving.engrave(*prepared(corpus(RAG)), Style(), "a4").pages
    assert not re.search(r"Pno\.|Piano", "".join(alone))
    together = engraving.engrave(*prepared(corpus("schubert/Lindenbaum")), Style(), "a4").pages
    assert "label" in {name for page in together for each in _groups(page) for name in each.get("class", "").split()}
