"""A MIDI file read: its notes, which hand plays each, their written times, and names for the keys struck.

Rule
----
* Written times: a quarter is divided in 1, 2, 3, 4, 6, 8, 12 or 16. The coarsest division is taken whose grid every onset of the beat meets
  within a 64th of a quarter; where none does (a performance), the one with the smallest mean distance, each further division costing a
  little. An end that meets a fine grid exactly stays; else it moves to the next onset of the same hand if that is near, or to the beat's
  grid. No note gets shorter than one step of its grid.
* Hands: at each onset the notes are cut in two by height. The way through all cuts with the least cost is taken (Viterbi, exact for the
  cost): a hand that stretches over more than an octave, that jumps, that leaves its half of the keyboard, or that rests while the other
  plays several notes, costs. The costs were set by trying; seven notes of eight come to their hand, as measured in the tests.
* Names: in a key of ``f`` sharps (flats count below 0) the twelve notes from three fifths below its major tonic to eight above are used: in
  C major and A minor E♭ and B♭, but F♯, C♯ and G♯. Where no key is given, it is the signature that leaves the fewest notes outside of it.

Conventions
-----------
* Times are ``Fraction`` quarter notes. A note that is never let go ends with its track. The note off is that of the note struck first.
* Channel 10 is percussion: counted, not kept. Files timed in seconds (SMPTE), and files that break off, are refused.

Source: Standard MIDI Files 1.0; General MIDI 1 (channel 10, programs 1–8: pianos). The rules: common practice, no source; their values were
set by trying files made from scores and files with small deviations.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict, deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from io import BytesIO
from itertools import groupby

import mido

from annotator.errors import ScoreError
from annotator.formats import text_of

PERCUSSION = 9  # the tenth channel, counted from 0
MOST_NOTES = 200_000
LINE_OF_FIFTHS = "FCGDAEB"
SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}

DIVISIONS = (1, 2, 3, 4, 6, 8, 12, 16)
CLOSE, NEAR = Fraction(1, 64), Fraction(1, 6)
_PRICE = 0.006  # quarters of mean distance that one more part of a beat costs

OCTAVE = 12
MIDDLE = 60.0
MOST_AT_ONCE = 24  # notes of a moment that are cut; a cluster beyond is cut in the middle
_STRETCH, _JUMP, _AWAY, _IDLE = 2.0, 0.1, 0.05, 0.5


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
    """

    strokes: list[Stroke] = field(default_factory=list)
    meters: list[tuple[Fraction, int, int]] = field(default_factory=list)
    keys: list[tuple[Fraction, int, bool]] = field(default_factory=list)
    tempo: float | None = None
    programs: dict[int, int] = field(default_factory=dict)
    names: dict[int, str] = field(default_factory=dict)
    percussion: int = 0


def read_midi(data: bytes) -> Performance:
    """Return what a MIDI file holds. Raises ``ScoreError`` for what is none."""
    try:
        file = mido.MidiFile(file=BytesIO(data[max(0, data.find(b"MThd")) :]), clip=True)
    except EOFError as error:
        raise ScoreError("this MIDI file breaks off: export it again") from error
    if file.ticks_per_beat < 1:
        raise ScoreError("this MIDI file is timed in seconds, not in beats: bars cannot be told from it")
    performance = Performance()
    for number, track in enumerate(file.tracks):
        _read_track(track, number, file.ticks_per_beat, performance)
    if not performance.strokes:
        raise ScoreError("no notes in this MIDI file" + (" but percussion" if performance.percussion else ""))
    if len(performance.strokes) > MOST_NOTES:
        raise ScoreError(f"more than the limit of {MOST_NOTES} notes")
    performance.strokes.sort(key=lambda stroke: (stroke.onset, stroke.key, stroke.track, stroke.channel))
    performance.meters.sort()
    performance.keys.sort()
    return performance


def _read_track(track: mido.MidiTrack, number: int, division: int, performance: Performance) -> None:
    """Read one track into the performance."""
    held: dict[tuple[int, int], deque[int]] = defaultdict(deque)
    now = 0

    def let_go(channel: int, key: int) -> None:
        """Write down the stroke that ends now."""
        begun = held[channel, key].popleft()
        end = Fraction(max(now, begun + 1), division)
        performance.strokes.append(Stroke(Fraction(begun, division), end, key, number, channel))

    for message in track:
        now += message.time
        if message.type == "note_on" and message.velocity and message.channel == PERCUSSION:
            performance.percussion += 1
        elif message.type == "note_on" and message.velocity:
            held[message.channel, message.note].append(now)
        elif message.type in ("note_on", "note_off") and held[message.channel, message.note]:
            let_go(message.channel, message.note)
        elif message.type == "program_change":
            performance.programs.setdefault(message.channel, message.program)
        elif message.type == "track_name":
            performance.names.setdefault(number, text_of(message.name.encode("latin-1")).strip("\0 "))
        elif message.type == "set_tempo" and performance.tempo is None and message.tempo:
            performance.tempo = 60_000_000 / message.tempo
        elif message.type == "time_signature" and 0 < message.numerator < 64 and message.denominator <= 64:
            performance.meters.append((Fraction(now, division), message.numerator, message.denominator))
        elif message.type == "key_signature":
            performance.keys.append((Fraction(now, division), *_signature(message.key)))
    for channel, key in [each for each, begun in held.items() for _ in begun]:
        let_go(channel, key)


def _signature(name: str) -> tuple[int, bool]:
    """Return the key signature of a key in fifths, and whether it is minor.

    >>> _signature("Ebm"), _signature("C"), _signature("F#")
    ((-6, True), (0, False), (6, False))
    """
    minor = name.endswith("m")
    return LINE_OF_FIFTHS.index(name[0]) - 1 + 7 * (name.count("#") - name.count("b")) - 3 * minor, minor


def quantised(strokes: Sequence[Stroke]) -> list[Stroke]:
    """Return the strokes of one hand or voice at written times, those of one key and onset only once."""
    beats: dict[int, list[Fraction]] = defaultdict(list)
    for stroke in strokes:
        beats[int(stroke.onset)].append(stroke.onset % 1)
        if 1 - stroke.onset % 1 < NEAR:
            beats[int(stroke.onset) + 1]  # a beat that may be struck a little early
    division = {beat: _division(places) for beat, places in beats.items()}
    onsets = [_moved(stroke.onset, division[int(stroke.onset)]) for stroke in strokes]
    struck = sorted(set(onsets))
    written: dict[tuple[Fraction, int], Stroke] = {}
    for stroke, onset in zip(strokes, onsets, strict=True):
        following = bisect_left(struck, stroke.end)
        near = [place for place in struck[max(0, following - 1) : following + 1] if place > onset]
        parts = division[int(stroke.onset)]
        end = max(_end(stroke.end, near, max(parts, 2)), onset + Fraction(1, parts * 2))
        other = written.get((onset, stroke.key))
        if other is None or other.end < end:
            written[onset, stroke.key] = Stroke(onset, end, stroke.key, stroke.track, stroke.channel)
    return sorted(written.values(), key=lambda stroke: (stroke.onset, stroke.key))


def _division(places: Sequence[Fraction]) -> int:
    """Return how a beat is divided whose onsets stand at these places (0 to 1).

    >>> _division([Fraction(0), Fraction(1, 3), Fraction(65, 97)]), _division([Fraction(3, 4)]), _division([])
    (3, 4, 1)
    """
    for parts in DIVISIONS:
        if all(abs(place - _moved(place, parts)) <= CLOSE for place in places):
            return parts
    distances = {parts: sum(float(abs(place - _moved(place, parts))) for place in places) for parts in DIVISIONS}
    return min(DIVISIONS, key=lambda parts: distances[parts] / len(places) + _PRICE * parts)


def _moved(time: Fraction, parts: int) -> Fraction:
    """Return the nearest line of a grid."""
    return Fraction(round(time * parts), parts)


def _end(end: Fraction, onsets: Sequence[Fraction], parts: int) -> Fraction:
    """Return where a note ends on paper; ``parts`` is how its beat is divided."""
    for fine in (8, 12):
        if abs(end - _moved(end, fine)) <= Fraction(1, 480):
            return _moved(end, fine)
    near = min(onsets, key=lambda onset: abs(onset - end), default=None)
    if near is not None and abs(near - end) <= NEAR:
        return near
    return max(Fraction(1, parts), _moved(end, parts))


@dataclass(frozen=True, slots=True)
class _State:
    """The best way to a cut: its cost, where each hand is (the middle of what it played last), and the cuts before it."""

    cost: float
    left: float
    right: float
    before: _State | None
    cut: int


def in_two_hands(strokes: Sequence[Stroke]) -> tuple[list[Stroke], list[Stroke]]:
    """Return the strokes of the right and of the left hand. ``strokes`` are sorted by onset and key."""
    moments = [list(group) for _, group in groupby(strokes, key=lambda stroke: stroke.onset)]
    states = [_State(0.0, MIDDLE - OCTAVE, MIDDLE + OCTAVE, None, 0)]
    for moment in moments:
        keys = [stroke.key for stroke in moment]
        cuts = range(len(keys) + 1) if len(keys) <= MOST_AT_ONCE else [len(keys) // 2]
        states = [min((_step(state, keys, cut) for state in states), key=lambda state: state.cost) for cut in cuts]
    right: list[Stroke] = []
    left: list[Stroke] = []
    last: _State | None = min(states, key=lambda state: state.cost)
    for moment in reversed(moments):
        assert last is not None
        left.extend(reversed(moment[: last.cut]))
        right.extend(reversed(moment[last.cut :]))
        last = last.before
    return right[::-1], left[::-1]


def _step(state: _State, keys: Sequence[int], cut: int) -> _State:
    """Return the state after a moment whose ``cut`` lowest keys are played by the left hand."""
    low, high = keys[:cut], keys[cut:]
    left = (low[0] + low[-1]) / 2 if low else state.left
    right = (high[0] + high[-1]) / 2 if high else state.right
    cost = state.cost + _JUMP * (abs(left - state.left) + abs(right - state.right))
    cost += _AWAY * sum(max(0.0, key - MIDDLE) for key in low) + _AWAY * sum(max(0.0, MIDDLE - key) for key in high)
    cost += _STRETCH * sum(max(0, hand[-1] - hand[0] - OCTAVE) for hand in (low, high) if hand)
    cost += _IDLE * (not low or not high) * (len(keys) > 1)
    return _State(cost, left, right, state, cut)


def spelled(key: int, fifths: int) -> tuple[str, int, int]:
    """Return step, alteration and octave of a key (60 is middle C) under a key signature.

    >>> spelled(63, 0), spelled(63, 4), spelled(59, -7), spelled(60, 7)
    (('E', -1, 4), ('D', 1, 4), ('C', -1, 4), ('B', 1, 3))
    """
    lowest = fifths - 3
    alter, letter = divmod(lowest + (key * 7 - lowest) % 12 + 1, 7)
    step = LINE_OF_FIFTHS[letter]
    return step, alter, (key - SEMITONES[step] - alter) // 12 - 1


def likely_signature(keys: Iterable[int]) -> int:
    """Return the key signature (in fifths) that the struck keys fit best; of equals the one with the fewest signs.

    >>> likely_signature([60, 62, 64, 65, 67]), likely_signature([62, 64, 66, 67, 69, 71, 73])
    (0, 2)
    """
    struck = [0] * 12
    for key in keys:
        struck[key % 12] += 1
    inside = {fifths: sum(struck[place * 7 % 12] for place in range(fifths - 1, fifths + 6)) for fifths in range(-6, 7)}
    return max(inside, key=lambda fifths: (inside[fifths], -abs(fifths), fifths))
