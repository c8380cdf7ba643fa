"""Blocks of a page: rows that fit, columns that end alike, pages where one is not enough, notes with their ledger lines."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from lxml import etree

from annotator.music.score import Clef, ledger_lines, pitch_of
from annotator.pages.paper import paper_of
from annotator.pages.svg import SVG
from annotator.products.handout.blocks import (
    FAR,
    GAP,
    GREY,
    INDENT,
    BarCount,
    Chart,
    Compass,
    Extreme,
    Frame,
    Row,
    draw_all,
    flow,
    height_of,
    place_on_staff,
)
from annotator.products.handout.sheet import BODY, SMALL_ITALIC, Letters, Sheet


@dataclass(frozen=True)
class Brick:
    tall: float

    def draw(self, sheet: Sheet, x: float, y: float, width: float) -> float:
        sheet.box(x, y, width, self.tall)
        return y + self.tall


FRAME = Frame((0.0, 110.0), 100.0, 50.0, 5000.0)


def test_columns_end_alike_and_keep_the_order() -> None:
    placed = flow([Brick(tall) for tall in (1000, 1000, 1000, 3000)], FRAME)
    assert [(x, y) for _, x, y in placed] == [(0.0, 50.0), (0.0, 1050.0 + GAP), (0.0, 2050.0 + 2 * GAP), (110.0, 50.0)]
    sheet = Sheet(paper_of("a4"))
    draw_all(placed, sheet, 100.0)
    assert sheet.top == 3050.0 + 2 * GAP


def test_what_does_not_fit_is_left() -> None:
    assert [(x, y) for _, x, y in flow([Brick(4000)] * 3 + [Brick(9000)], FRAME)] == [(0.0, 50.0), (110.0, 50.0)]
    assert [(x, y) for _, x, y in flow([Brick(9000)] * 3, FRAME)] == [(0.0, 50.0), (110.0, 50.0)], "taller than any column"
    assert flow([], FRAME) == []


@pytest.mark.parametrize("width", [3000.0, 6000.0, 9000.0])
def test_no_line_of_a_row_is_wider_than_its_column(width: float) -> None:
    row = Row("broken chord, left hand: C, Am7, D7/F♯, G7, Cmaj7/B, F♯°7, Bbmaj9sus4#11b13withoutspaces", "bars 1–4, 6–9, 12, 18–24")
    lines = row.lines(width)
    assert " ".join(left for left, _ in lines if left).split() != [] and lines[-1][1].endswith("18–24")
    for left, right in lines:
        both = FAR if left and right else 0.0
        assert INDENT + BODY.width(left) + both + SMALL_ITALIC.width(right) <= width


def test_wrapping_loses_no_letter() -> None:
    text = "Read the first note, each turning point and the last; Donaudampfschifffahrtsgesellschaft"
    letters = Letters(350.0)
    lines = letters.wrapped(text, 2500.0)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert all(letters.width(line) <= 2500.0 for line in lines)


G, F = Clef("G", 2), Clef("F", 4)


@pytest.mark.parametrize(
    ("name", "clef", "ottava", "place", "ledgers"),
    [
        ("E4", G, 0, 0, ()),
        ("C4", G, 0, -2, (-2,)),
        ("F5", G, 0, 8, ()),
        ("A5", G, 0, 10, (10,)),
        ("C6", G, 0, 12, (10, 12)),
        ("C7", G, 1, 12, (10, 12)),
        ("C5", Clef("G", 2, 1), 0, -2, (-2,)),
        ("C4", F, 0, 10, (10,)),
        ("G2", F, 0, 0, ()),
        ("C2", F, 0, -4, (-2, -4)),
        ("C4", Clef("C", 3), 0, 4, ()),
    ],
)
def test_notes_stand_where_they_are_written(name: str, clef: Clef, ottava: int, place: int, ledgers: tuple[int, ...]) -> None:
    """Source: where the lines of the clefs stand, as in any primer of notation."""
    extreme = Extreme("right", pitch_of(name[0], 0, int(name[1])), clef, ottava, "1")
    assert place_on_staff(extreme) == place
    assert tuple(ledger_lines(place)) == ledgers


def test_the_compass_draws_clef_note_accidental_and_ledger_lines_within_its_height() -> None:
    extremes = (Extreme("right", pitch_of("A", -1, 3), G, 0, "4"), Extreme("right", pitch_of("E", 0, 7), G, 1, "9"))
    block = Compass("Lowest and highest", extremes, "en")
    sheet = Sheet(paper_of("a4"))
    block.draw(sheet, 1000.0, 2000.0, 9000.0)
    root = etree.fromstring(sheet.to_svg().encode())
    texts = [text.text for text in root.iter(SVG + "text")]
    music = [ord(text) for text in texts if text and ord(text[0]) >= 0xE000]
    assert music == [0xE050, 0xE0A2, 0xE260, 0xE050, 0xE0A2, 0xE511], "clef, note, flat; clef, note, 8va"
    assert "A♭, bar 4" in texts and "E, bar 9" in texts
    ledgers = len(ledger_lines(place_on_staff(extremes[0]))) + len(ledger_lines(place_on_staff(extremes[1])))
    assert len(list(root.iter(SVG + "path"))) == 10 + ledgers == 10 + 2 + 3
    heights = [float(text.get("y")) for text in root.iter(SVG + "text")]
    assert min(heights) > 2000.0 and max(heights) <= 2000.0 + height_of(block, 9000.0)


def test_columns_of_the_chart_are_as_high_as_the_counts() -> None:
    counts = tuple(BarCount(str(n), notes, dark) for n, (notes, dark) in enumerate([(12, 3), (6, 6), (0, 0), (8, 0)], 1))
    block = Chart("Bar by bar", "26 notes, 9 to read", counts, "en")
    sheet = Sheet(paper_of("a4"))
    block.draw(sheet, 1000.0, 2000.0, 18000.0)
    root = etree.fromstring(sheet.to_svg().encode())
    boxes = [(float(box.get("height")), box.get("fill")) for box in root.iter(SVG + "rect")]
    columns = [box for box in boxes if box[1] != "none"][2:]  # the first two explain the colours
    grey = [height for height, fill in columns if fill == GREY]
    black = [height for height, fill in columns if fill == "#000000"]
    assert [round(height * 12 / block.high) for height in grey] == [9, 0, 8]
    assert [round(height * 12 / block.high) for height in black] == [3, 6, 0]


def test_a_long_piece_has_a_chart_of_several_even_rows() -> None:
    counts = tuple(BarCount(str(n), 4, 2) for n in range(1, 101))
    assert [len(row) for row in Chart("", "", counts, "en").rows] == [34, 34, 32]
    assert Chart("", "", (), "en").rows == []
