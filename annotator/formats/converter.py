"""The converter's own process (music21): one source in, one MusicXML text out; for MIDI, the bars and voices that it is given.

Rule
----
The converter was not made for files that mean harm, or for broken ones: some send it into hours of work or take all memory. So it never
runs in the program's own process. A job is ``{"format": ..., "data": base64}``; the answer has the ``text`` of the MusicXML, the
``hands`` (for each staff of one piano the places of its parts), what there is to be ``told``, the number of notes ``struck`` or null, and
``by`` whom. This process opens no socket, starts no program and writes no file: what tries to is stopped.

Conventions
-----------
* A voice of a MIDI file is what one channel of one track plays. One voice alone is a piano on one track: it is cut in two hands. Two
  voices are the two hands, the higher one above, if both are pianos. Of more voices, two of a piano are its hands and the others stay.
* Meter is 4/4 where the file names none; one that changes inside a bar holds from the next bar on. Hands have the same number of bars.
* Notes are cut at barlines and tied, those struck and let go together are chords. What overlaps is in lines of its own: each chord goes
  to the first line that is free when it begins, the longer first. Times are ``Fraction`` quarter notes; in a ``Struck`` they count from
  its bar.

Source: Python's table of audit events.
"""

from __future__ import annotations

import base64
import os
import sys
import warnings
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from annotator.errors import AnnotatorError, ScoreError
from annotator.formats.midi import MIDDLE, Performance, Stroke, in_two_hands, likely_signature, quantised, read_midi, spelled
from annotator.processes.child import serve

_STOPPED = ("socket.", "subprocess.", "os.system", "os.exec", "os.posix_spawn", "os.fork", "ftplib.", "urllib.", "webbrowser.")
LAST_PIANO = 7
"""Programs 0 to 7 are pianos, harpsichord and clavinet in General MIDI."""

MOST_QUARTERS = 20_000


def stay_inside(event: str, words: tuple[Any, ...]) -> None:
    """Stop what a conversion has no need of: the network, other programs, files written. An audit hook."""
    if event.startswith(_STOPPED):
        raise PermissionError(f"stopped: {event}")
    if event == "open" and isinstance(words[2], int) and words[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT):
        raise PermissionError("stopped: a file opened for writing")


def answer(job: dict[str, Any]) -> dict[str, Any]:
    """Do one job."""
    warnings.simplefilter("ignore")
    import music21
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    try:
        score, hands, told, struck = _read(job["format"], base64.b64decode(job["data"]))
        text = GeneralObjectExporter(score).parse().decode("utf-8")
    except AnnotatorError as error:
        return {"ok": False, "why": str(error)}
    except Exception as error:
        why = f"the converter gave up ({type(error).__name__}: {str(error)[:200]}): save the score as MusicXML"
        return {"ok": False, "why": why}
    return {"ok": True, "text": text, "hands": hands, "told": told, "struck": struck, "by": f"music21 {music21.__version__}"}


def _read(kind: str, data: bytes) -> tuple[Any, list[list[int]], list[str], int | None]:
    """Return the converter's score and, for MIDI, one piano's staves, what there is to tell, and the notes struck."""
    if kind == "midi":
        return _midi_score(data)
    from music21.converter import subConverters

    reader = {"kern": subConverters.ConverterHumdrum, "abc": subConverters.ConverterABC, "mei": subConverters.ConverterMEI}[kind]()
    reader.parseData(data.decode("utf-8"))
    score = reader.stream
    inner = getattr(score, "scores", None)
    return (inner[0] if inner and not score.parts else score), [], [], None


@dataclass(frozen=True, slots=True)
class Voice:
    """A voice on its way to paper: its name, whether a piano plays it, its strokes at written times."""

    name: str
    piano: bool
    strokes: list[Stroke]

    @property
    def height(self) -> float:
        """Its mean key."""
        return sum(stroke.key for stroke in self.strokes) / len(self.strokes)


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar: where it begins, how long it is, and its meter if it is another than that of the bar before."""

    start: Fraction
    length: Fraction
    meter: tuple[int, int] | None


@dataclass(frozen=True, slots=True)
class Struck:
    """Keys struck together in a bar: onset and length in quarters; the keys, each with whether it is tied from before and onwards."""

    onset: Fraction
    length: Fraction
    keys: tuple[tuple[int, bool, bool], ...]


def _midi_score(data: bytes) -> tuple[Any, list[list[int]], list[str], int]:
    """Return the score, which of its parts are the staves of one piano, what there is to tell, and how many notes are struck."""
    performance = read_midi(data)
    if max(stroke.end for stroke in performance.strokes) > MOST_QUARTERS:
        raise ScoreError(f"this MIDI file is longer than {MOST_QUARTERS} quarter notes")
    voices, hands = _voices(performance)
    told = [f"left out: {performance.percussion} percussion notes"] if performance.percussion else []
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
    elif len(pianos) == 2 and pianos[1] == pianos[0] + 1:
        hands = (Voice("Piano", True, voices[place].strokes) for place in pianos)
        voices[pianos[0]], voices[pianos[1]] = sorted(hands, key=lambda voice: voice.height, reverse=True)
        return voices, [[pianos[0]], [pianos[1]]]
    return voices, []


def _score(performance: Performance, voices: Sequence[Voice]) -> Any:
    """Return the converter's score."""
    from music21 import metadata, stream

    keys = performance.keys or [(Fraction(0), likely_signature(stroke.key for stroke in performance.strokes), False)]
    bars = _bars(performance.meters, max(stroke.end for voice in voices for stroke in voice.strokes))
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
    from music21 import clef, instrument, key, meter, stream
    from music21.tempo import MetronomeMark

    part = stream.Part()
    part.insert(0, instrument.Piano() if voice.piano else instrument.Instrument())
    part.partName = voice.name or ("Piano" if voice.piano else "")
    waiting, fifths = list(keys), 0
    for number, (bar, lines) in enumerate(zip(bars, _laid_out(voice.strokes, bars), strict=True), 1):
        measure = stream.Measure(number=number)
        if number == 1:
            measure.insert(0, clef.BassClef() if voice.height < MIDDLE else clef.TrebleClef())
            if tempo:
                measure.insert(0, MetronomeMark(number=round(tempo)))
        while waiting and (waiting[0][0] <= bar.start or number == 1):
            _, fifths, minor = waiting.pop(0)
            measure.insert(0, key.KeySignature(fifths).asKey("minor" if minor else "major"))
        if bar.meter:
            measure.insert(0, meter.TimeSignature(f"{bar.meter[0]}/{bar.meter[1]}"))
        for name, line in enumerate(lines, 1):
            inside = stream.Voice(id=str(name))
            _fill(measure if len(lines) == 1 else inside, line, bar, fifths)
            if len(lines) > 1:
                measure.insert(0, inside)
        part.insert(bar.start, measure)
    return part


def _bars(meters: Sequence[tuple[Fraction, int, int]], last: Fraction) -> list[Bar]:
    """Return the bars up to a time; 4/4 until a meter is named."""
    bars: list[Bar] = []
    now, meter, waiting = Fraction(0), (0, 0), list(meters)
    while now < last or not bars:
        named = meter if bars else (4, 4)
        while waiting and waiting[0][0] <= now:
            named = waiting.pop(0)[1:]
        bars.append(Bar(now, Fraction(named[0] * 4, named[1]), named if named != meter else None))
        now, meter = now + bars[-1].length, named
    return bars


def _laid_out(strokes: Sequence[Stroke], bars: Sequence[Bar]) -> list[list[list[Struck]]]:
    """Return for each bar its lines, for each line what is struck in it."""
    within: list[dict[tuple[Fraction, Fraction], list[tuple[int, bool, bool]]]] = [defaultdict(list) for _ in bars]
    place = 0
    for stroke in strokes:
        while place + 1 < len(bars) and bars[place + 1].start <= stroke.onset:
            place += 1
        for bar, found in zip(bars[place:], within[place:], strict=True):
            if bar.start >= stroke.end:
                break
            onset, end = max(stroke.onset, bar.start), min(stroke.end, bar.start + bar.length)
            found[onset - bar.start, end - bar.start].append((stroke.key, onset > stroke.onset, end < stroke.end))
    return [_lines(Struck(onset, end - onset, tuple(sorted(keys))) for (onset, end), keys in found.items()) for found in within]


def _lines(chords: Iterable[Struck]) -> list[list[Struck]]:
    """Return the lines of one bar."""
    lines: list[list[Struck]] = []
    for struck in sorted(chords, key=lambda struck: (struck.onset, -struck.length)):
        free = next((line for line in lines if line[-1].onset + line[-1].length <= struck.onset), None)
        if free is None:
            lines.append([struck])
        else:
            free.append(struck)
    return lines or [[]]


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


if __name__ == "__main__":
    import music21  # noqa: F401 - loaded before the hook, which stops what loading may do

    sys.addaudithook(stay_inside)
    serve(answer)
