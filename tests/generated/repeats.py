"""Generated repeats: notes struck again, groups and bars once more, sequences by letters and exactly, in every signature."""

from __future__ import annotations

from collections.abc import Iterator

from generated.cases import COMMON, EIGHTHS, SIXTEENTHS, TRIPLETS, Case, Rhythm, whole
from generated.ornaments import keys
from generated.pitches import degree, raised, said, struck, word

SHAPES: tuple[tuple[tuple[int, ...], tuple[Rhythm, ...]], ...] = (
    ((0, 4, 1, 5), ((EIGHTHS, COMMON), (SIXTEENTHS, COMMON))),
    ((0, 4, 1), ((TRIPLETS, COMMON),)),
    ((3, 0, 4, 1, 5, 6, 2, 4), ((EIGHTHS, COMMON), (SIXTEENTHS, COMMON))),
    ((0, 4, 1, 5, 3, 6), ((TRIPLETS, COMMON),)),
)
"""Groups of a beat, a half bar or a bar that are no other figure: scale steps above the tonic."""

BARS: tuple[tuple[tuple[int, ...], Rhythm], ...] = (
    ((0, 4, 1, 5, 3, 6, 2, 7), (EIGHTHS, COMMON)),
    ((0, 4, 1, 5, 3, 6, 2, 7, 4, 1, 6, 3, 0, 5, 8, 2), (SIXTEENTHS, COMMON)),
    ((0, 4, 1, 5, 3, 6, 2, 7, 4, 1, 6, 3), (TRIPLETS, COMMON)),
)
MOVES = {-1: "down a step", 1: "up a step", 2: "up a third", -2: "down a third", 3: "up a fourth"}


def repeated_notes() -> Iterator[Case]:
    """Yield one note, two notes and a chord struck four and eight times."""
    for fifths, hand, one in keys():
        tones = [degree(one, "major", step) for step in range(8)]
        for strokes in (4, 8):
            for notes, name in (
                ((tones[0],), said(tones[0])),
                ((tones[6],), said(tones[6])),
                ((tones[3],), said(tones[3])),
                ((tones[0], tones[5]), f"{said(tones[0])}+{said(tones[5])}"),
                ((tones[0], tones[2], tones[4]), said(tones[0])),  # a major chord is named by its root
            ):
                yield Case(
                    "repeated-notes",
                    hand,
                    fifths,
                    (struck(*notes),) * strokes,
                    whole(0, notes=len(notes)),
                    f"{name} ×{strokes}",
                    {"times": strokes, "odd": ()},
                    minimal=strokes == 4 and len(notes) == 1,  # of chords fewer will do, also over a rest
                )


def repeated_groups() -> Iterator[Case]:
    """Yield groups played once and three times more, and bars that come back after another bar."""
    for fifths, hand, one in keys():
        for shape, rhythms in SHAPES:
            model = tuple(word(degree(one, "major", step)) for step in shape)
            for times in (1, 3) if len(shape) > 3 else (3,):  # three notes that come once more are no copy
                yield Case(
                    "repeated-group",
                    hand,
                    fifths,
                    model * times,
                    frozenset(),
                    f"same again ×{times}" if times > 1 else "same again",
                    {"times": times, "group": len(shape), "model_bars": None},
                    before=model,
                    rhythms=rhythms,
                    group=len(shape),
                    minimal=times == 1,
                )
        for shape, rhythm in BARS:
            model = tuple(word(degree(one, "major", step)) for step in shape)
            between = tuple(word(degree(one, "major", step + 1)) for step in reversed(shape))
            yield Case(
                "repeated-group",
                hand,
                fifths,
                model,
                frozenset(),
                "= bar 2",
                {"times": 1, "group": len(shape), "model_bars": ("2", "2")},
                before=model + between,
                rhythms=(rhythm,),
                group=len(shape),
            )


def sequences() -> Iterator[Case]:
    """Yield sequences by letters, up and down by several intervals, and sequences that keep their semitones."""
    for fifths, hand, one in keys():
        for shape, rhythms in SHAPES:
            for move, words in MOVES.items():
                for times in (2, 4):
                    steps = [step + move * turn for turn in range(times + 1) for step in shape]
                    tokens = tuple(word(degree(one, "major", step)) for step in steps)
                    yield _sequence(hand, fifths, tokens, len(shape), f"sequence: {words}", move, times, rhythms, None)
        four, rhythms = (0, 2, 4, 7), SHAPES[0][1]
        group = [degree(one, "major", step) for step in four]
        moved = [raised(note, turn, 2 * turn) for turn in range(3) for note in group]
        tokens = tuple(map(word, moved))
        yield _sequence(hand, fifths, tokens, 4, "real sequence: up a step", 1, 2, rhythms, 2)


def _sequence(
    hand: str,
    fifths: int,
    tokens: tuple[str, ...],
    size: int,
    name: str,
    move: int,
    times: int,
    rhythms: tuple[Rhythm, ...],
    semitones: int | None,
) -> Case:
    """Return the case of one sequence: a model of ``size`` tokens, then the copies."""
    return Case(
        "sequence",
        hand,
        fifths,
        tokens[size:],
        whole(*(size * turn for turn in range(times))),
        f"{name} ×{times}",
        {"steps": move, "times": times, "group": size, "semitones": semitones, "odd": ()},
        before=tokens[:size],
        rhythms=rhythms,
        group=size,
        minimal=times == 2 and semitones is None,
        clear=abs(move) != 2 and semitones is None and size != 6,  # such groups are broken fifths, or hold broken chords, as well
    )
