"""Beams and durations of random notes, held against what the conventions say. And what a note is."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import FrozenInstanceError, fields

import pytest

from annotator.music.score import Note, Score

Make = Callable[..., str]
Reader = Callable[..., Score]
SEEDS = range(60)


def plain_beams(words: Sequence[tuple[str, str, bool]]) -> list[int | None]:
    """Return the beam group of each note, given as beam, voice and whether it is a chord member, as the conventions say it."""
    open_groups: dict[str, int] = {}
    found: list[int | None] = []
    count = 0
    for word, voice, chord in words:
        if chord and not word:
            found.append(found[-1] if found else None)
            continue
        if word == "begin" or (word in ("continue", "end") and voice not in open_groups):
            count += 1
            open_groups[voice] = count
        found.append(open_groups[voice] if word in ("begin", "continue", "end") else None)
        if word == "end":
            del open_groups[voice]
    return found


@pytest.mark.parametrize("seed", SEEDS)
def test_beams(score_of: Reader, make_note: Make, seed: int) -> None:
    chance = random.Random(seed)
    kinds = ("", "begin", "continue", "continue", "end", "backward hook", "nonsense")
    words = [(chance.choice(kinds), chance.choice("12"), index > 0 and chance.random() < 0.3) for index in range(16)]
    bar = "".join(
        make_note(before="<chord/>" * chord, after=f"<voice>{voice}</voice>" + f'<beam number="1">{word}</beam>' * bool(word))
        for word, voice, chord in words
    )
    notes = score_of(f"<measure number='1'>{bar}</measure>", divisions=8).parts[0].notes
    assert [note.beam for note in notes] == plain_beams(words)


def test_a_note_read_is_a_note_and_frozen(score_of: Reader, make_note: Make) -> None:
    (note,) = score_of(make_note("C4", 4)).parts[0].notes
    assert type(note) is Note
    assert note == Note(**{each.name: getattr(note, each.name) for each in fields(Note)})
    with pytest.raises(FrozenInstanceError):
        note.tick = 1  # type: ignore[misc]


def test_what_a_note_says_last_counts_and_a_tie_before_tied(score_of: Reader, make_note: Make) -> None:
    """Elements that stand more than once, in any order, with comments between: no file should have them, some have."""
    odd = (
        "<staff>2</staff><!-- c --><voice>7</voice><voice> 3 </voice><type size='cue'>half</type><type>quarter</type>"
        "<beam number='1'>begin</beam><beam number='1'>end</beam><beam number='2'>begin</beam>"
        "<notations><tied type='stop'/></notations><notations><slur/><tied type='start'/></notations><staff>1</staff>"
    )
    first, second = score_of(make_note("C4", 2, after=odd) + make_note("C4", 2, after=odd + "<tie/>")).parts[0].notes
    assert (first.voice, first.staff, first.cue, first.beam) == ("3", 1, False, 1)
    assert (first.tie_start, first.tie_stop, second.tie_start, second.tie_stop) == (True, True, False, False)


def test_a_grace_note_with_a_tuplet_takes_no_time(score_of: Reader, make_note: Make) -> None:
    third = "<type>eighth</type><time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"
    grace = make_note("C4", 5, before="<grace/>", after=third)
    notes = score_of(grace + make_note("D4", 4)).parts[0].notes
    assert [(note.onset, note.duration) for note in notes] == [(0, 0), (0, 4)]
