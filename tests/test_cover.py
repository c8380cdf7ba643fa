"""The cover is the true optimum: checked against trying every subset, on small random lines."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from itertools import combinations

import pytest

from annotator.figures import cover
from annotator.figures.figure import Change, Figure
from annotator.music.chords import Chord
from annotator.music.score import Note, key_of, pitch_of

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
        kinds = [kind.name for kind in cover.KINDS if not kind.harmony]
        found.append(figure(members, chance.randrange(0, min(3, len(members) - 1)), chance.choice(kinds)))
    return [f for f in found if cover.saves_enough(f, cover.FEWEST)]


def total(figures: tuple[Figure, ...] | list[Figure]) -> tuple[int, ...]:
    return tuple(sum(values) for values in zip(cover.NOTHING, *(cover.worth(f) for f in figures), strict=True))


def brute_force(figures: list[Figure]) -> tuple[int, ...]:
    best: tuple[int, ...] = cover.NOTHING
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
    short, long = figure(notes[:5], 1, "repeated-notes"), figure(notes, 4)
    assert cover.worth(short)[0] == cover.worth(long)[0]
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


@pytest.mark.parametrize(("saves", "shown"), [(2, True), (3, True), (4, False)])
def test_a_figure_that_saves_too_few_notes_is_not_shown(saves: int, shown: bool) -> None:
    one = figure([note(i + 1, i) for i in range(5)], 2)
    assert cover.choose([one], saves=saves) == ((one,) if shown else ())


def test_a_chord_that_was_asked_for_is_shown_though_it_saves_one_note() -> None:
    struck = tuple(note(i + 1, 0) for i in range(3))
    one = Figure("block-chord", "P1", 1, "1", "right", (struck,), struck[:2])
    assert cover.choose([one]) == (one,)


def harmony(notes: list[Note], dark: int, chords: int) -> Figure:
    changes = tuple(Change(place, notes[place], Chord("CDEFG"[place], "major", 0, "CDEFG"[place])) for place in range(chords))
    return replace(figure(notes, dark, "alberti-bass"), changes=changes)


def test_each_chord_that_an_accompaniment_names_counts_as_a_note() -> None:
    notes = [note(i + 1, i) for i in range(12)]
    repeat = figure(notes, 0, "repeated-group")
    assert cover.choose([repeat, harmony(notes, 2, 2)]) == (harmony(notes, 2, 2),)
    assert cover.choose([repeat, harmony(notes, 3, 2)]) == (repeat,)


def test_of_two_that_are_worth_the_same_a_named_pattern_goes_before_a_copy_though_it_is_shorter() -> None:
    notes = [note(i + 1, i) for i in range(9)]
    repeat, run = figure(notes, 3, "repeated-group"), figure(notes[:8], 2, "scale-run")
    assert cover.worth(repeat)[0] == cover.worth(run)[0]
    assert cover.choose([repeat, run]) == (run,)


def test_a_moved_copy_costs_one_more() -> None:
    notes = [note(i + 1, i) for i in range(9)]
    moved, repeat = figure(notes, 0, "sequence"), figure(notes, 1, "repeated-group")
    assert cover.worth(moved)[0] == cover.worth(repeat)[0] == 7


@pytest.mark.parametrize("seed", range(10))
def test_beyond_the_bound_the_cover_shares_no_note_and_is_nearly_the_best(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    candidates = random_candidates(seed, 300, 3)
    best = total(cover.choose(candidates))
    monkeypatch.setattr(cover, "MOST_STATES", 4)
    bounded = cover.choose(candidates)
    numbers = [n.number for f in bounded for n in f.struck]
    assert len(numbers) == len(set(numbers))
    assert 0.75 * best[0] <= total(bounded)[0] <= best[0]


def test_many_voices_that_hang_together_take_no_more_than_the_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    most = 0
    forget = cover._forget

    def counting(states: dict[int, cover.State], past: int) -> dict[int, cover.State]:
        nonlocal most
        left = forget(states, past)
        most = max(most, len(left))
        return left

    monkeypatch.setattr(cover, "_forget", counting)
    rows = [[note(100 * voice + tick + 1, tick) for tick in range(24)] for voice in range(12)]
    runs = [figure(row[start : start + 5], 1) for row in rows for start in range(0, 19)]
    across = figure([row[23] for row in rows] + [row[0] for row in rows], 1, "hands-in-octaves")
    chosen = cover.choose([*runs, across])
    assert most <= cover.MOST_STATES
    assert len(chosen) > 12
