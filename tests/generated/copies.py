"""Generated copies: little scores with a model, its copies as the player's rules have them, and notes that are new; and controls without.

``python tests/generated/copies.py [SEED] [COUNT]`` prints the table of a seed (a fresh one unless told), COUNT scores a row.

Conventions
-----------
* A *row* is one way to copy. It writes one score from a source of chance, and says of each note whether it must be grey, is new (must be
  dark: an odd note of a copy), or is free (the model, the anchors a kind may keep, what stands around).
* Every case obeys the rules of the copies with a margin: a single copy saves six notes at least, a moved one is a bar long at most, at
  most one note in four of a copy is odd, and never one of the first or last two.
* Lines are random walks that are no scale and no chord (``plain_lines``). No detector is imported: a judge is given a function from a
  score file to the report as plain data (``Report.to_dict``).
"""

from __future__ import annotations

import random
import sys
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from generated.pitches import raised, semitone
from generated.plain_lines import Hand, Stroke, Stuck, Tone, check, even, mixed, musicxml, named, parts

from annotator.music.score import key_of

Report = Mapping[str, Any]
Row = Callable[[random.Random], Sequence[Hand]]

REAL_MOVES = ((1, 1), (1, 2), (2, 3), (2, 4), (3, 5), (4, 7), (-1, -1), (-1, -2), (-2, -3), (-2, -4), (-3, -5))
"""Letters and semitones of real sequences."""


@dataclass(frozen=True)
class Case:
    """One score: its row, its text, and the role of each note by its id."""

    row: str
    text: str
    roles: Mapping[str, str]

    def notes(self, role: str) -> frozenset[str]:
        """Return the ids of the notes of one role."""
        return frozenset(name for name, one in self.roles.items() if one == role)


@dataclass
class Count:
    """What came of a row: of the notes that must be grey, are new, are free, how many there are and how many are grey."""

    must: int = 0
    must_grey: int = 0
    new: int = 0
    new_grey: int = 0
    free: int = 0
    free_grey: int = 0

    def add(self, case: Case, grey: frozenset[str]) -> None:
        """Count one case."""
        for role in ("must", "new", "free"):
            notes = case.notes(role)
            setattr(self, role, getattr(self, role) + len(notes))
            setattr(self, f"{role}_grey", getattr(self, f"{role}_grey") + len(notes & grey))

    @property
    def found(self) -> float:
        """The share of the notes that must be grey that are."""
        return self.must_grey / self.must if self.must else 1.0

    @property
    def chance(self) -> float:
        """The share of the free notes that are grey: in a control, what is found where there is nothing."""
        return self.free_grey / self.free if self.free else 0.0


def both(chance: random.Random, altered: float = 0.0) -> tuple[Hand, Hand]:
    """Return two hands in one key and metre."""
    fifths, bar = chance.randint(-3, 3), chance.choice((12, 16))
    right, left = (Hand(chance, name, fifths, bar, altered) for name in ("right", "left"))
    return right, left


def pair(chance: random.Random, altered: float = 0.0) -> tuple[Hand, Hand]:
    """Return the hand that copies and the other one, which of them by lot."""
    hands = list(both(chance, altered))
    chance.shuffle(hands)
    return hands[0], hands[1]


def finish(hand: Hand, other: Hand, after: bool = True) -> Sequence[Hand]:
    """Let new music follow; the other hand rests, or strikes a new note a bar."""
    if after:
        hand.fill_bar()
        hand.fill(hand.bar)
    if not other.strokes and other.chance.random() < 0.5:
        other.walk(even(hand.now // hand.bar, hand.bar))
    return hand, other


def group_rhythm(chance: random.Random, count: int, longest: int = 1000) -> list[tuple[int, int]]:
    """Return the rhythm of a group of so many strokes that lasts so many sixteenths at most: even, or of several values."""
    while True:
        rhythm = even(count, chance.choice((1, 2))) if chance.random() < 0.5 else mixed(chance, count)
        if sum(step for step, _ in rhythm) <= longest:
            return rhythm
        if count > longest:
            raise Stuck


def repeated(chance: random.Random, hand: Hand, count: int, rhythm: list[tuple[int, int]], sizes: Sequence[int] = (1,)) -> None:
    """Play a model and copies directly after it, nine notes or more in all; the last of several may break off."""
    copies = -(-9 // count) + chance.randint(0, 2 if count < 12 else 1)
    model = hand.walk(rhythm, sizes)
    for number in range(copies):
        breaks_off = number and number == copies - 1 and count >= 6 and chance.random() < 0.4
        hand.copy(model[: chance.randint(-(-3 * count // 4), count - 1)] if breaks_off else model)


def again(chance: random.Random) -> Sequence[Hand]:
    """Directly before, any phase, 2 to 24 strokes; groups of two are uneven (else they are a tremolo)."""
    hand, other = pair(chance, altered=0.1)
    hand.fill(chance.randrange(2 * hand.bar))
    count = chance.randint(2, 24)
    repeated(chance, hand, count, [(3, 3), (1, 1)] if count == 2 else group_rhythm(chance, count))
    return finish(hand, other)


def again_with_rests(chance: random.Random) -> Sequence[Hand]:
    """Directly before, with rests in the group or at its end."""
    hand, other = pair(chance, altered=0.1)
    hand.fill(chance.randrange(2 * hand.bar))
    count = chance.randint(3, 16)
    repeated(chance, hand, count, mixed(chance, count, rests=True))
    return finish(hand, other)


def again_with_chords(chance: random.Random) -> Sequence[Hand]:
    """Directly before, single notes and chords (that have no name)."""
    hand, other = pair(chance, altered=0.1)
    hand.fill(chance.randrange(2 * hand.bar))
    count = chance.randint(4, 12)
    repeated(chance, hand, count, group_rhythm(chance, count), (1, 1, 2, 3))
    return finish(hand, other)


def bars(chance: random.Random, hand: Hand, count: int, fewest: int) -> list[Stroke]:
    """Play so many new bars of so many strokes at least each, from a bar line."""
    hand.fill_bar()
    found: list[Stroke] = []
    while count:
        rhythm = parts(chance, hand.bar)
        if len(rhythm) >= fewest:
            found += hand.walk(rhythm)
            count -= 1
    return found


def sparse(hand: Hand, count: int, in_bar: int = 2) -> None:
    """Play so many new bars of so few notes."""
    hand.walk(even(in_bar * count, hand.bar // in_bar))


def earlier_bar(chance: random.Random) -> Sequence[Hand]:
    """One bar of six notes or more, from two to seven bars back."""
    hand, other = pair(chance, altered=0.1)
    sparse(hand, chance.randint(0, 1))
    model = bars(chance, hand, 1, 7)
    sparse(hand, chance.randint(1, 6))
    hand.copy(model)
    return finish(hand, other)


def earlier_bars(chance: random.Random) -> Sequence[Hand]:
    """Two or three bars of ten notes or more, from nine to fourteen bars back."""
    hand, other = pair(chance, altered=0.1)
    model = bars(chance, hand, chance.randint(2, 3), 5)
    sparse(hand, chance.randint(9, 14) - (hand.now // hand.bar))
    hand.copy(model)
    return finish(hand, other)


def section(chance: random.Random) -> Sequence[Hand]:
    """Four or five bars in both hands, from 18 to 22 bars back."""
    hand, other = both(chance, altered=0.15)
    length, back = chance.randint(4, 5), chance.randint(18, 22)
    for one in (hand, other):
        model = bars(chance, one, length, 4)
        sparse(one, back - length, 1)
        one.copy(model)
        one.fill(one.bar)
    return hand, other


def octaves(chance: random.Random, way: int) -> Sequence[Hand]:
    """One octave up (down), again and again, or two octaves at once; a group of a bar at most."""
    hand, other = pair(chance, altered=0.1)
    count = chance.randint(4, 12)
    copies = -(-9 // count) + (chance.randint(0, 1) if count < 9 else 0)
    letters = way * (14 if copies == 1 and chance.random() < 0.3 else 7)
    low = (18 if hand.name == "right" else 11) if way > 0 else (35 if hand.name == "right" else 30)
    hand.lowest, hand.highest = low, low + 13
    hand.fill(chance.randrange(2 * hand.bar))
    model = hand.walk(group_rhythm(chance, count, hand.bar))
    for _ in range(copies):
        model = hand.copy(model, letters)
    hand.lowest, hand.highest = hand.lowest + copies * letters, hand.highest + copies * letters
    return finish(hand, other)


def moved(hand: Hand, model: Sequence[Stroke], letters: int, semitones: int | None = None) -> list[Stroke]:
    """Play a model moved by letters, altered as in the key (or by semitones exactly); anchors are free."""
    key = key_of(hand.fifths).alters
    found: list[Stroke] = []
    for stroke in model:
        to = [raised((tone.diatonic, tone.alter), letters, semitones or 0)[1] for tone in stroke.tones]
        alters = to if semitones is not None else [key[(tone.diatonic + letters) % 7] for tone in stroke.tones]
        if any(abs(alter) > 1 for alter in alters):
            raise Stuck
        new = stroke.moved(hand.now, letters, alters)
        if not found or new.at // hand.bar > found[-1].at // hand.bar:
            outer = len(new.tones) - 1 if hand.name == "right" else 0
            new = replace(new, tones=tuple(replace(t, role="free") if i == outer else t for i, t in enumerate(new.tones)))
        found.append(hand.add(new))
    return found


def sequence(chance: random.Random, way: int, copies: int) -> Sequence[Hand]:
    """One to four steps up (down), so often; a group of a bar at most."""
    hand, other = pair(chance)
    hand.fill(chance.randrange(2 * hand.bar))
    count = chance.randint(9, 12) if copies == 1 else chance.randint(4, 10)
    model = hand.walk(group_rhythm(chance, count, hand.bar), (1,) if chance.random() < 0.7 else (1, 1, 2))
    letters = way * chance.randint(1, 4)
    for _ in range(copies):
        model = moved(hand, model, letters)
    hand.lowest, hand.highest = hand.lowest + copies * letters, hand.highest + copies * letters
    return finish(hand, other)


def real_sequence(chance: random.Random) -> Sequence[Hand]:
    """Move by semitones, so that a third of the notes at least leave the key."""
    hand, other = pair(chance)
    hand.fill(chance.randrange(2 * hand.bar))
    copies = chance.randint(1, 2)
    count = chance.randint(9, 12) if copies == 1 else chance.randint(6, 10)
    model = hand.walk(group_rhythm(chance, count, hand.bar))
    letters, semitones = chance.choice(REAL_MOVES)
    key = key_of(hand.fifths).alters
    for _ in range(copies):
        model = moved(hand, model, letters, semitones)
        left = sum(tone.alter != key[tone.diatonic % 7] for stroke in model for tone in stroke.tones)
        if 3 * left < count:
            raise Stuck
    return finish(hand, other)


def retrograde(chance: random.Random) -> Sequence[Hand]:
    """Six or seven strokes of equal length, the highest (lowest) struck once, and back the same way."""
    hand, other = pair(chance, altered=0.1)
    hand.fill(chance.randrange(2 * hand.bar))
    count, value = chance.choice(((6, 1), (6, 2), (7, 1)))
    model = hand.walk(even(count, value))
    heights = [tone.diatonic for stroke in model for tone in stroke.tones]
    letter = max(heights) + chance.choice((1, 2, 3)) if chance.random() < 0.5 else min(heights) - chance.choice((1, 2, 3))
    hand.add(Stroke(hand.now, value, value, (Tone(letter, key_of(hand.fifths).alters[letter % 7]),)))
    hand.copy(model[::-1])
    return finish(hand, other)


def imitation(chance: random.Random, by_octaves: bool) -> Sequence[Hand]:
    """Let the other hand play the same one or two bars later, octaves away, or some steps away (its first note is then free)."""
    first, second = pair(chance, altered=0.1 if by_octaves else 0.0)
    down = -1 if first.name == "right" else 1
    letters = down * chance.choice((7, 14) if by_octaves else (8, 9, 10, 11, 12, 13))
    first.fill(4 * chance.randrange(first.bar // 4))
    start = first.now
    delay = first.bar * chance.randint(1, 2)
    model = first.walk(group_rhythm(chance, chance.randint(9, 16), delay + first.bar // 2))
    second.rest(start + delay)
    if by_octaves:
        second.copy(model, letters)
    else:
        key = key_of(first.fifths).alters
        for place, stroke in enumerate(model):
            alters = [key[(tone.diatonic + letters) % 7] for tone in stroke.tones]
            second.add(stroke.moved(second.now, letters, alters, "must" if place else "free"))
    second.lowest, second.highest = first.lowest + letters, first.highest + letters
    if first.now < second.now:
        first.fill(second.now - first.now)
    return finish(first, second)


def both_hands(chance: random.Random) -> Sequence[Hand]:
    """Both hands play one or two bars once or twice more, directly or after some bars."""
    hands = both(chance, altered=0.1)
    length, between, copies = chance.randint(1, 2), chance.choice((0, 0, 1, 2, 4)), chance.randint(1, 2)
    for hand in hands:
        model = bars(chance, hand, length, 7)
        sparse(hand, between)
        for _ in range(copies if not between else 1):
            hand.copy(model)
        hand.fill(hand.bar)
    return hands


def with_odd(chance: random.Random, hand: Hand, copied: list[Stroke], added: bool = False) -> list[Stroke]:
    """Make some strokes of the copy just played odd, another tone in place of one in five at most, or one more in one in ten; return it."""
    count = len(copied)
    most = max(1, count // (10 if added else 5))
    places = [place for place in range(2, count - 2) if copied[place].at // hand.bar == copied[place - 1].at // hand.bar]
    chosen: list[int] = []
    for place in chance.sample(places, len(places)):
        if len(chosen) < most and all(abs(place - one) > 2 for one in chosen):
            chosen.append(place)
    if not chosen:
        raise Stuck
    for place in chosen:
        hand.make_odd(len(hand.strokes) - count + place, added)
    return hand.strokes[-count:]


def odd_again(chance: random.Random, added: bool = False) -> Sequence[Hand]:
    """Directly before, eight strokes or more, with odd notes that stay for the next copy."""
    hand, other = pair(chance, altered=0.1)
    hand.fill(chance.randrange(2 * hand.bar))
    count = chance.randint(9, 24)
    model = hand.walk(group_rhythm(chance, count))
    for _ in range(chance.randint(1, 2)):
        model = with_odd(chance, hand, hand.copy(model), added)
    return finish(hand, other)


def odd_earlier(chance: random.Random) -> Sequence[Hand]:
    """Two earlier bars once more, with odd notes."""
    hand, other = pair(chance, altered=0.1)
    model = bars(chance, hand, 2, 6)
    sparse(hand, chance.randint(1, 5))
    with_odd(chance, hand, hand.copy(model))
    return finish(hand, other)


def odd_octave(chance: random.Random) -> Sequence[Hand]:
    """Play once more an octave lower or higher, with odd notes."""
    hand, other = pair(chance, altered=0.1)
    hand.fill(chance.randrange(2 * hand.bar))
    model = hand.walk(group_rhythm(chance, chance.randint(9, 12), hand.bar))
    letters = chance.choice((-7, 7))
    with_odd(chance, hand, hand.copy(model, letters))
    hand.lowest, hand.highest = hand.lowest + letters, hand.highest + letters
    return finish(hand, other)


def odd_sequence(chance: random.Random) -> Sequence[Hand]:
    """Play once or twice more, a step or two up or down, with odd notes."""
    hand, other = pair(chance)
    hand.fill(chance.randrange(2 * hand.bar))
    model = hand.walk(group_rhythm(chance, chance.randint(10, 12), hand.bar))
    letters = chance.choice((-2, -1, 1, 2))
    for _ in range(chance.randint(1, 2)):
        model = with_odd(chance, hand, moved(hand, model, letters))
    return finish(hand, other)


def pedal_note(chance: random.Random) -> Sequence[Hand]:
    """One note between those of a line that lies above it (below it), ten to fourteen strokes; its first stroke is free."""
    hand, other = pair(chance, altered=0.4)
    hand.fill(chance.randrange(2 * hand.bar))
    value, first = chance.choice((1, 2)), chance.random() < 0.5
    line = hand.walk(even(chance.randint(5, 7), value))
    del hand.strokes[-len(line) :]
    hand.now = line[0].at
    heights = [stroke.tones[0].diatonic for stroke in line]
    letters = [min(heights) - by for by in (2, 3, 4, 5)] + [max(heights) + by for by in (2, 3, 4, 5)]
    before, start = len(hand.strokes), hand.now
    for letter in chance.sample(letters, len(letters)):
        for number, stroke in enumerate(line):
            pedal = (Tone(letter, key_of(hand.fifths).alters[letter % 7], "must" if number else "free"),)
            for tones in (pedal, stroke.tones) if first else (stroke.tones, pedal):
                hand.add(Stroke(hand.now, value, value, tones))
        if not any(named(hand.strokes[: place + 1]) for place in range(before, len(hand.strokes))):
            return finish(hand, other)
        del hand.strokes[before:]
        hand.now = start
    raise Stuck


def one_voice(chance: random.Random) -> Sequence[Hand]:
    """Copy a bar of one voice twice or three times, while a second voice of the hand goes on slowly with new notes."""
    hand, other = pair(chance, altered=0.1)
    under = Hand(chance, hand.name, hand.fifths, hand.bar, voice=2)
    under.lowest, under.highest = hand.lowest - 10, hand.lowest - 1
    model = bars(chance, hand, 1, 7)
    under.walk(even(2, hand.bar // 2))
    for _ in range(chance.randint(2, 3)):
        hand.copy(model)
        under.walk(even(2, hand.bar // 2), role="new")
    return [*finish(hand, other), under]


def control(chance: random.Random) -> Sequence[Hand]:
    """Ten bars of random walks in both hands: nothing is a copy of anything."""
    hands = both(chance, altered=0.1)
    for hand in hands:
        length = 10 * hand.bar
        while hand.now < length:
            hand.fill(min(chance.choice((hand.bar, 2 * hand.bar)), length - hand.now))
            hand.rest(min(chance.choice((0, 0, 2, 4)), length - hand.now))
    return hands


ROWS: dict[str, Row] = {
    "again": again,
    "again, rests inside": again_with_rests,
    "again, chords": again_with_chords,
    "an earlier bar": earlier_bar,
    "earlier bars": earlier_bars,
    "a section": section,
    "octaves up": lambda chance: octaves(chance, 1),
    "octaves down": lambda chance: octaves(chance, -1),
    "a sequence up": lambda chance: sequence(chance, 1, chance.randint(2, 4)),
    "a sequence down": lambda chance: sequence(chance, -1, chance.randint(2, 4)),
    "once more, some steps away": lambda chance: sequence(chance, chance.choice((-1, 1)), 1),
    "a real sequence": real_sequence,
    "the way back": retrograde,
    "from the other hand, by octaves": lambda chance: imitation(chance, True),
    "from the other hand, by steps": lambda chance: imitation(chance, False),
    "both hands": both_hands,
    "again, odd notes": odd_again,
    "again, odd strokes with a note more": lambda chance: odd_again(chance, added=True),
    "earlier bars, odd notes": odd_earlier,
    "an octave away, odd notes": odd_octave,
    "a sequence, odd notes": odd_sequence,
    "a pedal note": pedal_note,
    "one voice of two": one_voice,
    "control": control,
}
"""Every row, by what it shows."""


def cases(row: str, seed: int, count: int) -> list[Case]:
    """Return so many scores of a row; the same seed gives the same scores."""
    chance = random.Random(f"{row} {seed}")
    found: list[Case] = []
    while len(found) < count:
        try:
            hands = ROWS[row](chance)
            for hand in hands:
                check(hand.strokes)
                if any(not 0 <= tone.diatonic <= 56 or semitone((tone.diatonic, tone.alter)) < 9 for s in hand.strokes for tone in s.tones):
                    raise Stuck
        except Stuck:
            continue
        found.append(Case(row, *musicxml(sorted(hands, key=lambda hand: (hand.name != "right", hand.voice)))))
    return found


def grey_ids(report: Report) -> frozenset[str]:
    """Return the ids of the notes that a report leaves unread: those of a figure that are an anchor of none."""
    figures = report["figures"]
    notes = {name for figure in figures for name in figure["notes"]}
    return frozenset(notes - {name for figure in figures for name in figure["anchors"]})


def judge(found: Sequence[Case], find: Callable[[Path], Report]) -> dict[str, Count]:
    """Return what a function finds in some cases, by row."""
    counts: dict[str, Count] = {}
    with tempfile.TemporaryDirectory() as folder:
        for number, case in enumerate(found):
            path = Path(folder) / f"{number}.musicxml"
            path.write_text(case.text, encoding="utf-8")
            counts.setdefault(case.row, Count()).add(case, grey_ids(find(path)))
    return counts


def told(row: str, count: Count) -> str:
    """Return a row of the table."""
    shares = f"{count.found:>8.3f}" if count.must else " " * 8
    return f"{row:<40}{count.must:>7}{shares}{count.new:>7}{count.new_grey:>6}{count.free:>7}{count.chance:>8.3f}"


HEADING = f"{'row':<40}{'must':>7}{'grey':>8}{'new':>7}{'grey':>6}{'free':>7}{'grey':>8}"


if __name__ == "__main__":
    import annotator

    fresh = int(sys.argv[1]) if len(sys.argv) > 1 else random.SystemRandom().randrange(10**6)
    print(f"seed {fresh}\n{HEADING}")
    for name in ROWS:
        made = cases(name, fresh, int(sys.argv[2]) if len(sys.argv) > 2 else 40)
        print(told(name, judge(made, lambda path: annotator.find_figures(annotator.read(path)).to_dict())[name]), flush=True)
