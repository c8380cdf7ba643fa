"""The converter's own process (music21): one source in, one MusicXML text out; for MIDI, from the strokes and meters that are read here.

Rule
----
The converter was not made for files that mean harm, or for broken ones: some send it into hours of work or take all memory. So it never
runs in the program's own process. A job is what ``Source.job`` says; the answer has the ``text`` of the MusicXML, what there is to be
``told``, the number of notes ``struck`` or null, and ``by`` whom. This process opens no socket, starts no program and writes no file: what
tries to is stopped.

Conventions
-----------
* The same source gives the same text on any day: parts are called P1, P2 …, instruments P1-I1 …, and no title or author is made up.
* One piano is written as one part with a staff for each hand: what the source braces together, else two parts alone that nothing gives to
  other instruments, else the two of them that keyboards play, if they are neighbours.
* A voice of a MIDI file is what one channel of one track plays. One voice alone is a piano on one track: it is cut in two hands. The higher
  hand stands above. Meter is 4/4 where the file names none; one that changes inside a bar holds from the next bar on.

Source: Python's table of audit events.
"""

from __future__ import annotations

import base64
import os
import sys
import warnings
from collections import defaultdict, deque
from collections.abc import Sequence
from contextlib import suppress
from fractions import Fraction
from itertools import groupby
from typing import Any

from annotator.errors import AnnotatorError, ScoreError
from annotator.formats.midi import MIDDLE, Performance, Stroke, in_two_hands, likely_signature, quantised, read_midi, spelled
from annotator.processes.child import serve

_STOPPED = ("socket.", "subprocess.", "os.system", "os.exec", "os.posix_spawn", "os.fork", "ftplib.", "urllib.", "webbrowser.")
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

    music21.defaults.title = music21.defaults.author = ""  # what it makes up where the source has none
    told: list[str] = []
    struck = None
    try:
        data = base64.b64decode(job["data"])
        if job["format"] == "midi":
            score, struck, told = _midi_score(data)
        else:
            score = _parsed(job["format"], data)
        if job["format"] == "abc":
            _complete(score, job["clefs"], job["names"])
        _join_staves(score, job["staves"] or _piano_staves(score.parts))
        text = GeneralObjectExporter(score).parse().decode("utf-8")
    except AnnotatorError as error:
        return {"ok": False, "why": str(error)}
    except Exception as error:
        why = f"the converter gave up ({type(error).__name__}: {str(error)[:200]}): save the score as MusicXML"
        return {"ok": False, "why": why}
    return {"ok": True, "text": text, "told": told, "struck": struck, "by": f"music21 {music21.__version__}"}


def _parsed(kind: str, data: bytes) -> Any:
    """Return the first score in a source."""
    from music21.converter import subConverters

    reader = {"kern": subConverters.ConverterHumdrum, "abc": subConverters.ConverterABC, "mei": subConverters.ConverterMEI}[kind]()
    reader.parseData(data.decode("utf-8"))
    score = reader.stream
    inner = getattr(score, "scores", None)
    return inner[0] if inner and not score.parts else score


def _complete(score: Any, clefs: Sequence[str | None], names: Sequence[str]) -> None:
    """Give the parts of an ABC tune what its reader leaves out: names, first clefs, and numbers of bars that tell a pickup (0)."""
    from music21 import clef, stream

    for part, opening, name in zip(score.parts, clefs, names, strict=False):
        if not part.hasMeasures():  # one bar alone
            part.makeMeasures(inPlace=True)
        bars = list(part.getElementsByClass(stream.Measure))
        part.partName = name
        if opening:
            bars[0].clef = clef.clefFromString(opening)
        for number, bar in enumerate(bars, int(bars[0].duration.quarterLength >= bars[0].barDuration.quarterLength)):
            bar.number = number


def _piano_staves(parts: Sequence[Any]) -> list[list[int]]:
    """Return the places of the parts on each staff of one piano, where the source does not say; none where there is no piano."""
    from music21.instrument import Instrument, InstrumentException, KeyboardInstrument, fromString

    def player(part: Any) -> type[Any]:
        """Return what kind of instrument plays a part, ``Instrument`` where nothing says which."""
        found = part.getInstrument()
        with suppress(InstrumentException):
            found = fromString(part.partName or "") if type(found) is Instrument else found
        return type(found)

    players = [player(part) for part in parts]
    pianos = [place for place, kind in enumerate(players) if issubclass(kind, KeyboardInstrument)]
    if len(players) == 2 and all(kind is Instrument or place in pianos for place, kind in enumerate(players)):
        return [[0], [1]]
    return [[place] for place in pianos] if len(pianos) == 2 and pianos[1] == pianos[0] + 1 else []


def _join_staves(score: Any, groups: Sequence[Sequence[int]]) -> None:
    """Make the parts of each group one staff of a piano, which is then written as one part; give all parts their ids."""
    from music21 import instrument, layout, stream

    score.removeByClass(layout.StaffGroup)
    parts = list(score.parts)
    score.remove(parts)
    in_place = dict(enumerate(parts))
    staves = []
    for group in groups if len(groups) > 1 else ():
        members = [in_place.pop(place) for place in group]
        joined = stream.Score(members).partsToVoices(len(members), setStems=False).parts[0] if len(members) > 1 else members[0]
        staff = stream.PartStaff()
        staff.mergeAttributes(joined)
        staff.mergeElements(joined)
        staff.partName = parts[groups[0][0]].partName or "Piano"
        staves.append(staff)
        in_place[group[0]] = staff
    if staves:
        score.insert(0, layout.StaffGroup(staves, symbol="brace"))
    for number, (_, part) in enumerate(sorted(in_place.items()), 1):
        score.insert(0, part)
        if part.getInstrument(returnDefault=False) is None:
            part.insert(0, instrument.Instrument())
        player = part.getInstrument()
        player.partId, player.instrumentId = f"P{number}", f"P{number}-I1"  # else they are made by chance


def _midi_score(data: bytes) -> tuple[Any, int, list[str]]:
    """Return the score, how many notes are struck, and what there is to tell."""
    from music21 import metadata, stream

    performance = read_midi(data)
    if max(stroke.end for stroke in performance.strokes) > MOST_QUARTERS:
        raise ScoreError(f"this MIDI file is longer than {MOST_QUARTERS} quarter notes")
    parts = _midi_parts(performance)
    last = max(stroke.end for _, _, strokes in parts for stroke in strokes)
    score = stream.Score()
    score.insert(0, metadata.Metadata())
    title = performance.names.get(0, "")
    if title and all(stroke.track for stroke in performance.strokes):
        score.metadata.title = title
    for name, player, strokes in parts:
        part = _barred(strokes, performance, last)
        part.partName = name or player.instrumentName
        part.insert(0, player)
        score.insert(0, part)
    told = [f"left out: {performance.percussion} percussion notes"] if performance.percussion else []
    return score, sum(len(strokes) for _, _, strokes in parts), told


def _midi_parts(performance: Performance) -> list[tuple[str, Any, list[Stroke]]]:
    """Return the voices of a MIDI file in the order of the page: the name of each, its instrument, its strokes at written times."""
    from music21.instrument import KeyboardInstrument, Piano, instrumentFromMidiProgram

    played: dict[tuple[int, int], list[Stroke]] = defaultdict(list)
    for stroke in performance.strokes:
        played[stroke.track, stroke.channel].append(stroke)
    parts = [
        (performance.names.get(track, ""), instrumentFromMidiProgram(performance.programs.get(channel, 0)), quantised(strokes))
        for (track, channel), strokes in sorted(played.items())
    ]
    if len(parts) == 1:
        hands = [hand for hand in in_two_hands(parts[0][2]) if hand]
        return [("", Piano(), hand) for hand in hands] if len(hands) == 2 else parts
    pianos = [place for place, (_, player, _) in enumerate(parts) if isinstance(player, KeyboardInstrument)]
    if len(pianos) == 2 and pianos[1] == pianos[0] + 1:
        upper, lower = sorted((parts[place] for place in pianos), key=lambda part: _height(part[2]), reverse=True)
        parts[pianos[0]], parts[pianos[1]] = ("", *upper[1:]), ("", *lower[1:])  # tracks are named after hands, or the piece
    return parts


def _height(strokes: Sequence[Stroke]) -> float:
    """Return the mean key of a voice."""
    return sum(stroke.key for stroke in strokes) / len(strokes)


def _barred(strokes: Sequence[Stroke], performance: Performance, last: Fraction) -> Any:
    """Return a voice as a part in bars up to a time: chords of what is struck and let go together, ties over barlines, rests written."""
    from music21 import chord, clef, key, meter, note, pitch, stream, tempo

    part = stream.Part()
    part.insert(0, clef.BassClef() if _height(strokes) < MIDDLE else clef.TrebleClef())
    if performance.tempo:
        part.insert(0, tempo.MetronomeMark(number=round(performance.tempo)))
    keys = performance.keys or [(Fraction(0), likely_signature(stroke.key for stroke in performance.strokes), False)]
    in_time = sorted(strokes, key=lambda stroke: (stroke.onset, -stroke.end, stroke.key))  # of lines that overlap, the longer first
    for (onset, end), struck in groupby(in_time, key=lambda stroke: (stroke.onset, stroke.end)):
        fifths = [fifths for since, fifths, _ in keys if since <= onset or since == keys[0][0]][-1]
        names = [spelled(stroke.key, fifths) for stroke in struck]
        notes = [note.Note(pitch.Pitch(step=step, accidental=alter or None, octave=octave)) for step, alter, octave in names]
        sounding = notes[0] if len(notes) == 1 else chord.Chord(notes)
        sounding.quarterLength = end - onset
        part.insert(onset, sounding)
    meters = stream.Stream()
    for onset, (beats, beat_type) in {Fraction(0): (4, 4), **{onset: named for onset, *named in performance.meters}}.items():
        meters.insert(onset, meter.TimeSignature(f"{beats}/{beat_type}"))
    part.makeMeasures(inPlace=True, meterStream=meters, refStreamOrTimeRange=[0, last])
    part.makeTies(inPlace=True)
    waiting = deque([(Fraction(0), *keys[0][1:]), *keys[1:]])
    in_force = meters[0]
    for bar in part.getElementsByClass(stream.Measure):
        while waiting and waiting[0][0] <= bar.offset:
            _, fifths, minor = waiting.popleft()
            bar.keySignature = key.KeySignature(fifths).asKey("minor" if minor else "major")
        in_force = bar.timeSignature or in_force
        bar.makeVoices(inPlace=True, fillGaps=False)
        for line in bar.voices or [bar]:
            _write_rests(line, in_force.barDuration.quarterLength)
    return part


def _write_rests(line: Any, length: Any) -> None:
    """Write the rests of a bar of this length, or of one of its voices. The converter's own way looks through the part for each bar."""
    from music21 import common, note

    now = 0
    for sounding in list(line.notes):
        if sounding.offset > now:
            line.insert(now, note.Rest(quarterLength=sounding.offset - now))
        now = common.opFrac(sounding.offset + sounding.quarterLength)
    if now < length:
        line.insert(now, note.Rest(quarterLength=length - now))


if __name__ == "__main__":
    import music21  # noqa: F401 - loaded before the hook, which stops what loading may do

    sys.addaudithook(stay_inside)
    serve(answer)
