"""Generated runs: major, the three minors, chromatic; up, down, turning, over two octaves; in every signature."""

from __future__ import annotations

from collections.abc import Iterator

from generated.cases import Case, whole
from generated.pitches import MIDDLE, SIGNATURES, Note, data_name, degree, said, semitone, tonic, word

from annotator.music.names import Scale

HANDS = ("right", "left")


def _run(kind: str, hand: str, fifths: int, notes: list[Note], turns: list[int], name: str, **more: object) -> Case:
    """Return the case of a run; ``turns`` are its turning moments, ``name`` the words before ``run``."""
    stations = [0, *turns, len(notes) - 1]
    suffix = str(more.pop("suffix", ""))
    rising = notes[-1][0] > notes[0][0]
    data = {"direction": "turning" if turns else "up" if rising else "down", "odd": (), **more.pop("data", {})}  # type: ignore[dict-item]
    return Case(
        kind,
        hand,
        fifths,
        tuple(map(word, notes)),
        whole(*stations),
        f"{name} run {'→'.join(said(notes[place]) for place in stations)}{suffix}",
        data,
        **more,  # type: ignore[arg-type]
    )


MAJOR_RUNS: tuple[tuple[tuple[int, ...], tuple[int, ...], str], ...] = (
    ((0, 1, 2, 3, 4), (), ""),
    ((5, 4, 3, 2, 1), (), ""),
    (tuple(range(1, 9)), (), ""),
    ((0, 1, 2, 3, 4, 3, 2, 1, 0), (4,), ""),
    ((7, 6, 5, 4, 5, 6, 7, 6, 5, 4), (3, 6), ""),
    (tuple(range(14, -1, -1)), (), ", 2 octaves down"),
)
"""Degrees of a major scale, their turning moments, and what the label adds."""


def scale_runs() -> Iterator[Case]:
    """Yield runs of the scales of every signature, in both hands."""
    for fifths in SIGNATURES:
        for hand in HANDS:
            one = tonic(fifths, low=MIDDLE[hand])
            data = {"scale": Scale(data_name(one), "major")}
            for degrees, turns, suffix in MAJOR_RUNS:
                notes = [degree(one, "major", step) for step in degrees]
                yield _run(
                    "scale-run",
                    hand,
                    fifths,
                    notes,
                    list(turns),
                    f"{said(one)} major",
                    suffix=suffix,
                    data=data,
                    minimal=len(notes) == 5,
                )
            yield from _minor_runs(fifths, hand)


def _minor_runs(fifths: int, hand: str) -> Iterator[Case]:
    """Yield the runs of one minor key: natural (where the source declares it), harmonic, melodic up and down again."""
    one = tonic(fifths, minor=True, low=MIDDLE[hand])
    there_and_back = [*(degree(one, "melodic minor", step) for step in range(8))]
    there_and_back += [degree(one, "natural minor", step) for step in range(6, -1, -1)]
    rows = (
        ("natural minor", [degree(one, "natural minor", step) for step in range(7, -1, -1)], []),
        ("harmonic minor", [degree(one, "harmonic minor", step) for step in range(8)], []),
        ("harmonic minor", [degree(one, "harmonic minor", step) for step in (7, 6, 5, 4, 3, 2, 1, 0, 1, 2, 3)], [7]),
        ("melodic minor", [degree(one, "melodic minor", step) for step in range(8)], []),
        ("melodic minor", there_and_back, [7]),
    )
    for kind, notes, turns in rows:
        name = f"{said(one)} {kind}"
        data = {"scale": Scale(data_name(one), kind)}
        mode = "minor" if kind == "natural minor" else None
        yield _run("scale-run", hand, fifths, notes, turns, name, data=data, mode=mode)


def _chromatic(start: Note, count: int) -> list[Note]:
    """Return a chromatic line: upwards spelled with sharps, downwards (``count`` negative) with flats, beginning with ``start``."""
    notes = [start]
    sharps = [(0, 0), (0, 1), (1, 0), (1, 1), (2, 0), (3, 0), (3, 1), (4, 0), (4, 1), (5, 0), (5, 1), (6, 0)]
    table = sharps if count > 0 else [(letter + 1, -1) if alter else (letter, 0) for letter, alter in sharps]
    for step in range(1, abs(count)):
        key = semitone(start) + (step if count > 0 else -step)
        letter, alter = table[key % 12]
        notes.append((7 * (key // 12) + letter, alter))
    return notes


def chromatic_runs() -> Iterator[Case]:
    """Yield chromatic runs from the tonic of every signature: five notes, an octave, and up and down again."""
    for fifths in SIGNATURES:
        for hand in HANDS:
            one = tonic(fifths, low=MIDDLE[hand])
            up, down = _chromatic(one, 8), _chromatic(one, -13)
            turning = [*up[:6], *_chromatic(up[5], -6)[1:]]
            for notes, turns in ((_chromatic(one, 5), []), (up, []), (down, []), (turning, [5])):
                data = {"scale": Scale(None, "chromatic")}
                yield _run("chromatic-run", hand, fifths, notes, turns, "chromatic", data=data, minimal=len(notes) == 5)
