"""Chords: their tones, their name from a set of pitches, and the ladder of tones above a bass note.

Conventions
-----------
* The tones of a chord are counted from the root: root 0, third 1, fifth 2, seventh 3.
* ``sparse`` means three of the four notes of a seventh chord: the one without its fifth, or without its third where the fifth is lowest.
  Triads have no sparse form; for them the word changes nothing.

Rule
----
A set of notes takes the smallest chord that holds it. The root is told by the letters, stacked in thirds; only where the letters do not
stack to a known chord, by sound, and then a diminished seventh or an augmented triad is named from its lowest note, inversion 0. A missing
third is taken as major, or as minor where the fifth is diminished; a missing fifth as perfect, where the sound leaves a choice; but
what would then be a dominant is none without its third (``dominant_without_third`` excepted). Two names are no chord.

An augmented sixth (A♭ C F♯, with or without E♭) is told by its letters alone, and named from its lower note; that is its root here, and its
tones are counted root 0, third 1, fifth 2, sixth 3. The sparse form of it has no fifth.

Source: triads and sevenths in semitones are common practice (any primer of harmony); inversion by the lowest note likewise.

>>> from annotator.music.score import pitch_of
>>> name_chord([pitch_of("E", 0, 3), pitch_of("G", 0, 3), pitch_of("C", 0, 4)])
Chord(root='C', quality='major', inversion=1, bass='E')
>>> tones(Chord("G", "dominant-seventh", 1, "B"))
('G', 'B', 'D', 'F')
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from operator import attrgetter
from typing import NamedTuple

from annotator.music.names import alter_of, class_of, spelled
from annotator.music.score import SEMITONES, STEPS, Pitch


class Chord(NamedTuple):
    """A chord: root, quality, inversion (0 root position … 3), and the bass note's name.

    Qualities: ``major``, ``minor``, ``diminished``, ``augmented``, ``dominant-seventh``, ``major-seventh``, ``minor-seventh``,
    ``half-diminished-seventh``, ``diminished-seventh``, ``augmented-sixth`` (its root is the lower note of the sixth),
    ``open-fifth`` (root and fifth; 1 is its inversion).
    """

    root: str
    quality: str
    inversion: int
    bass: str


QUALITIES: dict[str, tuple[int, ...]] = {
    "major": (0, 4, 7),
    "minor": (0, 3, 7),
    "diminished": (0, 3, 6),
    "augmented": (0, 4, 8),
    "dominant-seventh": (0, 4, 7, 10),
    "major-seventh": (0, 4, 7, 11),
    "minor-seventh": (0, 3, 7, 10),
    "half-diminished-seventh": (0, 3, 6, 10),
    "diminished-seventh": (0, 3, 6, 9),
    "augmented-sixth": (0, 4, 7, 10),
    "open-fifth": (0, 7),
}
"""Each quality's tones in semitones above the root. The order decides where a chord with a missing note leaves a choice."""

FAMILIAR = frozenset({"major", "minor", "dominant-seventh", "minor-seventh"})
"""Qualities whose name a player reads as quickly as its notes."""

SURE = frozenset({"dominant-seventh", "augmented-sixth"})
"""Chords of four tones that three of them, the third among these, tell beyond doubt."""

STACKED, SIXTH, FIFTH = (0, 2, 4, 6), (0, 2, 4, 5), (0, 4)
"""Letters of a chord's tones above its root: stacked in thirds; in an augmented sixth, spelled as a sixth; in an open fifth."""

FEWEST_NAMES, MOST_NAMES = 3, 5
"""With fewer names, or more, there is no chord; five are a seventh chord with one tone spelled in two ways."""

SYMMETRIC = frozenset({"augmented", "diminished-seventh"})
"""Qualities whose root cannot be heard: every inversion sounds like a root position."""

Tone = tuple[int, int]
"""A tone above the root, in letters and in semitones; or a name: letter 0..6 for C..B, and pitch class."""

PLACES = {2: (), 3: ((0, 1, 2),), 4: ((0, 1, 2, 3), (0, 1, 3), (0, 2, 3))}
"""Which tones may be there, by how many a chord has: a triad's, a seventh chord's, those without its fifth, those without its third."""

DOMINANT_WITHOUT_THIRD = frozenset({(0, 0), (4, 7), (6, 10)})
_HEIGHT = attrgetter("semitone", "diatonic")


def _letters(quality: str) -> tuple[int, ...]:
    """Return the letters of a quality's tones above the root."""
    return {"augmented-sixth": SIXTH, "open-fifth": FIFTH}.get(quality, STACKED)


def _shapes() -> tuple[dict[frozenset[Tone], str], dict[frozenset[int], str]]:
    """Return the qualities that sets of tones stand for, by letters and semitones, and by semitones alone."""
    spelled, sounding = dict[frozenset[Tone], str](), dict[frozenset[int], str]()
    for quality, semitones in QUALITIES.items():
        tones = tuple(zip(_letters(quality), semitones, strict=False))
        for places in PLACES[len(semitones)]:
            spelled.setdefault(frozenset(tones[place] for place in places), quality)
            if 1 in places:  # without the third nothing is told by sound
                sounding.setdefault(frozenset(semitones[place] for place in places), quality)
    for no_chord in (DOMINANT_WITHOUT_THIRD, frozenset({(0, 0), (4, 7), (5, 10)})):
        del spelled[no_chord]
    del sounding[frozenset({0, 3, 9})]  # which is a diminished triad
    return spelled, sounding


_SPELLED, _SOUNDING = _shapes()


def name_chord(pitches: Sequence[Pitch]) -> Chord | None:
    """Return the smallest chord that holds all of these pitches, inversion by the lowest; None where there is none.

    >>> from annotator.music.score import pitch_of
    >>> name_chord([pitch_of("C", 0, 3), pitch_of("D", 1, 3), pitch_of("G", 0, 3)])  # no stack of letters: by sound
    Chord(root='C', quality='minor', inversion=0, bass='C')
    """
    mask = 0
    for pitch in pitches:
        key = pitch.semitone
        if not isinstance(key, int):
            return None
        mask |= 1 << pitch.diatonic % 7 * 12 + key % 12
    if not FEWEST_NAMES <= mask.bit_count() <= MOST_NAMES:
        return None
    lowest = min(pitches, key=_HEIGHT)
    return _chord(mask, lowest.diatonic % 7 * 12 + int(lowest.semitone) % 12)


def dominant_without_third(pitches: Sequence[Pitch]) -> Chord | None:
    """Return the dominant seventh that root, fifth and seventh alone, spelled so, may stand for; else None.

    Whether they do, only the chords beside them tell (``leads_to``).

    >>> from annotator.music.score import pitch_of
    >>> dominant_without_third([pitch_of("D", 0, 3), pitch_of("G", 0, 3), pitch_of("F", 0, 3)])
    Chord(root='G', quality='dominant-seventh', inversion=2, bass='D')
    """
    return _of_tones(pitches, DOMINANT_WITHOUT_THIRD, "dominant-seventh")


def open_fifth(pitches: Sequence[Pitch]) -> Chord | None:
    """Return the perfect fifth that is all there is of a chord, spelled so, perhaps turned over; else None.

    >>> from annotator.music.score import pitch_of
    >>> open_fifth([pitch_of("G", 0, 3), pitch_of("G", 0, 4), pitch_of("C", 0, 4)])
    Chord(root='C', quality='open-fifth', inversion=1, bass='G')
    """
    return _of_tones(pitches, frozenset({(0, 0), (4, 7)}), "open-fifth")


def _of_tones(pitches: Sequence[Pitch], tones: frozenset[Tone], quality: str) -> Chord | None:
    """Return the chord of this quality of which pitches hold just these tones; None where they do not."""
    names = {(pitch.diatonic % 7, int(pitch.semitone) % 12) for pitch in pitches}
    for root in names if len(names) == len(tones) else ():
        if _above(root, names) == tones:
            return over_bass(Chord(_name(*root), quality, 0, _name(*root)), min(pitches, key=_HEIGHT))
    return None


def _above(root: Tone, names: Iterable[Tone]) -> frozenset[Tone]:
    """Return some names as tones above one of them."""
    return frozenset([((letter - root[0]) % 7, (key - root[1]) % 12) for letter, key in names])


def incomplete(chord: Chord, keys: Iterable[int]) -> bool:
    """Return whether a chord that is no dominant, with these keys, is a seventh chord for want of a tone: then it is to be doubted.

    A triad that lacks a tone has no name, and a dominant seventh that has one has its third.
    """
    size = len(QUALITIES[chord.quality])
    return size == 4 and chord.quality not in SURE and len({key % 12 for key in keys}) < size


def is_familiar(chord: Chord) -> bool:
    """Return whether a chord's name is read at a glance: a triad, a dominant or a minor seventh, without a double sign."""
    return chord.quality in FAMILIAR and all(abs(alter_of(name)) < 2 for name in (chord.root, chord.bass))


def leads_to(dominant: Chord, chord: Chord) -> bool:
    """Return whether a chord is the triad, major or minor, a fifth below a dominant."""
    return chord.quality in ("major", "minor") and (class_of(dominant.root) + 5 - class_of(chord.root)) % 12 == 0


def believed(pitches: Sequence[Pitch], beside: Iterable[Chord]) -> Chord | None:
    """Return the chord of some pitches, but a doubtful one only where a chord beside it confirms it.

    Three tones of a seventh chord that is no dominant need the same harmony beside them, a dominant without its third the same or the
    chord that it leads to.
    """
    chord = name_chord(pitches)
    if chord is not None and not incomplete(chord, [int(pitch.semitone) for pitch in pitches]):
        return chord
    doubtful = chord or dominant_without_third(pitches)
    if doubtful is not None and any(same_harmony(doubtful, each) or (chord is None and leads_to(doubtful, each)) for each in beside):
        return doubtful
    return None


@lru_cache(maxsize=1 << 16)
def _chord(mask: int, lowest: int) -> Chord | None:
    """Return the chord of a set of names above one of them; a name is 12 × letter (0..6 for C..B) + pitch class, the set has its bit."""
    names, bass = [divmod(code, 12) for code in range(84) if mask >> code & 1], divmod(lowest, 12)
    for root in names:
        quality = _SPELLED.get(_above(root, names))
        if quality:
            return Chord(_name(*root), quality, _letters(quality).index((bass[0] - root[0]) % 7), _name(*bass))
    for root in names:
        quality = _SOUNDING.get(frozenset([(key - root[1]) % 12 for _, key in names]))
        if quality in SYMMETRIC:
            return Chord(_name(*bass), quality, 0, _name(*bass))
        if quality:
            return Chord(_name(*root), quality, QUALITIES[quality].index((bass[1] - root[1]) % 12), _name(*bass))
    return None


def _name(letter: int, pitch_class: int) -> str:
    """Return the name of a pitch class on a letter."""
    return spelled(letter, (pitch_class - SEMITONES[letter] + 6) % 12 - 6)


@lru_cache(maxsize=4096)
def tones(chord: Chord) -> tuple[str, ...]:
    """Return the names of a chord's tones from the root up."""
    root = STEPS.index(chord.root[0])
    letters = _letters(chord.quality)
    return tuple(
        _name((root + letter) % 7, (class_of(chord.root) + semitones) % 12)
        for letter, semitones in zip(letters, QUALITIES[chord.quality], strict=False)
    )


def same_harmony(one: Chord, other: Chord) -> bool:
    """Return whether two chords are the same but for their bass note."""
    return one.root == other.root and one.quality == other.quality


def over_bass(chord: Chord, bass: Pitch) -> Chord:
    """Return a chord with the inversion that a bass note gives it; as it is where that is no tone of it.

    >>> from annotator.music.score import pitch_of
    >>> over_bass(Chord("G", "major", 1, "B"), pitch_of("G", 0, 2))
    Chord(root='G', quality='major', inversion=0, bass='G')
    """
    names = tones(chord)
    name = spelled(bass.diatonic, int(bass.alter))
    return Chord(chord.root, chord.quality, names.index(name), name) if name in names else chord


@lru_cache(maxsize=1 << 14)
def rungs(chord: Chord, bass: int, sparse: bool = False) -> tuple[int, ...]:
    """Return the ladder of a chord above one of its tones: semitones within one octave, rising from 0.

    ``bass`` is that tone's pitch class. Raises ``ValueError`` where it is no tone of the (sparse) chord.

    >>> rungs(Chord("G", "dominant-seventh", 1, "B"), 11), rungs(Chord("G", "dominant-seventh", 1, "B"), 11, sparse=True)
    ((0, 3, 6, 8), (0, 6, 8))
    """
    root = class_of(chord.root)
    semitones = QUALITIES[chord.quality]
    if sparse and len(semitones) == 4:
        left_out = 1 if (bass - root) % 12 == semitones[2] else 2
        semitones = semitones[:left_out] + semitones[left_out + 1 :]
    ladder = tuple(sorted((root + semitone - bass) % 12 for semitone in semitones))
    if ladder[0]:
        raise ValueError(f"pitch class {bass} is no tone of {chord.root} {chord.quality}")
    return ladder


@lru_cache(maxsize=4096)
def classes_of(chord: Chord) -> frozenset[int]:
    """Return the pitch classes of a chord's tones."""
    return frozenset(class_of(name) for name in tones(chord))


def keys_above(chord: Chord, bass: int, places: Iterable[int], sparse: bool = False) -> tuple[int, ...] | None:
    """Return the keys (MIDI numbers) so many chord tones above the key ``bass``, 0 that key itself; None where it is no tone of the chord.

    >>> keys_above(Chord("C", "major", 0, "C"), 48, (0, 2, 1, 2))
    (48, 55, 52, 55)
    """
    if bass % 12 not in classes_of(chord):
        return None
    ladder = rungs(chord, bass % 12, sparse)
    return tuple([bass + ladder[place % len(ladder)] + 12 * (place // len(ladder)) for place in places])
