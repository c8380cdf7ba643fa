"""Generated copies, of every kind: what must follow is grey, what is new is dark, and where nothing is copied nothing is found.

``COPIES_SEED`` in the environment makes the scores of another seed. ``python tests/generated/copies.py`` makes them anew, with a seed that
it prints, and prints the whole table.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from generated.copies import HEADING, ROWS, Case, cases, grey_ids, judge, told

from annotator.marks.finding import find_figures
from annotator.music.score import Note
from annotator.reading import read

SEED = int(os.environ.get("COPIES_SEED", "20261130"))
COUNT = 8
FOUND = 0.97
BY_CHANCE = 0.01


def report_on(path: Path) -> Mapping[str, Any]:
    return find_figures(read(path)).to_dict()


@pytest.mark.parametrize("row", ROWS)
def test_copies_are_grey_and_what_is_new_is_dark(row: str) -> None:
    count = judge(cases(row, SEED, COUNT), report_on)[row]
    print(f"\nseed {SEED}\n{HEADING}\n{told(row, count)}")
    assert count.new_grey == 0
    assert count.found >= FOUND
    assert row != "control" or count.chance <= BY_CHANCE


def struck(case: Case, folder: Path) -> list[Note]:
    """Return the struck notes of a case as the program reads them, in time order."""
    path = folder / "case.musicxml"
    path.write_text(case.text, encoding="utf-8")
    score = read(path)
    assert score.repairs == ()
    (part,) = score.parts
    return sorted((note for note in part.notes if note.counted), key=lambda note: note.tick)


@pytest.mark.parametrize("row", ROWS)
def test_the_scores_say_what_they_should(row: str, tmp_path: Path) -> None:
    """Every note has its role, and the same (or, moved by octaves, the same but for the octave) has been struck before it."""
    for case in cases(row, SEED, 2):
        notes = struck(case, tmp_path)
        assert {note.id for note in notes} == set(case.roles)
        assert bool(case.notes("must")) == (row != "control")
        assert bool(case.notes("new")) == ("odd" in row or "voice" in row)
        if "sequence" in row or "steps" in row:
            continue
        before: set[object] = set()
        for note in notes:
            octaves = "octave" in row
            heard = note.pitch.semitone % 12 if octaves else (note.staff, note.pitch.semitone)
            assert case.roles[note.id] != "must" or heard in before, f"seed {SEED}: {note}"
            before.add(heard)


def test_the_judge_tells_right_from_wrong() -> None:
    """A function that greys just what must be grey scores 1 and 0; one that greys all greys what is new."""
    found = [case for row in ROWS for case in cases(row, 1, 2)]
    asked = iter(found)
    right = judge(found, lambda _: {"figures": [{"notes": sorted(next(asked).notes("must")), "anchors": []}]})
    assert all((count.found, count.new_grey, count.chance) == (1, 0, 0) for count in right.values())
    asked = iter(found)
    wrong = judge(found, lambda _: {"figures": [{"notes": sorted(next(asked).roles), "anchors": []}]})
    assert all(count.new_grey == count.new and count.chance == 1 for count in wrong.values())
    assert grey_ids({"figures": [{"notes": ["a", "b"], "anchors": ["a"]}]}) == {"b"}


def test_a_seed_gives_its_scores_again() -> None:
    assert [case.text for case in cases("again", 7, 3)] == [case.text for case in cases("again", 7, 3)]
