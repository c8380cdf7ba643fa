"""Positions of the hand, by the rule in ``annotator.products.handout.hands``, and its widest grip."""

from __future__ import annotations

from dataclasses import replace

import pytest
from figures.lines_from_text import texture_of

from annotator.products.handout.hands import Moment, moments_of, position_changes, widest


def moments(text: str) -> tuple[Moment, ...]:
    return moments_of(note for event in texture_of(text, "").hands["right"].events for note in event.notes)


@pytest.mark.parametrize(
    ("text", "changes"),
    [
        ("C4 G4 C5 G4 E4 C4", 0),  # within an octave: nothing moves, whatever the leaps
        ("C4 D4 E4 F4 G4 A4 B4 C5 D5 E5 F5 G5", 0),  # a run passes along
        ("C4 E4 G4 C5 E5 G5 C6", 0),  # so does an arpeggio: thirds and fourths
        ("C4 D4 E4 C6 D6 E6", 1),  # a leap out of the frame
        ("C4 D4 E4 C6 D6 E6 C4 D4", 2),  # and back
        ("C3 C5/E5 C3 C5/E5", 3),  # a bass note with a chord two octaves above: a jump each time
        ("C4 G4 D5", 1),  # a ninth, reached by a leap of a fifth
        ("C4 A4 D5", 0),  # the same ninth, but the last step is a fourth
        ("", 0),
    ],
)
def test_positions_change_by_leaps_beyond_an_octave(text: str, changes: int) -> None:
    assert len(position_changes(moments(text))) == changes


def test_the_widest_grip_is_the_first_of_the_widest() -> None:
    grip = widest(moments("C4/E4 C4/C5 D4/D5 E4"), (), True)
    assert grip is not None and [note.pitch.step + str(note.pitch.octave) for note in grip.notes] == ["C4", "C5"]
    assert widest(moments("C4 D4 E4"), (), True) is None


def test_a_rolled_chord_and_what_the_other_hand_takes_are_no_stretch() -> None:
    wide = moments("C4/E5 C4/G4")
    rolled = replace(wide[0], notes=tuple(replace(note, rolled=True) for note in wide[0].notes))
    found = widest([rolled, wide[1]], (), True)
    assert found is not None and found.notes[-1].pitch.step == "G"
    low, high = wide[0].notes
    two_voices = replace(wide[0], notes=(replace(low, voice="2"), high))
    assert widest([two_voices], (), True) is None, "the left hand is free"
    far = moments("C2")[0].notes
    assert widest([two_voices], far, True) == two_voices, "the left hand is two octaves below"
