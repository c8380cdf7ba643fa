"""Even runs, in lines and in slices of them, and their groups: compared with what the plain definitions say of random lines."""

import random
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from figures.lines_from_text import line_of, texture_of

from annotator.figures.alberti import detect_alberti_bass
from annotator.figures.arpeggios import detect_arpeggios
from annotator.figures.chord_groups import group_of, sound_of
from annotator.figures.harmony import LEAST, even_runs, row_of, shared_by_voices
from annotator.figures.pattern_chains import SKIP, patterns_of
from annotator.lines import Event, Line
from annotator.settings import Options
from annotator.theory.chords import name_chord

HALF = Fraction(1, 2)


def random_line(rolls: random.Random) -> Line:
    """Return a line of single notes, chords and rests, most of them of one length."""
    words = [rolls.choice(["C4"] * 9 + ["E4", "G4/B4", "r"]) + rolls.choice([""] * 9 + ["*2", "*3"]) for _ in range(80)]
    return line_of(" ".join(words), unit=HALF)


def plain_runs(events: tuple[Event, ...]) -> Iterator[tuple[int, int]]:
    """Yield the even runs of a line as they are defined: joined single notes of one length, and a longer note after them."""
    first = 0
    while first < len(events):
        stop = first + 1
        if events[first].single:
            while stop < len(events) and follows(events, first, stop) and events[stop].ticks == events[first].ticks:
                stop += 1
            longer = stop < len(events) and follows(events, first, stop) and events[stop].ticks > events[first].ticks
            if stop + longer - first >= LEAST:
                yield first, stop + longer
        first = stop


def follows(events: tuple[Event, ...], first: int, place: int) -> bool:
    """Return whether an event can belong to a run that begins at ``first``."""
    return events[place].single and events[place].joined


def test_even_runs_are_what_the_definition_says() -> None:
    rolls = random.Random(1)
    found = 0
    for _ in range(60):
        line = random_line(rolls)
        expected = list(plain_runs(line.events))
        assert [(run.place, run.place + len(run)) for run in even_runs(line)] == expected
        for run in even_runs(line):
            assert run.events == line.events[run.place : run.place + len(run)]
            keys = [int(event.notes[0].pitch.semitone) for event in run.events]
            assert run.steps == [after - before for before, after in pairwise(keys)]
        found += len(expected)
        first, stop = sorted(rolls.sample(range(len(line) + 1), 2))
        part = line.slice(first, stop)
        assert [(run.place - first, run.events) for run in even_runs(part)] == [
            (run.place, run.events) for run in even_runs(replace(part))
        ]
    assert found > 200


def test_what_voices_or_hands_share_is_looked_up_as_it_is_counted() -> None:
    rolls = random.Random(2)
    for _ in range(20):
        turns = [rolls.random() < 0.2 for _ in range(40)]
        low, high = (" ".join("C4" if turn is mine else "r" for turn in turns) for mine in (True, False))
        hand, shared = texture_of("", (low, high)).hands["left"], texture_of(high, low).shared
        assert shared is not None
        for line in (hand, shared):
            row = row_of(line)
            assert row.events == line.events
            for _ in range(40):
                first, stop = sorted(rolls.sample(range(len(row) + 1), 2))
                assert row.shared(first, stop) == shared_by_voices(line, row.events[first:stop])
                kept = [(own.first, own.stop) for own in row.own(line.slice(first, stop))]
                assert kept == [(first, stop)] * (row.shared(first, stop) and stop - first >= LEAST)


def test_a_group_has_the_chord_of_its_notes() -> None:
    rolls = random.Random(4)
    named = 0
    for _ in range(4000):
        line = line_of(" ".join(rolls.choice(["C3", "E4", "G4", "Bb3", "A#4", "D4", "F#2", "B#3", "Cb4"]) for _ in range(4)))
        pitches = [event.notes[0].pitch for event in line.events]
        group = group_of(tuple(sound_of(int(pitch.semitone), pitch.diatonic % 7) for pitch in pitches))
        assert group.keys == tuple(pitch.semitone for pitch in pitches)
        if len({pitch.semitone for pitch in pitches}) == 4:  # of two names for the lowest key the first is taken
            assert group.chord == name_chord(pitches)
            named += group.chord is not None
    assert named > 100


@pytest.mark.parametrize("size", [3, 4, 6, 8])
def test_a_group_comes_again_where_its_contour_does(size: int) -> None:
    rolls = random.Random(size)
    found = legs = 0
    for _ in range(40):
        shape = [rolls.choice(["C4", "E4", "G4", "C6"]) for _ in range(size)]
        line = line_of(" ".join(rolls.choice([*shape, "D4"]) if rolls.random() < 0.1 else shape[i % size] for i in range(80)))
        climbing = line_of(" ".join(f"{step}{octave}" for octave in range(1, 9) for step in "CEG"))
        for row in (row_of(line), row_of(climbing)):
            for phase in range(size):
                places = patterns_of(row).places(size, phase)
                expected = [p for p in range(phase, len(row) - 2 * size + 1, size) if comes_again(row.keys, p, size)]
                assert places == expected
                arpeggios = [place for place in places if patterns_of(row).runs_on(size, place)]
                assert arpeggios == [place for place in places if runs_on(row.keys, place, size)]
                found += len(places)
                legs += len(arpeggios)
    assert found > 500 and legs > 100


def comes_again(keys: tuple[int, ...], place: int, size: int) -> bool:
    """Return whether the group after the one at a place goes up and down as that does."""
    one, other = keys[place : place + size], keys[place + size : place + 2 * size]
    return ways(one) == ways(other)


def ways(keys: tuple[int, ...]) -> list[int]:
    """Return which way some keys go: 1, -1, 0."""
    return [(after > before) - (after < before) for before, after in pairwise(keys)]


def runs_on(keys: tuple[int, ...], place: int, size: int) -> bool:
    """Return whether the group at a place runs on into the next in one direction without a skip."""
    leg = keys[place : place + size + 1]
    return len(set(ways(leg))) == 1 and leg[0] != leg[1] and all(abs(a - b) < SKIP for a, b in pairwise(leg))


@pytest.mark.parametrize("detect", [detect_arpeggios, detect_alberti_bass])
def test_a_slice_gives_what_a_line_of_its_own_would(detect: object) -> None:
    assert callable(detect)
    rolls = random.Random(5)
    pieces = ["C3 E3 G3 C4 E4 G4 C5", "G4 E4 C4 G3 E3", "C3 G3 E3 G3", "C3 G3 E3 G3", "B2 G3 D3 G3", "C4 D4 E4", "F3 A3 C4 Eb4 F4"]
    found = 0
    for _ in range(25):
        line = line_of(" ".join(rolls.choice(pieces) for _ in range(16)), "left", unit=HALF)
        for _ in range(30):
            first, stop = sorted(rolls.sample(range(len(line) + 1), 2))
            part = line.slice(first, stop)
            figures = list(detect(part, Options()))
            assert figures == list(detect(replace(part), Options())), (first, stop)
            found += len(figures)
    assert found > 60
