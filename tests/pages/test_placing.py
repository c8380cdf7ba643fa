"""Brackets find a place: the wanted one where it is free, else the nearest; neighbours are made level."""

from __future__ import annotations

import random

from annotator.pages.boxes import Box
from annotator.pages.placing import Field, Piece, place

UNIT = 10.0
"""The engraver's unit: 40 is kept clear of where there is room, 14 at least, and heights up to 280 apart are made level."""


def piece(left: float, right: float, wanted: float, outward: int = -1, staff: int = 1) -> Piece:
    inner = wanted + 500 if outward < 0 else wanted - 500
    boxes = (Box(left, -10, right, 130), Box(left + 100, -100, right - 100, 90))
    return Piece((0, 0, staff), boxes, boxes, wanted, inner, outward)


def page(*boxes: Box) -> Field:
    field = Field(-10_000.0, 10_000.0)
    field.add(boxes)
    return field


def test_a_free_place_is_taken_as_wanted() -> None:
    one = piece(0, 1000, 500)
    assert place([one], page(Box(0, 900, 1000, 950)), UNIT) == 0
    assert one.y == 500


def test_an_obstacle_is_kept_clear_of_by_the_padding() -> None:
    one = piece(0, 1000, 500)
    assert place([one], page(Box(400, 480, 600, 560)), UNIT) == 0
    assert one.y == 480 - 130 - 40  # outward, the hooks above the obstacle by the wide padding


def test_below_the_staff_outward_is_down() -> None:
    one = piece(0, 1000, 500, outward=1)
    assert place([one], page(Box(0, 300, 1000, 560)), UNIT) == 0
    assert one.y == 560 + 100 + 40


def test_two_pieces_never_meet() -> None:
    rng = random.Random(5)
    pieces = [piece(x, x + rng.randrange(300, 2500), 500 + rng.randrange(-200, 200)) for x in range(0, 12_000, 400)]
    obstacles = [Box(x, y, x + 150, y + 60) for x in range(0, 14_000, 333) for y in (rng.randrange(-500, 900),)]
    assert place(pieces, page(*obstacles), UNIT) == 0
    for index, one in enumerate(pieces):
        for box in one.placed():
            assert not any(box.meets(other) for other in obstacles)
            assert not any(box.meets(other) for each in pieces[index + 1 :] for other in each.placed())


def test_neighbours_stand_on_the_outermost_level() -> None:
    pieces = [piece(0, 900, 500), piece(1000, 1900, 420), piece(2000, 2900, 460)]
    assert place(pieces, page(), UNIT) == 0
    assert [each.y for each in pieces] == [420, 420, 420]


def test_a_neighbour_whose_way_is_blocked_stays_where_it_is() -> None:
    pieces = [piece(0, 900, 500), piece(1000, 1900, 420)]
    assert place(pieces, page(Box(300, 245, 600, 345)), UNIT) == 0
    assert [each.y for each in pieces] == [500, 420]


def test_what_has_no_place_is_counted_and_not_dropped() -> None:
    one = piece(0, 1000, 500)
    assert place([one], page(Box(0, -10_000, 1000, 10_000)), UNIT) == 1
    assert (one.y, one.free) == (500, False)


def test_what_has_no_place_for_all_takes_what_it_needs_at_least() -> None:
    one = piece(0, 1000, 500)
    one.boxes, tight = (Box(0, -400, 1000, 130), Box(0, -10, 1000, 130)), page(Box(0, -10_000, 1000, 350), Box(0, 680, 1000, 10_000))
    one.at_least = one.boxes[1:]
    assert place([one], tight, UNIT) == 0
    assert (one.boxes, one.y) == (one.at_least, 500)


def test_the_order_given_does_not_matter() -> None:
    def places(order: int) -> dict[float, float]:
        pieces = [piece(x, x + 900, 500 - x / 50) for x in range(0, 5000, 300)]
        random.Random(order).shuffle(pieces)
        place(pieces, page(Box(700, 300, 1200, 520)), UNIT)
        return {each.left: each.y for each in pieces}

    assert places(1) == places(2) == places(3)
