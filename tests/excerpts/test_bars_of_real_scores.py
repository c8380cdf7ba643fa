"""Excerpts of real scores: exactly the notes of those bars, valid, in force what was in force, read by another program alike."""

from __future__ import annotations

import random
import warnings
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from excerpts.cut_scores import found, wanted
from scores_at_hand import EXAMPLES, NO_LOCAL_SCORES, keyboard_corpus, local_scores
from writing.schema import is_valid

from annotator.music.score import Score
from annotator.musicxml.splicing import serialise
from annotator.products.excerpts import Excerpt, excerpt
from annotator.products.excerpts.selection import bar_range
from annotator.reading import Document, load, read_document

HANDS = ("both", "right", "left")
SCORES = [*sorted(EXAMPLES.glob("*.musicxml")), *keyboard_corpus()]


@cache
def whole(path: Path) -> tuple[Document, Score, bool]:
    document = load(path)
    return document, read_document(document), is_valid(document.tree)


def ranges(path: Path, count: int, longest: int = 8) -> Iterator[tuple[str, str]]:
    """Yield printed bar numbers, the same on every run; the first bars, the last and some between."""
    score = whole(path)[1]
    numbers = [bar.number for bar in max((part for part in score.parts if part.keyboard), key=lambda part: len(part.bars)).bars]
    chance = random.Random(path.name)
    yield numbers[0], numbers[min(3, len(numbers) - 1)]
    for _ in range(count - 1):
        first = chance.randrange(len(numbers))
        last = min(len(numbers) - 1, first + chance.randrange(longest))
        if numbers[last] in numbers[first:]:
            yield numbers[first], numbers[last]


def check(path: Path, first: str, last: str, hand: str) -> Excerpt:
    document, score, valid = whole(path)
    made = excerpt(document, score, first, last, hand)
    assert made.score.parts
    for part in made.score.parts:
        origin = next(each for each in score.parts if each.id == part.id)
        assert found(made, part) == wanted(score, origin, first, last, hand), (path.name, first, last, hand)
        bars = bar_range([bar.number for bar in origin.bars], first, last)
        before = [(bar.number, bar.key.alters, bar.time) for bar in origin.bars[bars.start : bars.stop]]
        assert [(bar.number, bar.key.alters, bar.time) for bar in part.bars] == before
        assert all(note.number in made.notes.values() for note in part.notes)
    assert is_valid(made.document.tree) or not valid, (path.name, first, last, hand)
    assert not made.score.repairs or score.repairs, made.score.repairs
    return made


@pytest.mark.parametrize("path", SCORES, ids=lambda path: path.stem)
def test_an_excerpt_has_exactly_the_notes_of_its_bars(path: Path) -> None:
    before = serialise(whole(path)[0])
    for first, last in ranges(path, 4):
        for hand in HANDS:
            check(path, first, last, hand)
    assert serialise(whole(path)[0]) == before


@pytest.mark.slow
@pytest.mark.skipif(not local_scores(), reason=NO_LOCAL_SCORES)
@pytest.mark.parametrize("path", local_scores(), ids=lambda path: path.stem)
def test_excerpts_of_the_local_scores(path: Path) -> None:
    for first, last in ranges(path, 12):
        for hand in HANDS:
            check(path, first, last, hand)


def rounded(quarters: Fraction | float) -> int:
    """Return a time in 48ths of a quarter note: one file has triplets in durations that can only round."""
    return round(48 * quarters)


def music21_notes(data: bytes) -> Counter[tuple[int, ...]]:
    """Return key, onset and duration of every note that music21 hears in a score of one part."""
    from music21 import converter

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its own deprecations
        stream: Any = converter.parseData(data, format="musicxml")
        heard: Counter[tuple[int, ...]] = Counter()
        for part in stream.parts:
            for sounding in part.recurse().notes:
                if sounding.duration.isGrace:
                    continue
                onset, length = rounded(sounding.getOffsetInHierarchy(part)), rounded(sounding.quarterLength)
                heard.update((pitch.midi, onset, length) for pitch in getattr(sounding, "pitches", ()))
    return heard


@pytest.mark.parametrize("path", SCORES, ids=lambda path: path.stem)
def test_music21_hears_the_same_notes(path: Path) -> None:
    for place, (first, last) in enumerate(ranges(path, 3, 4)):
        made = check(path, first, last, HANDS[place % 3])
        expected: Counter[tuple[int, ...]] = Counter()
        for part in made.score.parts:
            for note in part.notes:
                if not note.grace:
                    onset, length = (rounded(Fraction(ticks, made.score.resolution)) for ticks in (note.tick, note.ticks))
                    expected[(int(note.pitch.semitone), onset, length)] += 1
        heard = music21_notes(serialise(made.document))
        if made.score.repairs:  # durations that were repaired in reading are told otherwise by the other program
            heard, expected = (Counter(each[:2] for each in notes.elements()) for notes in (heard, expected))
        assert heard == expected, (path.name, first, last)
