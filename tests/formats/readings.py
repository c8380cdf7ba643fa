"""Other readings of sources in other formats, to hold ours against, and a way to convert many sources fast.

Conventions
-----------
* A reading is the sorted list of (bar, onset in the bar, key, duration) of all heads, in quarter notes, bars counted from 0. Grace notes
  are left out. ``played`` is what sounds: (onset, key, duration), ties joined.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import verovio
from music21 import converter, stream
from music21.converter import subConverters
from music21.midi import translate

from annotator.errors import ScoreError
from annotator.formats import Source, converting
from annotator.formats.converter import answer
from annotator.music.score import Score
from annotator.reading import read

Reading = list[tuple[int, Fraction, int, Fraction]]
Played = list[tuple[Fraction, int, Fraction]]
READERS = {"kern": subConverters.ConverterHumdrum, "abc": subConverters.ConverterABC, "mei": subConverters.ConverterMEI}


def at_home(kind: str, source: Source) -> dict[str, Any]:
    """Convert in this process, which a thousand small sources are too many for otherwise."""
    said = answer(source.job(kind))
    if not said["ok"]:
        raise ScoreError(said["why"])
    return said


def read_at_home(data: bytes, monkeypatch: Any) -> Score:
    """Return the score of a source, converted in this process."""
    monkeypatch.setattr(converting, "ask", at_home)
    return read(data)


def ours(score: Score) -> Reading:
    """Return our reading of a score."""
    found: Reading = []
    for part in score.parts:
        for note in part.notes:
            bar = part.bars[note.bar]
            if not note.grace:
                found.append((note.bar, note.onset - bar.onset, note.pitch.semitone, note.duration))
    return sorted(found)


def theirs(score: Any) -> Reading:
    """Return the converter's own reading of a score of its own."""
    found: Reading = []
    for part in score.parts if score.parts else [score]:
        for index, bar in enumerate(part.getElementsByClass(stream.Measure)):
            for element in bar.flatten().notes:
                if element.quarterLength:
                    where = (index, Fraction(element.offset).limit_denominator(10080))
                    found += [(*where, pitch.midi, Fraction(element.quarterLength)) for pitch in element.pitches]
    return sorted(found)


def played(score: Score) -> Played:
    """Return what sounds in a score as we read it."""
    first: dict[int, int] = {}
    onset: dict[int, Any] = {}
    lasting: dict[int, Fraction] = {}
    for part in score.parts:
        for note in part.notes:
            if not note.grace:
                head = first[note.number] = first.get(note.continues, note.number) if note.continues is not None else note.number
                onset.setdefault(head, note)
                lasting[head] = lasting.get(head, Fraction(0)) + note.duration
    return sorted((note.onset, note.pitch.semitone, lasting[head]) for head, note in onset.items())


def read_by_converter(kind: str, data: bytes) -> Reading:
    """Return the converter's own reading of a source."""
    reader = READERS[kind]()
    reader.parseData(data.decode("utf-8"))
    score = reader.stream
    return theirs(score.scores[0] if isinstance(score, stream.Opus) else score)


def played_by_converter(midi: bytes) -> Played:
    """Return what the converter's own reading of a MIDI file sounds like."""
    found: Played = []
    for part in translate.midiStringToStream(midi).parts:
        for element in part.stripTies().flatten().notes:
            found += [(Fraction(element.offset), pitch.midi, Fraction(element.quarterLength)) for pitch in element.pitches]
    return sorted(found)


def engravers_mei(kern: str) -> bytes:
    """Return the MEI that the engraver makes of a kern source: another program's reading of it."""
    toolkit = verovio.toolkit()
    assert toolkit.loadData(kern)
    return str(toolkit.getMEI()).encode()


def midi_of(path: Any) -> bytes:
    """Return a score as a MIDI file, made by the converter."""
    return bytes(translate.music21ObjectToMidiFile(converter.parse(path, forceSource=True)).writestr())
