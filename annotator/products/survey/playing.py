"""What the hands do, counted: how far they reach and move, how varied the rhythm is, how full the chords are.

Conventions
-----------
* A note's length and the time from one moment to the next are counted in ticks; only their variety matters.
* A note is syncopated if it is struck off the beat and sounds, ties included, past the next beat; so a triplet or a dotted note that
  ends on the beat is none.
* Averages and shares are rounded to three places, so that they are the same on every machine.

Source: bits of a distribution: Shannon, 1948. The rest are plain counts.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log2

from annotator.figures.lines import hand_of
from annotator.music.beats import beat_ticks
from annotator.music.score import Bar, Note, Part, ledger_lines
from annotator.products.handout.hands import moments_of, widest
from annotator.products.survey.measures import HandMeasures, Rhythm, Texture

OCTAVE = 12
HANDS = ("right", "left")


@dataclass(frozen=True, slots=True)
class Played:
    """What one hand plays in one part: its counted notes, and the keys (MIDI numbers, from low to high) of its moments in time order."""

    part: Part
    notes: tuple[Note, ...]
    moments: tuple[tuple[int, tuple[int, ...]], ...]


def played(part: Part, hand: str, counted: Iterable[Note]) -> Played:
    """Return what a hand plays of the counted notes of a part."""
    notes = tuple(note for note in counted if hand_of(part, note) == hand)
    struck: dict[int, set[int]] = defaultdict(set)
    for note in notes:
        struck[note.tick].add(int(note.pitch.semitone))
    return Played(part, notes, tuple((tick, tuple(sorted(struck[tick]))) for tick in sorted(struck)))


def in_100(some: float, of: float) -> float:
    """Return a share from 0 to 100, 0 of nothing.

    >>> in_100(1, 3), in_100(0, 0)
    (33.333, 0.0)
    """
    return round(100 * some / of, 3) if of else 0.0


def hand_measures(hands: Mapping[str, Sequence[Played]], hand: str) -> HandMeasures:
    """Return the measures of one hand in all parts it plays in; ``hands`` holds both, part by part."""
    rows, others = (hands[name] for name in (HANDS if hand == "right" else reversed(HANDS)))
    grips = (widest(moments_of(row.notes), other.notes, hand == "right") for row, other in zip(rows, others, strict=True))
    heights = [key for row in rows for _, keys in row.moments for key in keys]
    moves = [abs(_middle(one) - _middle(other)) for row in rows for (_, one), (_, other) in pairwise(row.moments)]
    return HandMeasures(
        notes=sum(len(row.notes) for row in rows),
        moments=sum(len(row.moments) for row in rows),
        lowest=min(heights, default=0),
        highest=max(heights, default=0),
        reach=max((grip.width for grip in grips if grip), default=0),
        moved=round(sum(moves) / len(moves), 3) if moves else 0.0,
        leaps=in_100(sum(move > OCTAVE for move in moves), len(moves)),
        ledger_lines=max((len(ledger_lines(row.part.place_on_staff(note))) for row in rows for note in row.notes), default=0),
    )


def rhythm(hands: Mapping[str, Sequence[Played]], resolution: int, notated: int) -> Rhythm:
    """Return how varied the rhythm of both hands is; ``notated`` is how many different lengths the notes have."""
    rows = [row for name in HANDS for row in hands[name]]
    notes = [note for row in rows for note in row.notes]
    ways = Counter(later - sooner for row in rows for (sooner, _), (later, _) in pairwise(row.moments))
    return Rhythm(
        values=notated,
        entropy=_bits(ways.values()),
        tuplets=in_100(sum(note.tuplet is not None for note in notes), len(notes)),
        syncopated=in_100(sum(_syncopated(row, resolution) for row in rows), len(notes)),
        apart=_apart(hands),
    )


def texture(hands: Mapping[str, Sequence[Played]], graces: int) -> Texture:
    """Return how full the hands are."""
    rows = [row for name in HANDS for row in hands[name]]
    sizes = [len(keys) for row in rows for _, keys in row.moments]
    voices = [len(found) for row in rows for found in _voices(row).values()]
    return Texture(
        chords=in_100(sum(size > 1 for size in sizes), len(sizes)),
        full=in_100(sum(size > 2 for size in sizes), len(sizes)),
        thickness=round(sum(sizes) / len(sizes), 3) if sizes else 0.0,
        voices=in_100(sum(count > 1 for count in voices), len(voices)),
        graces=graces,
    )


def _middle(keys: tuple[int, ...]) -> float:
    return (keys[0] + keys[-1]) / 2


def _bits(counts: Iterable[int]) -> float:
    """Return the bits of a distribution given by counts.

    >>> _bits([1, 1]), _bits([5]), _bits([])
    (1.0, 0.0, 0.0)
    """
    row = list(counts)
    whole = sum(row)
    return round(sum((count / whole * log2(whole / count) for count in row), start=0.0), 3)


def _syncopated(row: Played, resolution: int) -> int:
    """Return how many notes are struck off the beat and held past the next one."""
    held: dict[int, int] = defaultdict(int)  # ticks that ties add, by the number of the note they continue
    origin: dict[int, int] = {}
    for note in row.part.notes:
        if note.continues is not None:
            origin[note.number] = first = origin.get(note.continues, note.continues)
            held[first] += note.ticks
    beats = {bar.index: beat_ticks(bar, resolution) for bar in row.part.bars}
    count = 0
    for note in row.notes:
        beat = beats[note.bar]
        since = _in_bar(row.part.bars[note.bar], note) % beat
        count += bool(since) and since + note.ticks + held.get(note.number, 0) > beat
    return count


def _in_bar(bar: Bar, note: Note) -> int:
    return note.tick - bar.tick + bar.offset


def _apart(hands: Mapping[str, Sequence[Played]]) -> float:
    """Return in 100 moments those that one hand strikes alone; 0 where one hand is silent throughout."""
    right, left = ({tick for row in hands[name] for tick, _ in row.moments} for name in HANDS)
    return in_100(len(right ^ left), len(right | left)) if right and left else 0.0


def _voices(row: Played) -> dict[int, set[str]]:
    """Return the voices of a hand that strike something in each bar."""
    found: dict[int, set[str]] = defaultdict(set)
    for note in row.notes:
        found[note.bar].add(note.voice)
    return found
