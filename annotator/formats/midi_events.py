"""A MIDI file read: its notes, with their tracks and channels, and what it says about meter, key, tempo and names.

Conventions
-----------
* Times are ``Fraction`` quarter notes. A note that is never let go ends with its track. The note off is that of the note struck first.
* Channel 10 is percussion: counted, not kept. Files timed in seconds (SMPTE) are refused.
* A track that breaks off counts as far as it goes; a file without any whole event is refused.

Source: Standard MIDI Files 1.0 (format of chunks, events, meta events 03, 51, 58, 59); General MIDI 1 (channel 10, programs 1–8: pianos).
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from annotator.errors import ScoreError
from annotator.formats.formats import text_of

PERCUSSION = 9  # the tenth channel, counted from 0
_LENGTHS = {0x8: 2, 0x9: 2, 0xA: 2, 0xB: 2, 0xC: 1, 0xD: 1, 0xE: 2}
MOST_NOTES = 200_000


@dataclass(frozen=True, slots=True)
class Stroke:
    """One note as it was played: onset and end in quarter notes, the key (60 is middle C), track and channel."""

    onset: Fraction
    end: Fraction
    key: int
    track: int
    channel: int


@dataclass(slots=True)
class Performance:
    """What a MIDI file holds. ``meters`` are (onset, beats, beat type), ``keys`` (onset, fifths, minor), ``tempo`` quarters a minute.

    ``programs`` are those of the channels (0 to 127), ``names`` those of the tracks. ``percussion`` counts the notes left out.
    ``cut`` says that the file ends before a track does.
    """

    strokes: list[Stroke] = field(default_factory=list)
    meters: list[tuple[Fraction, int, int]] = field(default_factory=list)
    keys: list[tuple[Fraction, int, bool]] = field(default_factory=list)
    tempo: float | None = None
    programs: dict[int, int] = field(default_factory=dict)
    names: dict[int, str] = field(default_factory=dict)
    percussion: int = 0
    cut: bool = False


def read_midi(data: bytes) -> Performance:
    """Return what a MIDI file holds. Raises ``ScoreError`` for what is none."""
    start = data.find(b"MThd")
    if start < 0 or len(data) < start + 14:
        raise ScoreError("this MIDI file breaks off in its head: export it again")
    division = int.from_bytes(data[start + 12 : start + 14], "big")
    if division & 0x8000 or not division:
        raise ScoreError("this MIDI file is timed in seconds, not in beats: bars cannot be told from it")
    performance = Performance()
    place, track = start + 8 + int.from_bytes(data[start + 4 : start + 8], "big"), 0
    while place + 8 <= len(data):
        size = int.from_bytes(data[place + 4 : place + 8], "big")
        if data[place : place + 4] == b"MTrk":
            performance.cut = performance.cut or place + 8 + size > len(data)
            _read_track(data[place + 8 : place + 8 + size], track, division, performance)
            track += 1
        place += 8 + size
    if not performance.strokes:
        raise ScoreError("no notes in this MIDI file" + (" but percussion" if performance.percussion else ""))
    performance.strokes.sort(key=lambda stroke: (stroke.onset, stroke.key, stroke.track, stroke.channel))
    performance.meters.sort()
    performance.keys.sort()
    return performance


def _read_track(data: bytes, track: int, division: int, performance: Performance) -> None:
    """Read one track into the performance."""
    held: dict[tuple[int, int], deque[int]] = defaultdict(deque)
    now = 0

    def let_go(channel: int, key: int) -> None:
        """Write down the stroke that ends now."""
        begun = held[channel, key].popleft()
        stroke = Stroke(Fraction(begun, division), Fraction(max(now, begun + 1), division), key, track, channel)
        performance.strokes.append(stroke)

    for now, status, body in _events(data):
        kind, channel = status >> 4, status & 0xF
        if kind == 0x9 and body[1] and channel == PERCUSSION:
            performance.percussion += 1
        elif kind == 0x9 and body[1]:
            held[channel, body[0]].append(now)
        elif kind in (0x8, 0x9) and held[channel, body[0]]:
            let_go(channel, body[0])
        elif kind == 0xC:
            performance.programs.setdefault(channel, body[0])
        elif status == 0xFF:
            _read_meta(body, Fraction(now, division), track, performance)
        if len(performance.strokes) > MOST_NOTES:
            raise ScoreError(f"more than the limit of {MOST_NOTES} notes")
    for (channel, key), begun in list(held.items()):
        for _ in list(begun):
            let_go(channel, key)


def _events(data: bytes) -> Iterator[tuple[int, int, bytes]]:
    """Yield (ticks, status, body) as far as the track is whole; for a meta event the body begins with its type."""
    place, now, running = 0, 0, 0
    while place < len(data):
        delta, place = _number(data, place)
        if place >= len(data):
            return
        now += delta
        status = data[place]
        if status in (0xF0, 0xF7, 0xFF):
            kind = data[place + 1 : place + 2] if status == 0xFF else b""
            size, begin = _number(data, place + 1 + len(kind))
            place = begin + size
            if place > len(data):
                return
            if status == 0xFF:
                yield now, status, kind + data[begin:place]
            continue
        if status & 0x80:
            running, place = status, place + 1
        length = _LENGTHS.get(running >> 4)
        body = data[place : place + (length or 0)]
        if length is None or len(body) < length or any(byte & 0x80 for byte in body):
            return
        place += length
        yield now, running, body


def _number(data: bytes, place: int) -> tuple[int, int]:
    """Return a number of variable length, at most four bytes long, and the place behind it."""
    value = 0
    for step in range(4):
        if place + step >= len(data):
            break
        byte = data[place + step]
        value = value << 7 | byte & 0x7F
        if not byte & 0x80:
            return value, place + step + 1
    return value, len(data)


def _read_meta(body: bytes, onset: Fraction, track: int, performance: Performance) -> None:
    """Take in a meta event: name, tempo, meter or key."""
    kind, words = body[:1], body[1:]
    if kind == b"\x03":
        performance.names.setdefault(track, text_of(words).strip("\0 "))
    elif kind == b"\x51" and len(words) >= 3 and performance.tempo is None and any(words[:3]):
        performance.tempo = 60_000_000 / int.from_bytes(words[:3], "big")
    elif kind == b"\x58" and len(words) >= 2 and 0 < words[0] < 64 and words[1] <= 6:
        performance.meters.append((onset, words[0], 2 ** words[1]))
    elif kind == b"\x59" and len(words) >= 2 and -7 <= (fifths := int.from_bytes(words[:1], "big", signed=True)) <= 7:
        performance.keys.append((onset, fifths, words[1] == 1))
