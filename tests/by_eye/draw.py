"""Draws the excerpts by lot and writes a data file without readings for each: ``python tests/by_eye/draw.py SEED``.

The pieces are drawn from groups of one character each, so that studies, easy pieces, preludes, a sonata, dances and a rag all have their
share; then eight bars of each, and which of the excerpts stay sealed. Bars that another marked set has are left out, and so are bars of
which one hand has fewer than four strokes.
"""

from __future__ import annotations

import json
import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from by_eye.excerpt import HERE, HOMES, Excerpt, part_of, strokes_of

import annotator

GROUPS = (
    ("local", "hanon-*.musicxml", 1),
    ("local", "burgmuller-*.musicxml", 4),
    ("local", "chopin-op10-*.musicxml", 2),
    ("local", "chopin-op25-*.musicxml", 2),
    ("local", "bach-wtc1-*.musicxml", 3),
    ("music21 corpus", "cpebach/h186.mxl", 1),
    ("music21 corpus", "schumann_clara/polonaise_*.mxl", 1),
    ("music21 corpus", "chopin/mazurka06-2.krn", 1),
    ("music21 corpus", "joplin/maple_leaf_rag.mxl", 1),
)
"""Where the pieces are, and how many are drawn of each group: sixteen in all."""

LENGTH = 8
SEALED = 4
FEWEST = {"right": 4, "left": 4}
MARKED_ELSEWHERE = {"joplin/maple_leaf_rag.mxl": 16, "schumann_clara/polonaise_op1n1.mxl": 20, "schumann_clara/polonaise_op1n2.mxl": 24,
                    "schumann_clara/polonaise_op1n3.mxl": 8, "schumann_clara/polonaise_op1n4.mxl": 24}
"""Up to which bar another set has marks."""


def draw(seed: int) -> list[Excerpt]:
    """Return the sixteen excerpts of a seed, in the order of the lot."""
    chance = random.Random(seed)
    pieces = []
    for home, pattern, count in GROUPS:
        root = HOMES[home]
        pieces += [f"{home}: {path.relative_to(root).as_posix()}" for path in chance.sample(sorted(root.glob(pattern)), count)]
    chance.shuffle(pieces)
    sealed = set(chance.sample(range(len(pieces)), SEALED))
    return [_drawn(chance, f"{place + 1:02}", source, place in sealed) for place, source in enumerate(pieces)]


def _drawn(chance: random.Random, number: str, source: str, sealed: bool) -> Excerpt:
    """Return eight bars of a piece in which both hands have something to play."""
    path = Excerpt("", source, (1, 1), False, {}, ()).path
    part = part_of(annotator.read(path))
    lowest = MARKED_ELSEWHERE.get(source.partition(": ")[2], 0) + 1
    name = f"{number}-{path.stem.replace('_', '-')}"
    while True:
        first = chance.randint(lowest, len(part.bars) - LENGTH + 1)
        found = Excerpt(name, source, (first, first + LENGTH - 1), sealed, {}, ())
        places = list(strokes_of(part, found))
        count = {hand: sum(hand == one for one, _ in places) for hand in FEWEST}
        if all(count[hand] >= fewest for hand, fewest in FEWEST.items()):
            return Excerpt(name, source, found.bars, sealed, count, ())


def write(excerpt: Excerpt) -> None:
    """Write an excerpt's file, its readings still empty."""
    data = {"source": excerpt.source, "bars": excerpt.bars, "sealed": excerpt.sealed, "strokes": excerpt.strokes, "readings": []}
    (HERE / f"{excerpt.name}.json").write_text(json.dumps(data, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    for drawn in draw(int(sys.argv[1])):
        write(drawn)
        print(drawn.name, drawn.bars, drawn.strokes)
