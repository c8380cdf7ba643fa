"""Generated ornaments: turns in their four forms, mordents, trills and tremolos, on the degrees of every major key."""

from __future__ import annotations

from collections.abc import Iterator

from generated.cases import COMMON, SIXTEENTHS, THIRTY_SECONDS, TRIPLETS, Case, whole
from generated.pitches import MIDDLE, SIGNATURES, Note, degree, said, struck, tonic, word

HANDS = ("right", "left")
FORMS = {
    "upper-first": (1, 0, -1, 0),
    "lower-first": (-1, 0, 1, 0),
    "main-first-upper": (0, 1, 0, -1, 0),
    "main-first-lower": (0, -1, 0, 1, 0),
}


def keys() -> Iterator[tuple[int, str, Note]]:
    """Yield every signature with both hands: fifths, hand, tonic of the major key in that hand's octave."""
    for fifths in SIGNATURES:
        for hand in HANDS:
            yield fifths, hand, tonic(fifths, low=MIDDLE[hand])


def turns() -> Iterator[Case]:
    """Yield single turns, their last note held, on two degrees, and chains of three, in each form."""
    for fifths, hand, one in keys():
        for form, shape in FORMS.items():
            inverted = "inverted turn" if form in ("lower-first", "main-first-lower") else "turn"
            for steps in ((0,), (4,), (2, 5, 4)):
                mains = [degree(one, "major", step) for step in steps]
                tokens = tuple(word(degree(one, "major", step + letter)) for step in steps for letter in shape)
                if len(steps) == 1:
                    tokens = (*tokens[:-1], tokens[-1] + "*4")
                names = ", ".join(map(said, mains))
                yield Case(
                    "turn",
                    hand,
                    fifths,
                    tokens,
                    whole(*(place * len(shape) + shape.index(0) for place in range(len(steps)))),
                    f"{inverted}s: {names}" if len(steps) > 1 else f"{inverted} on {names}",
                    {"form": form, "odd": (), "times": len(steps)},
                    minimal=len(tokens) == 4,
                )


def mordents() -> Iterator[Case]:
    """Yield rows of mordents, quick and longer notes at the end of each, and in even triplets."""
    for fifths, hand, one in keys():
        for side in (-1, 1):
            for steps in ((0, 1), (0, 2, 4), (4, 4, 1, 0)):
                for last, rhythms in (("*2", ((SIXTEENTHS, COMMON), (THIRTY_SECONDS, COMMON))), ("", ((TRIPLETS, COMMON),))):
                    tokens: list[str] = []
                    for step in steps:
                        main, beside = word(degree(one, "major", step)), word(degree(one, "major", step + side))
                        tokens += [main, beside, main + last]
                    yield Case(
                        "mordent",
                        hand,
                        fifths,
                        tuple(tokens),
                        whole(*range(0, len(tokens), 3)),
                        f"{'upper' if side > 0 else 'lower'} mordents: "
                        + ", ".join(said(degree(one, "major", step)) for step in steps),
                        {"direction": "up" if side > 0 else None, "odd": (), "times": len(steps)},
                        rhythms=rhythms,
                        group=4 if last else 3,
                        minimal=len(steps) == 2,
                    )


def _alternation(kind: str, hand: str, fifths: int, sides: tuple[tuple[Note, ...], tuple[Note, ...]], strokes: int) -> Case:
    """Return the case of two sides in alternation."""
    size = len(sides[0])
    first, second = ("+".join(map(said, side)) for side in sides)
    label = f"{kind} {first}–{second}" if size == 1 else f"{kind}: {first} / {second}"
    return Case(
        kind,
        hand,
        fifths,
        tuple(struck(*sides[place % 2]) for place in range(strokes)),
        whole(0, 1, strokes - 1, notes=size),
        label,
        {"times": strokes},
        minimal=strokes == 6,
        clear=size == 1,  # two chords in turn may leave less to read as a beat played again
    )


def trills() -> Iterator[Case]:
    """Yield trills of a step from each degree but one, up and down, of six strokes and more."""
    for fifths, hand, one in keys():
        for step in range(6):
            main, upper = degree(one, "major", step), degree(one, "major", step + 1)
            yield _alternation("trill", hand, fifths, ((main,), (upper,)), 6 + step)
            yield _alternation("trill", hand, fifths, ((upper,), (main,)), 6)


def tremolos() -> Iterator[Case]:
    """Yield tremolos of a third, a fifth, an octave, and of two chords."""
    for fifths, hand, one in keys():
        tone = [degree(one, "major", step) for step in range(15)]
        for strokes in (6, 9):
            for sides in (
                ((tone[0],), (tone[2],)),
                ((tone[4],), (tone[0],)),
                ((tone[1],), (tone[8],)),
                ((tone[0], tone[2]), (tone[4], tone[7])),
            ):
                yield _alternation("tremolo", hand, fifths, sides, strokes)
