import random

import pytest
from lxml import etree

from annotator.musicxml.places import NEVER, levels_of, number_brackets, source_brackets


@pytest.mark.parametrize("staves", range(1, 17))
def test_the_ranges_of_the_staves_do_not_meet(staves: int) -> None:
    ranges = [levels_of(staff, staves) for staff in range(1, staves + 1)]
    numbers = [number for levels in ranges for number in levels]
    assert all(ranges) and len(set(numbers)) == len(numbers) and set(numbers) <= set(range(1, 17))


def test_there_is_nothing_beyond_sixteen() -> None:
    assert not levels_of(17, 20)
    upper, lower = levels_of(1, 2), levels_of(2, 2)
    assert sorted((*upper, *lower)) == [*range(1, 17)] and len(upper) == len(lower)
    assert max(*upper[:4], *lower[:5]) == 9, "MuseScore 3 drops brackets with numbers above 9: measured"


@pytest.mark.parametrize("seed", range(50))
def test_what_overlaps_has_different_numbers(seed: int) -> None:
    chance = random.Random(seed)
    starts = [chance.randrange(0, 200) for _ in range(60)]
    wanted = [((start, start + chance.randrange(1, 25)), levels_of(chance.randint(1, 2), 2)) for start in starts]
    taken = {1: [(10, 20), (30, 60)], 9: [(0, NEVER)]}
    numbers = number_brackets(wanted, taken)
    used: dict[int, list[tuple[int, int]]] = {number: list(spans) for number, spans in taken.items()}
    for (span, levels), number in zip(wanted, numbers, strict=True):
        if number is not None:
            assert number in levels
            assert all(other[1] < span[0] or span[1] < other[0] for other in used.get(number, []))
            used.setdefault(number, []).append(span)
    assert numbers.count(None) < 60 and 9 not in numbers


def test_only_where_a_range_is_full_there_is_none() -> None:
    wanted = [((0, 9), levels_of(1, 2))] * 10 + [((10, 11), levels_of(1, 2))]
    assert number_brackets(wanted, {}) == [1, 2, 3, 4, 10, 11, 12, 13, None, None, 1]


def brackets(*ends: str, bars: int = 1) -> etree._Element:
    """Return a part with notes (``.``) and bracket ends (``<`` starts, ``>`` stops, a number behind) in bars."""
    written = {".": "<note/>", "<": '<direction><bracket type="start" number="{}"/></direction>'}
    written[">"] = written["<"].replace("start", "stop")
    inner = "".join(f"<measure>{''.join(written[e[0]].format(e[1:]) for e in end.split())}</measure>" for end in ends)
    return etree.fromstring(f'<score-partwise><part id="P1">{inner}</part></score-partwise>')


def test_where_the_brackets_of_the_source_are_open() -> None:
    assert source_brackets(brackets(". <1 . . >1 . <2 . >2")) == {"P1": {1: [(3, 8)], 2: [(9, 12)]}}
    assert source_brackets(brackets(". <3 .", ". >3")) == {"P1": {3: [(3, 8)]}}


def test_a_number_whose_stop_comes_before_its_start_is_left_alone() -> None:
    """Other programs draw such a bracket on to the next stop, or to the end."""
    assert source_brackets(brackets(". >1 . . <1 .")) == {"P1": {1: [(0, NEVER)]}}
    assert source_brackets(brackets(". >1 .", ". <1 . >1")) == {"P1": {1: [(0, NEVER)]}}


def test_a_bracket_never_closed_is_open_to_the_end() -> None:
    assert source_brackets(brackets(". . <1 . <1 .")) == {"P1": {1: [(5, NEVER)]}}


def test_no_brackets_no_spans() -> None:
    assert source_brackets(brackets(". .")) == {}
