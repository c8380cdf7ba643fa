"""What the chord figures share: even runs of single notes, note names as bits, and where a group sits in its bar.

Conventions
-----------
* An even run is a row of joined single notes of equal length; the note after the last equal one belongs to it too where it is longer.
* Names are bits (``chords.code_of``), so that the names of a group are one "or" away.
* A merged line repeats what its voices hold; there a figure counts only where the voices, or the hands, really share it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from annotator.lines import Event, Line
from annotator.score import Note
from annotator.theory.chords import Chord, chord_of, code_of


def even_runs(line: Line, least: int) -> Iterator[tuple[int, int]]:
    """Yield the (first, stop) event indices of the even runs of a line that have at least ``least`` notes."""
    events = line.events
    total = len(events)
    first = 0
    while first < total:
        head = events[first]
        after = first + 1
        if len(head.notes) != 1:
            first = after
            continue
        ticks = head.ticks
        while after < total:
            event = events[after]
            if event.ticks != ticks or not event.joined or len(event.notes) != 1:
                break
            after += 1
        stop = after
        if after < total and events[after].joined and len(events[after].notes) == 1 and events[after].ticks > ticks:
            stop += 1
        if stop - first >= least:
            yield first, stop
        first = after


def keys_of(events: Sequence[Event]) -> list[int]:
    """Return the key to strike (MIDI number) of each event's lowest note."""
    return [int(event.notes[0].pitch.semitone) for event in events]


def bits_of(events: Sequence[Event]) -> list[int]:
    """Return the names struck at each event, one bit a name."""
    bits = []
    for event in events:
        mask = 0
        for note in event.notes:
            mask |= 1 << code_of(note.pitch)
        bits.append(mask)
    return bits


def chord_over(notes: Iterable[Note], mask: int) -> Chord | None:
    """Return the chord of the names in ``mask`` above the lowest of some notes."""
    lowest = min((note.pitch for note in notes), key=lambda pitch: (pitch.semitone, pitch.diatonic))
    return chord_of(mask, code_of(lowest))


def on_the_beat(line: Line, event: Event, span: int) -> bool:
    """Return whether an event stands a whole number of spans (in ticks) after the bar line, or the bar is no whole number of spans."""
    bar = line.bars[event.bar]
    return (bar.ticks + bar.offset) % span != 0 or (event.tick - bar.tick + bar.offset) % span == 0


def shared_by_voices(line: Line, events: Sequence[Event]) -> bool:
    """Return whether a figure belongs to this line and is not the affair of one voice (or one hand) within it."""
    if line.scope == "voice":
        return True
    of: Callable[[Note], object] = (lambda n: n.staff) if line.scope == "shared" else (lambda n: (n.voice, n.staff))
    return len({of(note) for event in events for note in event.notes}) > 1
