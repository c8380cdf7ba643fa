"""Writes a piece as MusicXML 4.0: accidentals, beams and directions are worked out here, stems and spacing are left to the engraver."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree
from notation import LETTERS, MAJOR_FIFTHS, Stroke, Tone, alters_of, read_hand

DIVISIONS = 4
TYPES = {"w": "whole", "h": "half", "q": "quarter", "e": "eighth", "s": "16th"}
BEAMS = {"e": 1, "s": 2}
ACCIDENTALS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
CLEFS = {"G": ("G", "2"), "F": ("F", "4")}
ARTICULATIONS = {"!": "staccato", ">": "accent", "_": "tenuto"}
DOCTYPE = '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">'


@dataclass(frozen=True)
class Piece:
    """A piece to be written: ``bars`` are pairs of right and left hand in the text notation.

    ``repeats`` are pairs of bar numbers, first and last; ``doubles`` the bars that end with a double bar line.
    """

    name: str
    title: str
    key: str
    fifths: int
    time: tuple[int, int]
    tempo: str
    quarters_a_minute: int
    bars: tuple[tuple[str, str], ...]
    minor: bool = False
    repeats: tuple[tuple[int, int], ...] = ()
    doubles: tuple[int, ...] = ()


def written(piece: Piece) -> bytes:
    """Return the piece as the bytes of a MusicXML file."""
    root = etree.Element("score-partwise", version="4.0")
    _text(etree.SubElement(root, "work"), "work-title", piece.title)
    about = etree.SubElement(root, "identification")
    _text(about, "creator", "annotator project", type="composer")
    _text(about, "rights", "Composed for the annotator project; free to use (CC0)")
    _text(etree.SubElement(about, "encoding"), "software", "examples/compose.py")
    listed = etree.SubElement(etree.SubElement(root, "part-list"), "score-part", id="P1")
    _text(listed, "part-name", "Piano")
    part = etree.SubElement(root, "part", id="P1")
    hands = _Hand(piece, 1), _Hand(piece, 2)
    for number, texts in enumerate(piece.bars, 1):
        _bar(part, piece, number, hands, texts)
    tree = etree.ElementTree(root)
    return etree.tostring(tree, pretty_print=True, xml_declaration=True, encoding="UTF-8", doctype=DOCTYPE)


def _text(parent: etree._Element, name: str, text: object, **attributes: str) -> etree._Element:
    """Add an element that holds a text."""
    element = etree.SubElement(parent, name, attributes)
    element.text = str(text)
    return element


def _bar(part: etree._Element, piece: Piece, number: int, hands: Sequence[_Hand], texts: tuple[str, str]) -> None:
    """Write one bar: attributes, repeat signs, the right hand, the left hand."""
    bar = etree.SubElement(part, "measure", number=str(number))
    if number == 1:
        _attributes(bar, piece)
        _tempo(bar, piece)
    if any(number == first for first, _ in piece.repeats) and number > 1:
        _barline(bar, "left", "heavy-light", "forward")
    length = Fraction(4 * piece.time[0], piece.time[1])
    for hand, text in zip(hands, texts, strict=True):
        voices = [read_hand(voice, piece.key) for voice in text.split(" & ")]
        for voice, strokes in enumerate(voices):
            total = sum((stroke.quarters for stroke in strokes), Fraction(0))
            if total != length:
                raise ValueError(f"{piece.name}, bar {number}, staff {hand.staff}: {total} quarters instead of {length}")
            if hand.staff == 2 or voice:
                _text(etree.SubElement(bar, "backup"), "duration", int(length * DIVISIONS))
            hand.write(bar, strokes, voice)
    if number == len(piece.bars):
        _barline(bar, "right", "light-heavy", None)
    elif any(number == last for _, last in piece.repeats):
        _barline(bar, "right", "light-heavy", "backward")
    elif number in piece.doubles:
        _barline(bar, "right", "light-light", None)


def _attributes(bar: etree._Element, piece: Piece) -> None:
    attributes = etree.SubElement(bar, "attributes")
    _text(attributes, "divisions", DIVISIONS)
    key = etree.SubElement(attributes, "key")
    _text(key, "fifths", piece.fifths)
    _text(key, "mode", "minor" if piece.minor else "major")
    time = etree.SubElement(attributes, "time")
    _text(time, "beats", piece.time[0])
    _text(time, "beat-type", piece.time[1])
    _text(attributes, "staves", 2)
    for staff, clef in enumerate("GF", 1):
        element = etree.SubElement(attributes, "clef", number=str(staff))
        for name, text in zip(("sign", "line"), CLEFS[clef], strict=True):
            _text(element, name, text)


def _tempo(bar: etree._Element, piece: Piece) -> None:
    direction = etree.SubElement(bar, "direction", placement="above")
    words = _text(etree.SubElement(direction, "direction-type"), "words", piece.tempo)
    words.set("font-weight", "bold")
    _text(direction, "staff", 1)
    etree.SubElement(direction, "sound", tempo=str(piece.quarters_a_minute))


def _barline(bar: etree._Element, where: str, style: str, repeat: str | None) -> None:
    barline = etree.SubElement(bar, "barline", location=where)
    _text(barline, "bar-style", style)
    if repeat:
        etree.SubElement(barline, "repeat", direction=repeat)


class _Hand:
    """Writes the bars of one hand, voice by voice; remembers ties and hairpins that go on, and the accidentals of the bar before."""

    def __init__(self, piece: Piece, staff: int) -> None:
        self.staff = staff
        self.signature = dict.fromkeys(LETTERS, 0) | _signature(piece.fifths)
        self.beat = Fraction(4, piece.time[1]) * (3 if piece.time[1] == 8 else 1)
        self.halves = piece.time == (4, 4)
        self.voice = 0
        self.tied: dict[int, tuple[Tone, ...]] = {}
        self.bar_before: dict[tuple[str, int], int] = {}

    def write(self, bar: etree._Element, strokes: Sequence[Stroke], voice: int) -> None:
        """Write the strokes of one voice (the upper is 0) in one bar."""
        in_force: dict[tuple[str, int], int] = {}
        self.voice = voice
        beams = self._beams(strokes)
        for stroke, beam in zip(strokes, beams, strict=True):
            for word in stroke.before:
                self._direction(bar, word)
            self._notes(bar, stroke, beam, in_force)
            if "|" in stroke.marks:
                self._direction(bar, "\\.")
        self.bar_before = in_force

    def _notes(self, bar: etree._Element, stroke: Stroke, beam: tuple[str, ...], in_force: dict[tuple[str, int], int]) -> None:
        for place, tone in enumerate(stroke.tones or (None,)):
            note = etree.SubElement(bar, "note")
            if place:
                etree.SubElement(note, "chord")
            if tone is None:
                etree.SubElement(note, "rest")
            else:
                pitch = etree.SubElement(note, "pitch")
                _text(pitch, "step", tone.letter)
                if tone.alter:
                    _text(pitch, "alter", tone.alter)
                _text(pitch, "octave", tone.octave)
            _text(note, "duration", int(stroke.quarters * DIVISIONS))
            tied = tone is not None and tone in self.tied.get(self.voice, ())
            ties = [kind for kind, on in (("stop", tied), ("start", "~" in stroke.marks)) if on]
            for kind in ties:
                etree.SubElement(note, "tie", type=kind)
            _text(note, "voice", (1 if self.staff == 1 else 5) + self.voice)
            _text(note, "type", TYPES[stroke.value[0]])
            if stroke.value.endswith("."):
                etree.SubElement(note, "dot")
            if tone is not None:
                self._accidental(note, tone, tied, in_force)
            _text(note, "staff", self.staff)
            for level, kind in enumerate(beam, 1):
                if not place:
                    _text(note, "beam", kind, number=str(level))
            self._notations(note, stroke.marks, ties, place == 0)
        self.tied[self.voice] = stroke.tones if "~" in stroke.marks else ()

    def _accidental(self, note: etree._Element, tone: Tone, tied: bool, in_force: dict[tuple[str, int], int]) -> None:
        """Write the accidental where the tone differs from what an unmarked note would be; a reminder where the bar before had another."""
        spot = (tone.letter, tone.octave)
        plain = spot not in in_force and self.signature[tone.letter] == tone.alter
        if plain and self.bar_before.get(spot, tone.alter) != tone.alter:
            _text(note, "accidental", ACCIDENTALS[tone.alter], cautionary="yes")
            in_force[spot] = tone.alter
        elif in_force.get(spot, self.signature[tone.letter]) != tone.alter and not tied:
            _text(note, "accidental", ACCIDENTALS[tone.alter])
            in_force[spot] = tone.alter

    def _notations(self, note: etree._Element, marks: str, ties: list[str], main: bool) -> None:
        notations = etree.Element("notations")
        for kind in ties:
            etree.SubElement(notations, "tied", type=kind)
        if main:
            for mark, kind in ((")", "stop"), ("(", "start")):
                if mark in marks:
                    etree.SubElement(notations, "slur", type=kind, number=str(self.staff + 2 * self.voice))
            if "^" in marks:
                finger = marks[marks.index("^") + 1]
                side = "above" if self.staff == 1 and not self.voice else "below"
                _text(etree.SubElement(notations, "technical"), "fingering", finger, placement=side)
            found = [name for mark, name in ARTICULATIONS.items() if mark in marks]
            articulations = etree.SubElement(notations, "articulations") if found else None
            for name in found:
                etree.SubElement(articulations, name)
            if "$" in marks:
                etree.SubElement(notations, "fermata", type="upright")
        if len(notations):
            note.append(notations)

    def _direction(self, bar: etree._Element, word: str) -> None:
        """Write a dynamic, a hairpin's end or a word."""
        direction = etree.SubElement(bar, "direction", placement="above" if word.startswith('"') else "below")
        inside = etree.SubElement(direction, "direction-type")
        if word.startswith('"'):
            _text(inside, "words", word.strip('"').replace("_", " "), **{"font-style": "italic"})
        elif word in ("\\<", "\\>", "\\."):
            kind = {"\\<": "crescendo", "\\>": "diminuendo", "\\.": "stop"}[word]
            etree.SubElement(inside, "wedge", type=kind, number=str(self.staff))
        else:
            etree.SubElement(etree.SubElement(inside, "dynamics"), word[1:])
        _text(direction, "staff", self.staff)

    def _beams(self, strokes: Sequence[Stroke]) -> list[tuple[str, ...]]:
        """Return the beams of each stroke, level by level."""
        found: list[tuple[str, ...]] = [()] * len(strokes)
        for group in self._groups(strokes):
            levels = [BEAMS[strokes[i].value[0]] for i in group]
            for place, index in enumerate(group):
                before = levels[place - 1] if place else 0
                after = levels[place + 1] if place + 1 < len(group) else 0
                found[index] = tuple(_beam(level, before, after) for level in range(1, levels[place] + 1))
        return found

    def _groups(self, strokes: Sequence[Stroke]) -> Iterator[list[int]]:
        """Yield the indices of strokes under one beam: those of a beat, plain eighths in common time those of half a bar."""
        onset = Fraction(0)
        cells: dict[int, list[int]] = {}
        for index, stroke in enumerate(strokes):
            cells.setdefault(int(onset // self.beat), []).append(index)
            onset += stroke.quarters
        if self.halves:
            for first in (0, 2):
                pair = cells.get(first, []), cells.get(first + 1, [])
                if all(len(cell) == 2 and all(strokes[i].value == "e" for i in cell) for cell in pair):
                    cells[first] = pair[0] + pair[1]
                    cells[first + 1] = []
        for cell in cells.values():
            group: list[int] = []
            for index in [*cell, -1]:
                if index >= 0 and strokes[index].value[0] in BEAMS and strokes[index].tones:
                    group.append(index)
                    continue
                if len(group) > 1:
                    yield group
                group = []


def _beam(level: int, before: int, after: int) -> str:
    """Return the beam of one level between neighbours with so many beams."""
    if before >= level:
        return "continue" if after >= level else "end"
    if after >= level:
        return "begin"
    return "backward hook" if before else "forward hook"


def _signature(fifths: int) -> dict[str, int]:
    """Return the letters that a key signature alters."""
    names = {count: tonic for tonic, count in MAJOR_FIFTHS.items()}
    return {letter: alter for letter, alter in alters_of(names[fifths]).items() if alter}
