"""Even runs: where they begin and end, and whose they are."""

import pytest
from figures.chord_figures import found
from figures.lines_from_text import line_of, names, texture_of

from annotator.figures.arpeggios import detect_arpeggios


@pytest.mark.parametrize(
    ("notes", "runs"),
    [
        ("C4 D4 E4 F4 G4", ["C4 D4 E4 F4 G4"]),
        ("C4 D4 E4 F4*2 G4*2 A4*2 B4*2", ["C4 D4 E4 F4", "F4 G4 A4 B4"]),  # the longer last note begins the next run
        ("C4 D4 E4 F4 G4*2 A4 B4 C5 D5", ["C4 D4 E4 F4 G4", "A4 B4 C5 D5"]),
        ("C4*2 D4 E4 F4 G4", ["D4 E4 F4 G4"]),  # a longer note before it does not belong to it
        ("C4 D4 E4", []),
        ("C4 D4 E4 F4/A4 G4 A4 B4", []),  # a chord ends it
        ("C4 D4 E4 F4/A4*2", []),
        ("C4 D4 E4 F4 r G4 A4 B4 C5*2", ["C4 D4 E4 F4", "G4 A4 B4 C5"]),  # and so does a rest
    ],
)
def test_single_notes_of_one_length_and_a_longer_last_one(notes: str, runs: list[str]) -> None:
    line = line_of(notes)
    assert [names(run.notes) for run in line.runs] == runs
    for run in line.runs:
        assert tuple(event.notes[0] for event in run.events) == run.notes
        assert run.keys == tuple(note.pitch.semitone for note in run.notes)


def test_in_a_merged_line_a_run_is_its_own_where_voices_or_hands_share_it() -> None:
    alone, later = "C4 E4 G4 C5 r r", "r*5 C3"
    low, high = "C3 r G3 r", "r E3 r C4"
    hand, shared = texture_of((alone, later), "").hands["right"], texture_of(alone, later).shared
    assert shared is not None and [len(line.own_runs) for line in (hand, shared)] == [0, 0]
    hand, shared = texture_of("", (low, high)).hands["left"], texture_of(high, low).shared
    assert shared is not None and [len(line.own_runs) for line in (hand, shared)] == [1, 1]


def test_a_piece_of_a_line_is_looked_at_as_a_line_of_its_own() -> None:
    line = line_of("C4 E4 G4 C5 E5 G5 C6*2")
    assert found(detect_arpeggios, line.slice(1, 6)) == ["E4 g4 c5 e5 G5"]
    assert found(detect_arpeggios, line.slice(0, 3)) == []
