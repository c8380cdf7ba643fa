"""Generated double notes and broken intervals: each interval by step, turning, and by leap, in every signature."""

from __future__ import annotations

from collections.abc import Iterator

from generated.cases import Case, Place, whole
from generated.ornaments import keys
from generated.pitches import MAJOR_KEY, Note, data_name, degree, said, struck, tone, word

from annotator.music.chords import Chord
from annotator.music.names import Scale

PARALLEL = {"thirds": 2, "fourths": 3, "sixths": 5, "octaves": 7, "tenths": 9}
BROKEN = {"thirds": 2, "fourths": 3, "fifths": 4, "sixths": 5, "sevenths": 6, "octaves": 7}
"""Letters that each interval is wide."""

BY_STEP: tuple[tuple[tuple[int, ...], tuple[int, ...]], ...] = (
    ((0, 1, 2, 3, 4), ()),
    ((7, 6, 5, 4, 3, 2, 1, 0), ()),
    ((2, 3, 4, 5, 6, 5, 4, 3, 2), (4,)),
)
BY_LEAP = ((0, 2, 1, 4), (4, 1, 5, 3, 0, 2))


def _way(steps: tuple[int, ...], turns: tuple[int, ...]) -> str:
    return "turning" if turns else "up" if steps[-1] > steps[0] else "down"


def parallels(interval: str) -> Iterator[Case]:
    """Yield one hand in an interval: runs, whose stations stay dark in pairs, and leaping lines, whose leading notes do."""
    letters = PARALLEL[interval]
    for fifths, hand, one in keys():
        lead = 1 if hand == "right" else 0

        def pair(step: int, hand: str = hand, one: Note = one) -> str:
            other = step - letters if hand == "right" else step + letters
            return struck(degree(one, "major", step), degree(one, "major", other))

        name = {"interval": interval.removesuffix("s"), "odd": ()}
        for steps, turns in BY_STEP:
            stations = (0, *turns, len(steps) - 1)
            path = "→".join(said(degree(one, "major", steps[place])) for place in stations)
            yield Case(
                f"parallel-{interval}",
                hand,
                fifths,
                tuple(map(pair, steps)),
                whole(*stations, notes=2),
                f"run in {interval}, {said(one)} major, {path}",
                name | {"scale": Scale(data_name(one), "major"), "direction": _way(steps, turns)},
            )
        for steps in BY_LEAP:
            yield Case(
                f"parallel-{interval}",
                hand,
                fifths,
                tuple(map(pair, steps)),
                frozenset((place, lead) for place in range(len(steps))),
                f"in {interval}",
                name | {"scale": None, "direction": None},
                minimal=len(steps) == 4,
            )
        if interval == "octaves":
            yield from _octaves_of_a_chord(fifths, hand, one)


def _octaves_of_a_chord(fifths: int, hand: str, one: Note) -> Iterator[Case]:
    """Yield arpeggios in octaves on three degrees."""
    for step in (0, 1, 4):
        root, quality = degree(one, "major", step), MAJOR_KEY[step]
        notes = [tone(root, quality, place) for place in range(4)]
        yield Case(
            "parallel-octaves",
            hand,
            fifths,
            tuple(struck(note, (note[0] + (-7 if hand == "right" else 7), note[1])) for note in notes),
            whole(0, 3, notes=2),
            f"arpeggio in octaves, {said(root)} {quality}, {said(root)}→{said(root)}",
            {"interval": "octave", "chord": Chord(data_name(root), quality, 0, data_name(root)), "odd": ()},
        )


def broken(interval: str) -> Iterator[Case]:
    """Yield an interval as two notes, upwards and downwards, pairs by step up, down and turning; octaves by leap too."""
    letters = BROKEN[interval]
    for fifths, hand, one in keys():
        for width in (letters, -letters):
            for steps, turns in (((0, 1, 2), ()), *BY_STEP):
                pairs = (0, *turns, len(steps) - 1)
                path = "→".join(said(degree(one, "major", steps[place])) for place in pairs)
                yield _pairs(
                    f"broken-{interval}",
                    hand,
                    fifths,
                    [(degree(one, "major", step), degree(one, "major", step + width)) for step in steps],
                    whole(*(2 * place + half for place in pairs for half in (0, 1))),
                    f"broken {interval}, {said(one)} major, {path}",
                    Scale(data_name(one), "major"),
                    _way(steps, turns),
                )
            if interval == "octaves":
                steps = (0, 4, 2, 3, 3, 1)
                yield _pairs(
                    "broken-octaves",
                    hand,
                    fifths,
                    [(degree(one, "major", step), degree(one, "major", step + width)) for step in steps],
                    whole(1, *range(0, 12, 2)),
                    f"broken octaves, {said(one)}→{said(degree(one, 'major', 1))}",
                    None,
                    None,
                )


def _pairs(
    kind: str,
    hand: str,
    fifths: int,
    pairs: list[tuple[Note, Note]],
    anchors: frozenset[Place],
    label: str,
    scale: Scale | None,
    direction: str | None,
) -> Case:
    """Return the case of pairs of notes."""
    return Case(
        kind,
        hand,
        fifths,
        tuple(word(note) for pair in pairs for note in pair),
        anchors,
        label,
        {"scale": scale, "direction": direction, "interval": kind.removeprefix("broken-").removesuffix("s"), "odd": ()},
        group=2,
        minimal=len(pairs) == 3,
    )
