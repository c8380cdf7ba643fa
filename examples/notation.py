r"""A small text notation for piano music, read into bars of notes.

One string a hand and bar. Tokens are separated by blanks:

* ``w h q e s`` set the value of what follows (whole to sixteenth), ``q.`` dotted; ``r`` is a rest;
* ``F#4`` is a note, ``C4/E4/G4`` a chord;
* ``C5..D6`` is every step from C5 to D6 in the key of the piece, ``C5..D6@F`` in the scale of F major, ``@am`` A harmonic minor,
  ``@chr`` every semitone; ``D2..A5*D,F,A`` every note of that chord;
* `` & `` parts the upper voice of a hand from the lower one, each a full bar;
* after a note (before ``..``): ``(`` and ``)`` begin and end a slur, ``^1`` is a finger, ``!`` staccato, ``>`` accent, ``_`` tenuto,
  ``~`` tie to the next note, ``$`` fermata; a mark after the end of a range belongs to its last note;
* ``\p`` ``\mf`` … are dynamics, ``\<`` and ``\>`` begin a hairpin, ``\.`` ends it, ``"dolce"`` is a word above (``_`` for a blank).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from fractions import Fraction

LETTERS = "CDEFGAB"
SEMITONES = (0, 2, 4, 5, 7, 9, 11)
VALUES = {"w": Fraction(4), "h": Fraction(2), "q": Fraction(1), "e": Fraction(1, 2), "s": Fraction(1, 4)}
SHARP_ORDER = "FCGDAEB"
MAJOR_FIFTHS = {"C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5, "F": -1, "Bb": -2, "Eb": -3, "Ab": -4, "Db": -5}
MINOR_FIFTHS = {"A": 0, "E": 1, "B": 2, "F#": 3, "D": -1, "G": -2, "C": -3, "F": -4}
END_MARKS = "()!>_~$"
NOTE = re.compile(r"([A-G])(##|#|bb|b)?(\d)")


@dataclass(frozen=True)
class Tone:
    """A written pitch: letter, alteration, octave."""

    letter: str
    alter: int
    octave: int

    @property
    def diatonic(self) -> int:
        """Count letters from C0."""
        return 7 * self.octave + LETTERS.index(self.letter)

    @property
    def semitone(self) -> int:
        """Count keys from C0."""
        return 12 * self.octave + SEMITONES[LETTERS.index(self.letter)] + self.alter


@dataclass(frozen=True)
class Stroke:
    """A note, a chord or (without tones) a rest, with its value and what is written at it."""

    tones: tuple[Tone, ...]
    value: str
    marks: str = ""
    before: tuple[str, ...] = field(default=())

    @property
    def quarters(self) -> Fraction:
        """Length in quarter notes."""
        plain = VALUES[self.value[0]]
        return plain * Fraction(3, 2) if self.value.endswith(".") else plain


def tone_of(word: str) -> Tone:
    """Return the tone a word such as ``Bb4`` spells."""
    found = NOTE.fullmatch(word)
    if not found:
        raise ValueError(f"no note: {word}")
    letter, sign, octave = found.groups()
    return Tone(letter, {"##": 2, "#": 1, "b": -1, "bb": -2}.get(sign, 0), int(octave))


def alters_of(key: str) -> dict[str, int]:
    """Return the alteration of each letter in a key: ``F`` is F major, ``am`` A harmonic minor."""
    minor = key.endswith("m")
    tonic = key[0].upper() + key[1:].removesuffix("m")
    fifths = MINOR_FIFTHS[tonic] if minor else MAJOR_FIFTHS[tonic]
    alters = dict.fromkeys(LETTERS, 0)
    for letter in SHARP_ORDER[:fifths] if fifths > 0 else SHARP_ORDER[fifths:] if fifths else "":
        alters[letter] = 1 if fifths > 0 else -1
    if minor:
        alters[LETTERS[(LETTERS.index(tonic[0]) - 1) % 7]] += 1
    return alters


def between(first: Tone, last: Tone, alters: dict[str, int]) -> list[Tone]:
    """Return the tones from one to another by step, altered as in a scale; the ends stand as they are spelled."""
    way = 1 if last.diatonic > first.diatonic else -1
    inner = range(first.diatonic + way, last.diatonic, way)
    return [first, *(Tone(LETTERS[d % 7], alters[LETTERS[d % 7]], d // 7) for d in inner), last]


def semitones_between(first: Tone, last: Tone) -> list[Tone]:
    """Return every semitone from one tone to another: sharps on the way up, flats on the way down."""
    way = 1 if last.semitone > first.semitone else -1
    names = {SEMITONES[i]: (letter, 0) for i, letter in enumerate(LETTERS)}
    for i, letter in enumerate(LETTERS):
        names.setdefault((SEMITONES[i] + way) % 12, (letter, way))
    return [first, *(Tone(*names[s % 12], s // 12) for s in range(first.semitone + way, last.semitone, way)), last]


def read_hand(text: str, key: str) -> list[Stroke]:
    """Read one hand's bar."""
    value, waiting = "q", []
    strokes: list[Stroke] = []
    for token in text.split():
        if re.fullmatch(r"[whqes]\.?", token):
            value = token
        elif token.startswith("\\") or token.startswith('"'):
            waiting.append(token)
        else:
            found = _strokes(token, value, key)
            strokes.append(replace(found[0], before=tuple(waiting)))
            strokes.extend(found[1:])
            waiting = []
    if waiting:  # what stands after the last note goes to its end
        strokes[-1] = replace(strokes[-1], marks=strokes[-1].marks + "".join("|" for w in waiting if w == "\\."))
    return strokes


def _strokes(token: str, value: str, key: str) -> list[Stroke]:
    """Read one token: a rest, a note or chord, or a range of notes."""
    if token == "r":
        return [Stroke((), value)]
    if ".." not in token:
        names, marks = _split(token)
        return [Stroke(tuple(tone_of(name) for name in names.split("/")), value, marks)]
    start, _, rest = token.partition("..")
    end_marks = "".join(mark for mark in rest if mark in END_MARKS)
    end, _, chord = "".join(mark for mark in rest if mark not in END_MARKS).partition("*")
    end, _, scale = end.partition("@")
    first, marks = _split(start)
    if scale == "chr":
        tones = semitones_between(tone_of(first), tone_of(end))
    else:
        tones = between(tone_of(first), tone_of(end), alters_of(scale or key))
    if chord:
        wanted = {name[0]: tone_of(name + "0").alter for name in chord.split(",")}
        tones = [Tone(t.letter, wanted[t.letter], t.octave) for t in tones if t.letter in wanted]
    strokes = [Stroke((tone,), value) for tone in tones]
    strokes[0] = replace(strokes[0], marks=marks)
    strokes[-1] = replace(strokes[-1], marks=strokes[-1].marks + end_marks)
    return strokes


def _split(word: str) -> tuple[str, str]:
    """Part a note's name from its marks."""
    found = re.match(r"[A-G#b\d/]+", word)
    if not found:
        raise ValueError(f"no note: {word}")
    names = found.group()
    return names, word[len(names) :]
