"""Generated hands together: the left hand doubles the right at each interval, or mirrors it, in every signature."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from generated.cases import Case, whole
from generated.pitches import SIGNATURES, degree, struck, tonic

BELOW: dict[str, tuple[tuple[int, str], ...]] = {
    "hands-in-unison": ((0, "left hand in unison"),),
    "hands-in-octaves": ((7, "left hand an octave below"), (14, "left hand two octaves below")),
    "hands-in-thirds": ((2, "left hand a third below"),),
    "hands-in-sixths": ((5, "left hand a sixth below"),),
    "hands-in-tenths": ((9, "left hand a tenth below"),),
}
"""Letters from the right hand down to the left, and the words for it."""

INTERVALS = {"unison": "unison", "octaves": "octave", "thirds": "third", "sixths": "sixth", "tenths": "tenth"}
MELODIES = ((0, 2, 1, 4), (4, 2, 5, 3, 6, 1, 0, 4, 7), (0, 1, 2, 3, 4, 5, 6, 7, 6, 5, 4))
MIRRORED = ((0, 1, 2, 3, 4), (0, 2, 1, 3, 4, 2, 0), (0, -1, -2, -3, -4, -3, -2))


def doubled(kind: str) -> Iterator[Case]:
    """Yield melodies by leap and by step that the left hand plays so far below; copies of chords too."""
    for fifths in SIGNATURES:
        one = tonic(fifths)
        for letters, label in BELOW[kind]:
            for melody in MELODIES:
                right = [[step] for step in melody]
                yield _together(kind, fifths, one, right, [[step - letters] for step in melody], label, -letters)
            if letters % 7 == 0:
                chords = [[step, step + 2] for step in MELODIES[1]]
                left = [[step - letters for step in steps] for steps in chords]
                yield _together(kind, fifths, one, chords, left, label, -letters)


def mirrored() -> Iterator[Case]:
    """Yield lines that the left hand mirrors letter by letter, from the octave below the right hand's first note."""
    for fifths in SIGNATURES:
        for melody in MIRRORED:
            right = [[step] for step in melody]
            yield _together(
                "contrary-motion", fifths, tonic(fifths), right, [[-step - 7] for step in melody], "left hand mirrors", None
            )


def _together(
    kind: str,
    fifths: int,
    one: tuple[int, int],
    right: Sequence[Sequence[int]],
    left: Sequence[Sequence[int]],
    label: str,
    below: int | None,
) -> Case:
    """Return the case of two hands, each moment in scale steps above the tonic."""

    def tokens(hand: Sequence[Sequence[int]]) -> tuple[str, ...]:
        return tuple(struck(*(degree(one, "major", step) for step in steps)) for steps in hand)

    return Case(
        kind,
        "left",
        fifths,
        tokens(left),
        whole(0, notes=len(left[0])),
        label,
        {"steps": below, "interval": INTERVALS.get(kind.removeprefix("hands-in-")), "odd": ()},
        other=tokens(right),
        minimal=len(left) == (5 if below is None else 4),
    )
