"""The cover is the true optimum: checked against trying every subset, on small random lines."""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import combinations

import pytest

from annotator import cover
from annotator.figures.figure import Figure
from annotator.score import Note, key_of, pitch_of

KEY = key_of(0)


def note(number: int, tick: int) -> Note:
    return Note(
        number=number, id=f"n{number}", pitch=pitch_of("C", 0, 4), onset=Fraction(tick), duration=Fraction(1), tick=tick, ticks=1,
        part="P1", bar=0, staff=1, voice="1", key=KEY,
    )  # fmt: skip


def figure(notes: list[Note], dark: int, kind: str = "scale-run") -> Figure:
    return Figure(kind, "P1", 1, "1", "right", tuple((n,) for n in notes), tuple(notes[:dark]))


def random_candidates(seed: int, count: int, voices: int) -> list[Figure]:
    """Intervals of one or several voices, and some figures that pass between voices."""
    chance = random.Random(seed)
    notes = [[note(100 * voice + tick + 1, tick) for tick in range(12)] for voice in range(voices)]
    found = []
    for _ in range(count):
        start = chance.randrange(9)
        stop = min(12, start + chance.randrange(3, 9))
        if voices > 1 and chance.random() < 0.3:
            members = [notes[chance.randrange(voices)][tick] for tick in range(start, stop)]
        else:
            members = notes[chance.randrange(voices)][start:stop]
        kinds = [kind.name for kind in cover.KINDS if not kind.repeat and not kind.harmony]
        found.append(figure(members, chance.randrange(0, min(3, len(members) - 1)), chance.choice(kinds)))
    return [f for f in found if cover.saving(f) > 0]


def total(figures: tuple[Figure, ...] | list[Figure]) -> tuple[int, ...]:
    return tuple(sum(values) for values in zip((0, 0, 0), *(cover.worth(f) for f in figures), strict=True))


def brute_force(figures: list[Figure]) -> tuple[int, ...]:
    best = (0, 0, 0)
    for size in range(1, len(figures) + 1):
        for subset in combinations(figures, size):
            numbers = [n.number for f in subset for n in f.struck]
            if len(numbers) == len(set(numbers)):
                best = max(best, total(subset))
    return best


@pytest.mark.parametrize("voices", [1, 2, 3])
@pytest.mark.parametrize("seed", range(40))
def test_the_cover_saves_as_much_as_the_best_of_all_subsets(seed: int, voices: int) -> None:
    candidates = [figure for _, figure in cover._in_order(random_candidates(seed, 11, voices))]
    assert total(cover.choose(candidates)) == brute_force(candidates)


@pytest.mark.parametrize("seed", range(40))
def test_the_cover_of_the_lawful_is_the_best_of_the_lawful(seed: int) -> None:
    chance = random.Random(seed)
    candidates = [figure for _, figure in cover._in_order(random_candidates(seed, 11, 2))]
    lawful = [figure for figure in candidates if chance.random() < 0.6]
    chosen = cover.choose(candidates, lambda figure: any(figure is one for one in lawful))
    assert all(any(figure is one for one in lawful) for figure in chosen)
    assert total(chosen) == brute_force(lawful)


@pytest.mark.parametrize("seed", range(40))
def test_components_are_the_figures_that_hang_together(seed: int) -> None:
    claims = cover.claim_notes(cover._in_order(random_candidates(seed, 5 + seed // 2, 3)))
    apart = [{claim.place} for claim in claims]
    for one, other in combinations(claims, 2):
        if set(one.numbers) & set(other.numbers):
            joined = [group for group in apart if {one.place, other.place} & group]
            apart = [group for group in apart if group not in joined] + [set().union(*joined)]
    components = cover.components(claims)
    assert sorted([claim.place for claim in group] for group in components) == sorted(
        [claim.place for claim in claims if claim.place in group] for group in apart
    )


@pytest.mark.parametrize("seed", range(10))
def test_bits_are_the_notes(seed: int) -> None:
    for one, other in combinations(cover.claim_notes(cover._in_order(random_candidates(seed, 20, 3))), 2):
        assert one.first <= other.first
        assert one.bits.bit_count() == len(one.numbers)
        assert (one.bits >> other.first - one.first & other.bits).bit_count() == len(set(one.numbers) & set(other.numbers))


@pytest.mark.parametrize("seed", range(10))
def test_the_cover_does_not_depend_on_the_order_of_the_candidates(seed: int) -> None:
    candidates = random_candidates(seed, 30, 2)
    chosen = cover.choose(candidates)
    assert chosen
    for turn in range(5):
        random.Random(turn).shuffle(candidates)
        assert cover.choose(candidates) == chosen


def test_no_note_is_in_two_figures() -> None:
    for seed in range(20):
        numbers = [n.number for f in cover.choose(random_candidates(seed, 40, 3)) for n in f.struck]
        assert numbers
        assert len(numbers) == len(set(numbers))


def test_of_two_that_save_the_same_the_longer_one_is_shown() -> None:
    notes = [note(i + 1, i) for i in range(8)]
    short, long = figure(notes[:5], 1), figure(notes, 4)
    assert cover.saving(short) == cover.saving(long)
    assert cover.choose([short, long]) == (long,)


def test_of_two_equal_ones_the_earlier_in_the_vocabulary_is_shown() -> None:
    notes = [note(i + 1, i) for i in range(6)]
    run, other = figure(notes, 2, "scale-run"), figure(notes, 2, "arpeggio")
    assert cover.choose([other, run]) == (run,)


def test_of_two_that_are_worth_the_same_the_one_that_begins_first_is_shown() -> None:
    notes = [note(i + 1, i) for i in range(9)]
    early, late = figure(notes[:6], 1), figure(notes[3:], 1)
    assert cover.worth(early) == cover.worth(late)
    assert cover.choose([late, early]) == (early,)


def test_a_figure_that_saves_nothing_is_not_shown() -> None:
    notes = [note(i + 1, i) for i in range(5)]
    assert cover.choose([figure(notes, 4)]) == ()


def test_a_label_must_save_as_many_notes_as_are_asked_for() -> None:
    grey = 3
    shown = figure([note(i + 1, i) for i in range(5)], 5 - grey)
    assert [cover.choose([shown], saves=saves) != () for saves in (1, 2, 3, 4)] == [True, True, True, False]


def test_a_named_accompaniment_keeps_its_notes_from_a_repeat_that_would_save_more() -> None:
    notes = [note(i + 1, i) for i in range(8)]
    harmony, repeat = figure(notes, 3, "alberti-bass"), figure(notes, 0, "repeated-group")
    assert cover.choose([repeat, harmony]) == (harmony,)
    assert cover.choose([repeat]) == (repeat,)
