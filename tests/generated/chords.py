"""Generated figures of chords: arpeggios, Alberti bass, broken chords, bass and chord, block chords, in every major and minor key."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from generated.cases import BY_THREES, BY_TWOS, COMMON, EIGHTHS, SIXTEENTHS, THREE_FOUR, USUAL, Case, Rhythm, whole
from generated.ornaments import keys
from generated.pitches import (
    CHORDS,
    INVERSIONS,
    MAJOR_KEY,
    MAJOR_KEY_SEVENTHS,
    SYMBOLS,
    Note,
    data_name,
    degree,
    raised,
    said,
    semitone,
    struck,
    tone,
    tonic,
    word,
)

from annotator.music.chords import Chord, rungs, tones
from annotator.music.names import alter_of, class_of
from annotator.music.score import SEMITONES, STEPS, Pitch, pitch_of

Spread = tuple[Chord, tuple[Note, ...]]
"""A chord and its notes from low to high."""

TRIAD_WAYS: tuple[tuple[tuple[int, ...], tuple[int, ...]], ...] = (
    ((0, 1, 2, 3), ()),
    ((4, 3, 2, 1, 0), ()),
    ((0, 1, 2, 3, 4, 3, 2, 1, 0), (4,)),
    ((4, 3, 2, 1, 0, 1, 2, 3), (4,)),
)
SEVENTH_WAYS: tuple[tuple[tuple[int, ...], tuple[int, ...]], ...] = (
    ((0, 1, 2, 3, 4), ()),
    ((4, 3, 2, 1, 0), ()),
    ((0, 1, 2, 3, 4, 3, 2, 1, 0), (4,)),
)
"""Places on the ladder of chord tones from the figure's lowest note, and the turning moments."""


def chord_at(root: Note, quality: str, inversion: int) -> Chord:
    """Return a chord as data."""
    return Chord(data_name(root), quality, inversion, data_name(tone(root, quality, inversion)))


def words_of(chord: Chord, root: Note) -> str:
    """Return a chord in words, without its inversion."""
    return f"{said(root)} {chord.quality.replace('-', ' ').replace('half diminished', 'half-diminished')}"


def chords_of_the_key(fifths: int, low: int) -> Iterator[tuple[Note, str]]:
    """Yield root and quality of the triads and sevenths of a signature's major key, and what its minor key adds to them."""
    one, minor = tonic(fifths, low=low), tonic(fifths, minor=True, low=low)
    for step in range(7):
        yield degree(one, "major", step), MAJOR_KEY[step]
        yield degree(one, "major", step), MAJOR_KEY_SEVENTHS[step]
    yield degree(minor, "harmonic minor", 2 - 7), "augmented"
    yield degree(minor, "harmonic minor", 6 - 7), "diminished-seventh"
    yield degree(minor, "harmonic minor", 4 - 7), "dominant-seventh"


def arpeggios() -> Iterator[Case]:
    """Yield arpeggios of every chord of every key in every inversion, up, down and turning."""
    for fifths, hand, one in keys():
        for root, quality in chords_of_the_key(fifths, one[0] - one[0] % 7):
            size = len(CHORDS[quality])
            for inversion in range(size):
                for ladder, turns in TRIAD_WAYS if size == 3 else SEVENTH_WAYS:
                    notes = [tone(root, quality, inversion + place) for place in ladder]
                    yield _arpeggio(hand, fifths, (root, quality, inversion), notes, turns)
            two_octaves = [tone(root, quality, place) for place in range(2 * size + 1)]
            yield _arpeggio(hand, fifths, (root, quality, 0), two_octaves, (), ", 2 octaves up")


def _arpeggio(
    hand: str, fifths: int, named: tuple[Note, str, int], notes: list[Note], turns: tuple[int, ...], octaves: str = ""
) -> Case:
    """Return the case of one arpeggio."""
    root, quality, inversion = named
    chord = chord_at(root, quality, inversion)
    stations = [0, *turns, len(notes) - 1]
    inverted = f"{INVERSIONS[inversion]}, " if inversion else ""
    path = "→".join(said(notes[place]) for place in stations)
    return Case(
        "arpeggio",
        hand,
        fifths,
        tuple(map(word, notes)),
        whole(*stations),
        f"{words_of(chord, root)} arpeggio, {inverted}{path}{octaves}",
        {"chord": chord, "odd": (), "direction": "turning" if turns else "up" if notes[0][0] < notes[-1][0] else "down"},
        minimal=len(notes) == 4,
    )


def progression(one: Note, minor: bool) -> dict[str, Spread]:
    """Return the chords that an accompaniment in a key uses, each in close position near its tonic chord."""
    scale, quality = ("harmonic minor", "minor") if minor else ("major", "major")
    four, five = degree(one, scale, 3), degree(one, scale, 4 - 7)
    return {
        "I": (chord_at(one, quality, 0), tuple(tone(one, quality, place) for place in (0, 1, 2))),
        "IV64": (chord_at(four, quality, 2), tuple(tone(raised(four, -7, -12), quality, place) for place in (2, 3, 4))),
        "V6": (chord_at(five, "major", 1), tuple(tone(five, "major", place) for place in (1, 2, 3))),
        "V65": (chord_at(five, "dominant-seventh", 1), tuple(tone(five, "dominant-seventh", place) for place in (1, 3, 4))),
    }


def symbol(one: Note, minor: bool) -> str:
    """Return the short name of a key's tonic chord."""
    return said(one) + SYMBOLS["minor" if minor else "major"]


def both_modes() -> Iterator[tuple[int, str, Note, bool]]:
    """Yield every key, major and minor, for both hands."""
    for fifths, hand, one in keys():
        yield fifths, hand, one, False
        yield fifths, hand, tonic(fifths, minor=True, low=one[0] - one[0] % 7), True


def _changes(names: Sequence[str]) -> list[int]:
    """Return the groups at which another chord begins, the first included."""
    return [place for place, name in enumerate(names) if place == 0 or name != names[place - 1]]


def alberti_basses() -> Iterator[Case]:
    """Yield Alberti bass on one chord, and on a progression of four."""
    for fifths, hand, one, minor in both_modes():
        spreads = progression(one, minor)
        for names in (("I", "I"), ("I", "I", "IV64", "V65", "I"), ("I", "IV64", "I", "V65")):
            tokens = [word(spreads[name][1][place]) for name in names for place in (0, 2, 1, 2)]
            changes = _changes(names)
            yield Case(
                "alberti-bass",
                hand,
                fifths,
                tuple(tokens),
                whole(*(4 * group for group in changes)),
                f"Alberti bass: {symbol(one, minor)}",
                {"chords": tuple(spreads[names[group]][0] for group in changes), "odd": ()},
                mode="minor" if minor else None,
                rhythms=BY_TWOS,
                group=4,
                minimal=len(names) == 2,
            )


BROKEN: tuple[tuple[tuple[int, ...], tuple[Rhythm, ...]], ...] = (
    ((0, 1, 2), BY_THREES),
    ((2, 1, 0), BY_THREES),
    ((0, 1, 2, 1), BY_TWOS),
    ((2, 1, 0, 1), BY_TWOS),
    ((0, 2, 1, 2, 1, 2), BY_THREES),
    ((0, 1, 2, 0, 1, 2, 1, 2), BY_TWOS),
)
"""Patterns: places of a chord of three notes from low to high; a three that goes on in its own direction is written with a leap back."""


def broken_chords() -> Iterator[Case]:
    """Yield broken chords in threes, fours, sixes and eights, on one chord and on a progression."""
    for fifths, hand, one, minor in both_modes():
        spreads = progression(one, minor)
        for pattern, rhythms in BROKEN:
            for names in (("I", "I"), ("I", "I", "IV64", "V6", "V6", "I")):
                size = len(pattern)
                tokens = [word(spreads[name][1][place]) for name in names for place in pattern]
                changes = _changes(names)
                lowest = [size * group + pattern.index(0) for group in changes]
                yield Case(
                    "broken-chord",
                    hand,
                    fifths,
                    tuple(tokens),
                    whole(*range(size), *lowest),
                    f"broken chord: {symbol(one, minor)}",
                    {"chords": tuple(spreads[names[group]][0] for group in changes), "odd": ()},
                    mode="minor" if minor else None,
                    rhythms=rhythms,
                    group=size,
                    minimal=len(names) == 2 and size < 8,
                )


def basses_and_chords() -> Iterator[Case]:
    """Yield waltz basses and oom-pah, with chords of two and of three notes, on one harmony and on two."""
    waltz = ((COMMON / 4, THREE_FOUR), (EIGHTHS, THREE_FOUR), (SIXTEENTHS, THREE_FOUR))
    for fifths, hand, one, minor in both_modes():
        quality, scale = ("minor", "harmonic minor") if minor else ("major", "major")
        five = degree(one, scale, 4 - 7)
        bass = {"I": raised(one, -7, -12), "V7": raised(five, -7, -12)}
        chords = {"I": chord_at(one, quality, 0), "V7": chord_at(five, "dominant-seventh", 0)}
        for count, name, rhythms in ((2, "waltz bass", waltz), (1, "bass and chord", USUAL)):
            for above in ((1, 2), (1, 2, 3)):
                upper = {"I": [tone(one, quality, p) for p in above]}
                upper["V7"] = [tone(five, "dominant-seventh", p) for p in ((1, 3) if len(above) == 2 else (1, 3, 4))]
                for names in (("I", "I"), ("I", "I", "V7", "V7", "I", "I")):
                    tokens = [t for n in names for t in (word(bass[n]), *[struck(*upper[n])] * count)]
                    changes = _changes(names)
                    firsts = [(1 + count) * group for group in changes]
                    yield Case(
                        "bass-and-chord",
                        hand,
                        fifths,
                        tuple(tokens),
                        whole(*firsts) | whole(*(first + 1 for first in firsts), notes=len(above)),
                        f"{name}: {symbol(one, minor)}",
                        {"chords": tuple(chords[names[group]] for group in changes), "odd": ()},
                        mode="minor" if minor else None,
                        rhythms=rhythms,
                        group=1 + count,
                        minimal=len(tokens) == 4,
                    )


def block_chords() -> Iterator[Case]:
    """Yield every chord of every key in close position, in every inversion."""
    for fifths, hand, one in keys():
        for root, quality in chords_of_the_key(fifths, one[0] - one[0] % 7):
            size = len(CHORDS[quality])
            for inversion in range(size):
                notes = [tone(root, quality, inversion + place) for place in range(size)]
                assert sorted(notes, key=semitone) == notes
                chord = chord_at(root, quality, inversion)
                inverted = f", {INVERSIONS[inversion]}" if inversion else ""
                yield Case(
                    "block-chord",
                    hand,
                    fifths,
                    (struck(*notes),),
                    whole(0),
                    words_of(chord, root) + inverted,
                    {"chord": chord, "odd": ()},
                    minimal=size == 3,
                )


def tone_above(chord: Chord, bass: Pitch, index: int, sparse: bool = False) -> Pitch:
    """Return the ``index``-th chord tone above a chord tone in close position (0 the tone itself, negative below), spelled as in the chord.

    Raises ``ValueError`` where ``bass`` is no tone of the chord, by sound.
    """
    if index == 0:
        rungs(chord, int(bass.semitone) % 12, sparse)
        return bass
    ladder = rungs(chord, int(bass.semitone) % 12, sparse)
    semitone = int(bass.semitone) + ladder[index % len(ladder)] + 12 * (index // len(ladder))
    name = next(name for name in tones(chord) if class_of(name) == semitone % 12)
    alter = alter_of(name)
    return pitch_of(name[0], alter, (semitone - alter - SEMITONES[STEPS.index(name[0])]) // 12 - 1)
