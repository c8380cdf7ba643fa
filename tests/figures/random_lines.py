"""Random lines for comparing a quick way of finding with the plain one: gestures of every sort, spoilt here and there.

Import it by ``from figures.random_lines import random_lines, random_text`` (``tests`` is on pytest's ``pythonpath``).
"""

from __future__ import annotations

import random
from collections.abc import Iterator

from figures.lines_from_text import line_of

from annotator.figures.lines import Line

CHROMATIC = ["C4", "C#4", "D4", "D#4", "E4", "F4", "F#4", "G4", "G#4", "A4", "Bb4", "B4", "C5"]
LOWEST, HIGHEST = 14, 48  # in letters above C0


def random_lines(count: int, seed: int = 1, events: int = 60) -> Iterator[Line]:
    """Yield lines of one voice: walks, broken intervals, sequences, repeats, pairs; with rests, ties, long notes, accidentals."""
    chance = random.Random(seed)
    for _ in range(count):
        yield line_of(random_text(chance, events), chance.choice(("right", "left")), fifths=chance.randint(-4, 4))


def random_text(chance: random.Random, events: int) -> str:
    """Return one voice, as ``figures.lines_from_text`` has it."""
    tokens: list[str] = []
    spice = chance.choice((0.0, 0.03, 0.1, 0.4))
    while len(tokens) < events:
        tokens += _gesture(chance, tokens, spice)
    return " ".join(tokens)


def _gesture(chance: random.Random, before: list[str], spice: float) -> list[str]:
    """Return what comes next."""
    start, way = chance.randint(24, 38), chance.choice((-1, 1))
    count, wide = chance.randint(3, 9), chance.choice((2, 3, 5, 7, 9))
    sort = chance.randrange(9)
    if sort == 0 and before:
        return before[-chance.choice((1, 2, 4, 8)) :] * chance.choice((1, 2, 3))
    if sort == 1:
        return CHROMATIC[:count][::way]
    if sort == 2:
        letters = [[start + way * (place // 2) + wide * (place % 2)] for place in range(2 * count)]
    elif sort == 3:
        letters = [[start + way * place, start + way * place + wide] for place in range(count)]
    elif sort == 4:
        group = [start + chance.randint(-4, 4) for _ in range(4)]
        letters = [[letter + way * repeat] for repeat in range(4) for letter in group]
    elif sort == 5:
        letters = [[start + way * turn] for turn in (0, 1, 0, -1, 0)]
    elif sort == 6:
        letters = [[start + wide * (place % 2)] for place in range(count)]
    else:
        letters = [[start + way * place] for place in range(count)]
    return [_token(chance, each, spice) for each in letters]


def _token(chance: random.Random, letters: list[int], spice: float) -> str:
    """Return an event, perhaps spoilt."""
    if chance.random() < spice / 4:
        return "r"
    letters = [min(HIGHEST, max(LOWEST, letter)) for letter in letters] + [letters[-1] + 9] * (chance.random() < spice / 4)
    word = "/".join(_word(chance, letter, spice) for letter in letters)
    return word + ("*2" if chance.random() < spice / 3 else "") + ("~" if chance.random() < spice / 6 else "")


def _word(chance: random.Random, letter: int, spice: float) -> str:
    """Return a note, perhaps altered."""
    return "CDEFGAB"[letter % 7] + (chance.choice(("#", "b", "##")) if chance.random() < spice else "") + str(letter // 7)
