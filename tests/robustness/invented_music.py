"""Seeded piano music made of what figures are made of: runs, broken chords, repeats, double notes, chance notes and rests.

Conventions
-----------
* A note is (diatonic number, deviation from the key signature in semitones); a moment is a tuple of notes; () is a rest. So the same
  music can be written in any key: the letters move, the deviations stay.
* It is written as a text that ``figures.lines_from_text.part_of`` reads, in sixteenths.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

from annotator.music.score import STEPS, key_of

Moment = tuple[tuple[int, int], ...]


def plain(*numbers: int) -> list[Moment]:
    """Return single notes without deviation."""
    return [((number, 0),) for number in numbers]


def run(chance: random.Random, at: int) -> list[Moment]:
    length, step = chance.randint(4, 14), chance.choice((1, -1))
    row = plain(*range(at, at + step * length, step))
    if chance.random() < 0.4:
        odd = chance.randrange(length)
        row[odd] = ((row[odd][0][0], chance.choice((1, -1))),)
    return row + (row[-2::-1] if chance.random() < 0.3 else [])


def arpeggio(chance: random.Random, at: int) -> list[Moment]:
    tones = [at + 7 * octave + third for octave in (0, 1) for third in (0, 2, 4)][: chance.randint(4, 6)]
    return plain(*(tones if chance.random() < 0.6 else tones[::-1]))


def groups(chance: random.Random, at: int) -> list[Moment]:
    shape = chance.choice(((0, 4, 2, 4), (0, 2, 4, 2), (0, 2, 4, 7), (4, 2, 0, 2), (0, 4, 7, 4)))
    roots = [at] * chance.randint(2, 4) + [at + 3] * chance.randint(0, 2)
    return plain(*(root + third for root in roots for third in shape))


def repeated(chance: random.Random, at: int) -> list[Moment]:
    return plain(at) * chance.randint(3, 9)


def alternation(chance: random.Random, at: int) -> list[Moment]:
    return plain(at, at + chance.choice((1, 1, 2, 4, 7))) * chance.randint(2, 6)


def pairs(chance: random.Random, at: int) -> list[Moment]:
    width = chance.choice((2, 3, 5, 7))
    return [((at + step, 0), (at + step + width, 0)) for step in range(chance.randint(3, 8))]


def broken_pairs(chance: random.Random, at: int) -> list[Moment]:
    width = chance.choice((2, 3, 5, 7))
    return plain(*(number for step in range(chance.randint(2, 6)) for number in (at + step, at + step + width)))


def ornament(_chance: random.Random, at: int) -> list[Moment]:
    return plain(*(number for step in range(3) for number in (at + step + 1, at + step, at + step - 1, at + step)))


def sequence(chance: random.Random, at: int) -> list[Moment]:
    shape = [chance.randint(-3, 4) for _ in range(4)]
    return plain(*(at + step + number for step in range(3) for number in shape))


def chords(chance: random.Random, at: int) -> list[Moment]:
    return [((at - 7, 0),), *[((at, 0), (at + 2, 0), (at + 4, 0))] * 3] * chance.randint(1, 3)


def by_chance(chance: random.Random, at: int) -> list[Moment]:
    return [((at + chance.randint(-6, 6), chance.choice((0, 0, 0, 1, -1))),) for _ in range(chance.randint(1, 8))]


def rest(chance: random.Random, _at: int) -> list[Moment]:
    return [()] * chance.randint(1, 4)


PIECES = (run, arpeggio, groups, repeated, alternation, pairs, broken_pairs, ornament, sequence, chords, by_chance, rest)


def invent(chance: random.Random, middle: int) -> list[Moment]:
    """Return a hand's music around a diatonic number."""
    music: list[Moment] = []
    for _ in range(chance.randint(2, 6)):
        music += chance.choice(PIECES)(chance, middle + chance.randint(-5, 5))
    return music


def written(music: Sequence[Moment], fifths: int = 0, moved: int = 0) -> str:
    """Return the text of music in a key, moved by so many letters."""
    alters = key_of(fifths).alters

    def word(number: int, deviation: int) -> str:
        alter = alters[(number + moved) % 7] + deviation
        return STEPS[(number + moved) % 7] + ("#" * alter if alter > 0 else "b" * -alter) + str((number + moved) // 7)

    return " ".join("/".join(word(*note) for note in moment) or "r" for moment in music)
