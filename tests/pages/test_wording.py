"""The longest wording that fits is taken, chord names stand at their notes, and no two words of a bracket meet."""

from __future__ import annotations

import pytest

from annotator.pages.brackets import Pen, word_bracket

LABELS = ("F major run D→A", "F run D→A", "D→A")


class Even(Pen):
    """A pen whose letters are all of one width, with room around them in whole numbers."""

    air, rest = 70.0, 60.0  # type: ignore[assignment]

    def width(self, text: str) -> float:
        return 100.0 * len(text)


PEN = Even(0.0, 0.0, 0.0, "")


@pytest.mark.parametrize(
    ("room", "row", "text"),
    [
        (1500 + 260, 0, LABELS[0]),
        (1500 + 259, 0, LABELS[1]),
        (900 + 259, 0, LABELS[2]),
        (300 + 259, 1, LABELS[2]),
        (200, 1, LABELS[2]),
    ],
)
def test_the_longest_that_fits(room: float, row: int, text: str) -> None:
    (word,) = word_bracket(1000, 1000 + room, LABELS, [], PEN)
    assert (word.row, word.text) == (row, text)


def test_in_the_middle_of_a_short_bracket_and_at_the_beginning_of_a_long_one() -> None:
    short = word_bracket(0, 2000, LABELS, [], PEN)[0]
    assert short.left + short.width / 2 == 1000
    long = word_bracket(0, 9000, LABELS, [], PEN)[0]
    assert long.left == 2 * (70 + 60)


def test_chord_names_stand_at_their_notes_and_the_label_before_them() -> None:
    label, *names = word_bracket(0, 6000, ["Alberti bass: C"], [(3000, "G7/B"), (4500, "C")], PEN)
    assert [(name.text, name.left, name.row) for name in names] == [("G7/B", 3000, 0), ("C", 4500, 0)]
    assert label.right + 70 <= 3000


def test_names_that_crowd_move_out_and_none_is_lost() -> None:
    changes = [(1000.0, "Dm7/C"), (1200.0, "G7/B"), (1400.0, "C"), (1900.0, "F")]
    words = word_bracket(0, 2000, ["C"], changes, PEN)
    assert sorted(word.text for word in words) == sorted(["C", "Dm7/C", "G7/B", "C", "F"])
    for index, one in enumerate(words):
        for other in words[index + 1 :]:
            assert one.row != other.row or one.right <= other.left or other.right <= one.left
