"""Builds parts, textures and lines from a line of text, so that a test shows the notes it speaks about.

Conventions
-----------
* Tokens are separated by blanks: ``C4``, ``F#5``, ``Bb3``, ``F##4``; a chord ``C4/E4/G4``; a rest ``r``; ``C4*3`` lasts three times
  the unit; ``C4~`` is tied to the next token of the same pitch; ``|`` is for the eye only.
* The unit is ``unit`` quarter notes (a sixteenth unless told), a bar is ``bar`` quarter notes, ``fifths`` and ``mode`` the signature.
* Accidentals in force are worked out as a player reads them: by staff, letter and octave, to the end of the bar.
* Note numbers count notes and rests from 1, staff after staff. The resolution is 12 ticks to the quarter, or what ``unit`` needs.

Import it by ``from figures.lines_from_text import line_of`` (``tests`` is on pytest's ``pythonpath``).
"""

from __future__ import annotations

from fractions import Fraction
from math import lcm

from annotator.figures.lines import Line, Texture, read_lines
from annotator.music.score import STEPS, Bar, Key, Note, Part, Pitch, Sign, Time, key_of, pitch_of


def pitch(word: str) -> Pitch:
    """Return the pitch a word such as ``F#4`` or ``Bb3`` spells."""
    name, octave = word.rstrip("-0123456789"), word[len(word.rstrip("-0123456789")) :]
    return pitch_of(name[0], name.count("#") - name[1:].count("b"), int(octave))


def pitches(text: str) -> list[Pitch]:
    """Return the pitches of a text of single notes."""
    return [pitch(word) for word in text.split()]


def name(note: Note) -> str:
    """Return a note as the text spells it: ``F#4``."""
    alter = int(note.pitch.alter)
    return note.pitch.step + ("#" * alter if alter > 0 else "b" * -alter) + str(note.pitch.octave)


def names(notes: tuple[Note, ...]) -> str:
    """Return notes as a text."""
    return " ".join(name(note) for note in notes)


class _Writer:
    """Collects the notes of all staves of one part."""

    def __init__(self, unit: Fraction, bar: Fraction, key: Key, cuts: frozenset[int]) -> None:
        self.unit, self.bar, self.key, self.cuts = unit, bar, key, cuts
        self.resolution = lcm(12, unit.denominator)
        self.notes: list[Note] = []
        self.signs: dict[int, list[Sign]] = {}
        self.number = 0
        self.end = Fraction(0)

    def write(self, text: str, staff: int, voice: str) -> None:
        """Write one voice."""
        onset = Fraction(0)
        tied: dict[Pitch, int] = {}
        for token in text.replace("|", " ").split():
            word, _, times = token.rstrip("~").partition("*")
            duration = self.unit * (Fraction(times) if times else 1)
            held: dict[Pitch, int] = {}
            for place, one in enumerate(word.split("/")):
                self.number += 1
                if one == "r":
                    continue
                note = self._note(
                    pitch(one), onset, duration, staff, voice, place > 0, tied, token.endswith("~")
                )
                self.notes.append(note)
                if note.tie_start:
                    held[note.pitch] = note.number
            tied = held
            onset += duration
        self.end = max(self.end, onset)

    def _note(
        self,
        at: Pitch,
        onset: Fraction,
        duration: Fraction,
        staff: int,
        voice: str,
        chord: bool,
        tied: dict[Pitch, int],
        tie: bool,
    ) -> Note:
        bar, tick = int(onset // self.bar), int(onset * self.resolution)
        signs = self.signs.setdefault(bar, [])
        force = self.key.alters[STEPS.index(at.step)]
        for sign in signs:
            if (sign.staff, sign.step, sign.octave) == (staff, at.step, at.octave):
                force = int(sign.alter)
        if force != at.alter and at not in tied:
            signs.append(Sign(tick, staff, at.step, at.octave, at.alter))
        return Note(
            number=self.number,
            id=f"n{self.number}",
            pitch=at,
            onset=onset,
            duration=duration,
            tick=tick,
            ticks=int(duration * self.resolution),
            part="P1",
            bar=bar,
            staff=staff,
            voice=voice,
            key=self.key,
            chord=chord,
            tie_start=tie,
            tie_stop=at in tied,
            continues=tied.get(at),
        )

    def bars(self) -> tuple[Bar, ...]:
        """Return the bars that the notes fill."""
        count = max(1, -(-self.end // self.bar))
        ticks = int(self.bar * self.resolution)
        return tuple(
            Bar(
                index,
                str(index + 1),
                self.bar * index,
                ticks * index,
                ticks,
                self.key,
                Time((int(self.bar),), 4) if self.bar.denominator == 1 else None,
                cut=index in self.cuts,
                signs=tuple(sorted(self.signs.get(index, ()), key=lambda sign: sign.tick)),
            )
            for index in range(int(count))
        )


def part_of(
    right: str | tuple[str, ...] = "",
    left: str | tuple[str, ...] = "",
    *,
    unit: Fraction = Fraction(1, 4),
    bar: Fraction = Fraction(4),
    fifths: int = 0,
    mode: str | None = None,
    cuts: frozenset[int] = frozenset(),
) -> tuple[Part, int]:
    """Return a piano part and its resolution; a tuple of texts gives a hand several voices. ``cuts`` are bar indices."""
    writer = _Writer(Fraction(unit), Fraction(bar), key_of(fifths, mode), cuts)
    voice = 0
    for staff, texts in ((1, right), (2, left)):
        for text in (texts,) if isinstance(texts, str) else texts:
            voice += 1
            writer.write(text, staff, str(voice))
    return Part("P1", "Piano", 2, True, writer.bars(), tuple(writer.notes)), writer.resolution


def texture_of(right: str | tuple[str, ...] = "", left: str | tuple[str, ...] = "", **how: object) -> Texture:
    """Return the lines of a part written as text; keywords as in ``part_of``."""
    return read_lines(*part_of(right, left, **how))  # type: ignore[arg-type]


def line_of(text: str, hand: str = "right", **how: object) -> Line:
    """Return the one voice line of a text in one hand; keywords as in ``part_of``."""
    texture = texture_of(text, "", **how) if hand == "right" else texture_of("", text, **how)
    return texture.voices[0]
