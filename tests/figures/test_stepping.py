"""Steps as a text: what each kind calls a step is what the rules say, note by note; legs are the longest there are."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from figures.lines_from_text import line_of
from figures.random_lines import random_lines

from annotator.figures.legs import Leg, legs
from annotator.figures.stepping import BY_LETTER, BY_SEMITONE, CONJUNCT, SMALL, steps_of
from annotator.lines import Event, Line

Rule = Callable[[int, int], int]
"""From a way in letters and in semitones: 1 for a step up, -1 for one down, else 0."""


def sign(way: int) -> int:
    return (way > 0) - (way < 0)


RULES: dict[str, Rule] = {
    BY_LETTER: lambda letters, semitones: letters if abs(letters) == 1 else 0,
    CONJUNCT: lambda letters, semitones: sign(semitones) if letters == sign(semitones) and 0 < abs(semitones) < 4 else 0,
    SMALL: lambda letters, semitones: sign(semitones) if letters * sign(semitones) in (0, 1, 2) and 0 < abs(semitones) < 4 else 0,
    BY_SEMITONE: lambda letters, semitones: semitones if abs(semitones) == 1 and abs(letters) < 2 else 0,
}


def step(before: Event, event: Event, rule: Rule) -> str:
    if len(before.notes) > 1 or len(event.notes) > 1 or not event.joined:
        return "-"
    low, high = before.notes[0].pitch, event.notes[0].pitch
    return ".ud"[rule(high.diatonic - low.diatonic, int(high.semitone - low.semitone))]


def plain(line: Line, reading: str) -> str:
    return "".join(step(before, event, RULES[reading]) for before, event in zip(line.events, line.events[1:], strict=False))


@pytest.mark.parametrize("reading", RULES)
def test_each_step_is_what_the_rule_of_its_reading_says(reading: str) -> None:
    for line in random_lines(60):
        assert steps_of(line, reading) == plain(line, reading)


@pytest.mark.parametrize("reading", RULES)
@pytest.mark.parametrize("before", ["C4", "Cb4", "C##4", "E#4", "B3"])
def test_each_pair_of_spellings(reading: str, before: str) -> None:
    others = [letter + alter + octave for letter in "CDEFGAB" for alter in ("", "#", "b", "##", "bb") for octave in "34"]
    line = line_of(" ".join(f"{before} {other}" for other in others))
    assert steps_of(line, reading) == plain(line, reading)


def test_a_piece_of_a_line_has_its_steps() -> None:
    for line in random_lines(5):
        for first, stop in ((0, 1), (0, 9), (5, 6), (7, 30), (len(line) - 3, len(line))):
            piece = line.slice(first, stop).slice(0, 50)
            assert steps_of(piece, CONJUNCT) == plain(piece, CONJUNCT)


def longest_legs(line: Line, steps: str, fewest: int) -> Iterator[Leg]:
    """Yield the legs that no longer one holds: every pair of events is tried."""
    found = []
    for first in range(len(line)):
        for last in range(first + fewest - 1, len(line)):
            inner = [event.ticks for event in line.events[first:last]]
            one_way = set(steps[first:last]) in ({"u"}, {"d"})
            if one_way and len(set(inner)) == 1 and line.events[last].ticks >= inner[0]:
                found.append((first, last, 1 if steps[first] == "u" else -1))
    for one in found:
        if not any(other != one and other[0] <= one[0] and one[1] <= other[1] for other in found):
            yield one


@pytest.mark.parametrize("fewest", [4, 6])
def test_legs_are_the_longest(fewest: int) -> None:
    count = 0
    for line in random_lines(60):
        for reading in (CONJUNCT, SMALL, BY_SEMITONE):
            steps = steps_of(line, reading)
            found = list(legs(line, steps, fewest))
            assert found == list(longest_legs(line, steps, fewest))
            count += len(found)
    assert count > 20
