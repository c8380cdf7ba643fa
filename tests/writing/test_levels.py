import random

import pytest

from annotator.musicxml.places import levels_of, number_brackets


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
    wanted = [(chance.choice("PQ"), (start, start + chance.randrange(1, 25)), levels_of(chance.randint(1, 2), 2)) for start in starts]
    used: dict[tuple[str, int], list[tuple[int, int]]] = {}
    for (part, span, levels), number in zip(wanted, number_brackets(wanted), strict=True):
        if number is not None:
            assert number in levels
            assert all(other[1] < span[0] or span[1] < other[0] for other in used.get((part, number), []))
            used.setdefault((part, number), []).append(span)
    assert used


def test_only_where_a_range_is_full_there_is_none() -> None:
    wanted = [("P", (0, 9), levels_of(1, 2))] * 10 + [("P", (10, 11), levels_of(1, 2)), ("Q", (0, 9), levels_of(1, 2))]
    assert number_brackets(wanted) == [1, 2, 3, 4, 10, 11, 12, 13, None, None, 1, 1]
