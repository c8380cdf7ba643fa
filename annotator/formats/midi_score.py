"""From a MIDI file to a score of the converter's: its voices, their hands, written times, names of notes.

Conventions
-----------
* A voice is what one channel of one track plays. One voice alone is a piano on one track: it is cut in two hands. Two voices are the two
  hands, the higher one above, if both are pianos. Of more voices, two of a piano are its hands and the others stay what they are.
* Meter is 4/4 where the file names none; a change inside a bar counts from the next bar.
* Hands have the same number of bars.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from annotator.errors import ScoreError
from annotator.formats.midi_bars import Bar, Struck, bars_of, lay_out
from annotator.formats.midi_events import Performance, Stroke, read_midi
from annotator.formats.quantising import quantised
from annotator.formats.spelling import likely_signature, spelled
from annotator.formats.two_hands import MIDDLE, in_two_hands

LAST_PIANO = 7
"""Programs 0 to 7 are pianos, harpsichord and clavinet in General MIDI."""

MOST_QUARTERS = 20_000


@dataclass(frozen=True, slots=True)
class Voice:
    """A voice on its way to paper: its name, whether a piano plays it, its strokes at written times."""

    name: str
    piano: bool
    strokes: list[Stroke]


def midi_score(data: bytes) -> tuple[Any, list[list[int]], list[str], int]:
    """Return the score, which of its parts are the staves of one piano, what there is to tell, and how many notes are struck."""
    performance = read_midi(data)
    if max(stroke.end for stroke in performance.strokes) > MOST_QUARTERS:
        raise ScoreError(f"this MIDI file is longer than {MOST_QUARTERS} quarter notes")
    voices, hands = _voices(performance)
    told = [f"left out: {performance.percussion} percussion notes"] if performance.percussion else []
    told += ["the file breaks off and is read as far as it goes"] if performance.cut else []
    return _score(performance, voices), hands, told, sum(len(voice.strokes) for voice in voices)


def _voices(performance: Performance) -> tuple[list[Voice], list[list[int]]]:
    """Return the voices in the order of the page, and the places of those that are one piano's staves."""
    played: dict[tuple[int, int], list[Stroke]] = defaultdict(list)
    for stroke in performance.strokes:
        played[stroke.track, stroke.channel].append(stroke)
    voices = []
    for (track, channel), strokes in sorted(played.items()):
        piano = performance.programs.get(channel, 0) <= LAST_PIANO
        voices.append(Voice(performance.names.get(track, ""), piano, quantised(strokes)))
    pianos = [place for place, voice in enumerate(voices) if voice.piano]
    if len(voices) == 1:
        right, left = in_two_hands(voices[0].strokes)
        if right and left:
            return [Voice("Piano", True, right), Voice("Piano", True, left)], [[0], [1]]
        return voices, []
    if len(pianos) == 2 and pianos[1] == pianos[0] + 1:
        hands = (Voice("Piano", True, voices[place].strokes) for place in pianos)
        above, below = sorted(hands, key=_height, reverse=True)
        voices[pianos[0]], voices[pianos[1]] = above, below
        return voices, [[pianos[0]], [pianos[1]]]
    return voices, []


def _height(voice: Voice) -> float:
    """Return the mean key of a voice."""
    return sum(stroke.key for stroke in voice.strokes) / len(voice.strokes)


def _score(performance: Performance, voices: Sequence[Voice]) -> Any:
    """Return the converter's score."""
    from music21 import metadata, stream

    keys = performance.keys or [(Fraction(0), likely_signature(stroke.key for stroke in performance.strokes), False)]
    bars = bars_of(performance.meters, max(stroke.end for voice in voices for stroke in voice.strokes))
    score = stream.Score()
    score.insert(0, metadata.Metadata())
    title = performance.names.get(0, "")
    if title and all(stroke.track for stroke in performance.strokes):
        score.metadata.title = title
    for place, voice in enumerate(voices):
        score.insert(0, _part(voice, keys, bars, None if place else performance.tempo))
    return score


def _part(voice: Voice, keys: Sequence[tuple[Fraction, int, bool]], bars: Sequence[Bar], tempo: float | None) -> Any:
    """Return a voice as a part in bars, its rests written."""
    from music21 import clef, instrument, key, stream
    from music21.meter import TimeSignature
    from music21.tempo import MetronomeMark

    part = stream.Part()
    part.insert(0, instrument.Piano() if voice.piano else instrument.Instrument())
    part.partName = voice.name or ("Piano" if voice.piano else "")
    waiting, fifths = list(keys), 0
    for number, (bar, lines) in enumerate(zip(bars, lay_out(voice.strokes, bars), strict=True), 1):
        measure = stream.Measure(number=number)
        if number == 1:
            measure.insert(0, clef.BassClef() if _height(voice) < MIDDLE else clef.TrebleClef())
            if tempo:
                measure.insert(0, MetronomeMark(number=round(tempo)))
        while waiting and (waiting[0][0] <= bar.start or number == 1):
            _, fifths, minor = waiting.pop(0)
            measure.insert(0, key.KeySignature(fifths).asKey("minor" if minor else "major"))
        if bar.meter:
            measure.insert(0, TimeSignature(f"{bar.meter[0]}/{bar.meter[1]}"))
        for name, line in enumerate(lines, 1):
            inside = stream.Voice(id=str(name))
            _fill(measure if len(lines) == 1 else inside, line, bar, fifths)
            if len(lines) > 1:
                measure.insert(0, inside)
        part.insert(bar.start, measure)
    return part


def _fill(stream: Any, line: Sequence[Struck], bar: Bar, fifths: int) -> None:
    """Put what is struck in a line, and the rests between, into a bar or one of its voices."""
    from music21 import chord, duration, note, pitch, tie

    now = Fraction(0)
    for struck in [*line, Struck(bar.length, Fraction(0), ())]:
        if struck.onset > now:
            stream.insert(now, note.Rest(quarterLength=struck.onset - now))
        now = struck.onset + struck.length
        notes = []
        for strike, before, after in struck.keys:
            step, alter, octave = spelled(strike, fifths)
            one = note.Note(pitch.Pitch(step=step, octave=octave, accidental=alter or None))
            if before or after:
                one.tie = tie.Tie("continue" if before and after else "start" if after else "stop")
            notes.append(one)
        if notes:
            played = notes[0] if len(notes) == 1 else chord.Chord(notes)
            played.duration = duration.Duration(struck.length)
            stream.insert(struck.onset, played)
