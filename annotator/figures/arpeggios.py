"""One chord: the arpeggio, each note the next chord note up or down, and the block chord, struck together.

Conventions
-----------
* Notes of equal value, the last may be longer; every note single.
* A leg is counted with both its turning notes. One leg has at least four notes and no leg fewer than three, so that C E G E C E G E
  (a broken chord) and C G E G (Alberti bass) are no arpeggios. Where a leg would be shorter, the figure ends at the turning note before.
* An arpeggio grows both ways from four notes in one direction, within an octave, that a chord holds: those are neighbouring tones.
* Of a seventh chord all four notes stand there: three of them are no arpeggio.
* A tone of the chord directly before the first note that is longer, or a fifth or an octave below it, is its bass and belongs to it: dark,
  and the leg begins after it, or on it where it is the neighbouring tone.
* In a line that merges voices the figure must be shared; from voice to voice, or hand to hand, it passes in blocks of at least two notes.
* A block chord is three or more notes struck together, one figure a chord; none where a note is held over by a tie. Its notes stand in
  close position above the lowest; three notes of a dominant mean its sparse form (``chords.rungs``), and those of another seventh chord,
  which nothing confirms, have no name. It is found in voice lines and, where several voices make it together, in the line of a hand.

Rule
----
Anchors of an arpeggio are the first note, where the legs begin, each turning note and the last. Between two anchors stand the chord's
tones in order, as many as there are notes. Anchors of a block chord are the lowest note and every note that name and close position do
not give.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby, pairwise

from annotator.figures.figure import CannotSpellOut, Covered, Figure, LabelData, Spelling, figure_of, first_chord, stations
from annotator.figures.lines import Line, Run
from annotator.music.chords import Chord, classes_of, incomplete, keys_above, name_chord

KIND = "arpeggio"
LONG_LEG = 4
"""Notes of the leg that makes an arpeggio."""
SHORT_LEG = 3
"""Fewest notes of any other leg."""
FEWEST_STRUCK = 3
"""Notes of a block chord."""
FIFTH, OCTAVE = 7, 12
"""Semitones."""


def detect_arpeggios(line: Line) -> Iterator[Figure]:
    """Yield the longest arpeggios of a line."""
    for run in line.own_runs:
        done = 0
        for place, four in enumerate(zip(run.keys, run.keys[1:], run.keys[2:], run.keys[3:], strict=False)):
            if place + LONG_LEG <= done or not _in_one_direction(*four) or run.chord(place, LONG_LEG) is None:
                continue
            classes = _classes(four)
            first, done = _reach(run.keys, classes, place)
            if line.shares(run.events[first:done]):
                figure = _figure(line, run, classes, _in_blocks(line, run, first, done))
                if figure is not None:
                    yield figure


def _in_one_direction(first: int, second: int, third: int, last: int) -> bool:
    """Return whether four keys rise, or fall, by no more than an octave in all."""
    return (first < second < third < last or first > second > third > last) and abs(last - first) <= OCTAVE


def _classes(keys: Iterable[int]) -> tuple[int, ...]:
    """Return the pitch classes of some keys, sorted."""
    return tuple(sorted({key % 12 for key in keys}))


def _reach(keys: Sequence[int], classes: Sequence[int], place: int) -> tuple[int, int]:
    """Return how far (first, stop) the leg of four neighbouring tones of ``classes`` at a place, and other legs beside it, go on."""
    way = 1 if keys[place + 1] > keys[place] else -1
    last = place + LONG_LEG - 1
    before = _further(keys, range(place, -1, -1), classes, -way)
    return place - before, last + 1 + _further(keys, range(last, len(keys)), classes, way)


def _further(keys: Sequence[int], places: range, classes: Sequence[int], way: int) -> int:
    """Return at how many places legs go on after the first of them, with which a long leg ends that came this ``way``."""
    rank = _rank(keys[places[0]], classes)
    good, turned = 0, -LONG_LEG
    for i, place in enumerate(places[1:], 1):
        before, rank = rank, _rank(keys[place], classes)
        if before is None or rank is None or abs(rank - before) != 1:
            break
        if rank - before != way:
            if i - turned < SHORT_LEG:
                break
            way, turned = -way, i - 1
        if i - turned + 1 >= SHORT_LEG:
            good = i
    return good


def _rank(key: int, classes: Sequence[int]) -> int | None:
    """Return the place of a key on the endless ladder of pitch classes ``classes`` (sorted), or None."""
    return key // 12 * len(classes) + classes.index(key % 12) if key % 12 in classes else None


def _in_blocks(line: Line, run: Run, first: int, stop: int) -> tuple[int, int]:
    """Return the part that passes from hand to hand or voice to voice in blocks of two notes and more, perhaps none."""
    if line.scope == "voice":
        return first, stop
    players = [note.staff if line.scope == "shared" else note.voice for note in run.notes[first:stop]]
    blocks = [len(list(block)) for _, block in groupby(players)]
    if len(blocks) > 1 and blocks[0] == 1:
        first += blocks.pop(0)
    if len(blocks) > 1 and blocks[-1] == 1:
        stop -= blocks.pop()
    return (first, stop) if len(blocks) > 1 and min(blocks) > 1 else (first, first)


def turning_notes(keys: Sequence[int]) -> list[int]:
    """Return the indices of the first note, of each turning note and of the last."""
    inner = range(1, len(keys) - 1)
    return [0, *(i for i in inner if (keys[i] > keys[i - 1]) != (keys[i + 1] > keys[i])), len(keys) - 1]


def _figure(line: Line, run: Run, classes: tuple[int, ...], span: tuple[int, int]) -> Figure | None:
    """Make the figure of neighbouring tones of ``classes``, if its legs are long enough and these are all the tones of one chord."""
    first, stop = span
    if stop - first < LONG_LEG:
        return None
    keys = run.keys[first:stop]
    turns = turning_notes(keys)
    legs = [after - before + 1 for before, after in pairwise(turns)]
    if max(legs) < LONG_LEG or min(legs) < SHORT_LEG:
        return None
    direction = "turning" if len(legs) > 1 else "up" if keys[-1] > keys[0] else "down"
    begin, end = run.place + first, run.place + stop
    anchors = [run.notes[first + turn] for turn in turns]
    for before in (1, 0) if _begins_before(line, begin, classes) else (0,):
        events = line.events[begin - before : end]
        opening = events[0].notes[0]
        chord = name_chord([event.notes[0].pitch for event in events])
        if chord is not None and classes == _classes(classes_of(chord)):
            on_the_leg = before and _is_next(int(opening.pitch.semitone), keys, classes)
            return figure_of(line, KIND, events, [opening, *anchors[1 if on_the_leg else 0 :]], chord=chord, direction=direction)
    return None


def _begins_before(line: Line, place: int, classes: tuple[int, ...]) -> bool:
    """Return whether the event before a place is the bass, or the longer first note, of an arpeggio of ``classes`` that begins there."""
    if not place or not line.events[place].joined or not line.events[place - 1].single:
        return False
    before, first, second = [event.notes[0] for event in line.events[place - 1 : place + 2]]
    key, low = int(before.pitch.semitone), int(first.pitch.semitone)
    if key % 12 not in classes or before.staff != first.staff:
        return False
    longer = line.ticks[place - 1] > line.ticks[place]
    return low - key in (FIFTH, OCTAVE) or (longer and (key < low or _is_next(key, (low, int(second.pitch.semitone)), classes)))


def _is_next(key: int, leg: Sequence[int], classes: tuple[int, ...]) -> bool:
    """Return whether a key is the tone before the first leg, as that goes on."""
    rank, first, second = [_rank(each, classes) for each in (key, *leg[:2])]
    return None not in (rank, first, second) and (rank or 0) + (second or 0) == 2 * (first or 0)


def fill(chord: Chord, known: dict[int, int], size: int) -> list[int] | None:
    """Return all ``size`` keys from the anchors' keys, by the tones of a chord in turn; None where their number does not fit."""
    classes = _classes(classes_of(chord))
    places = sorted(known)
    if places[0] != 0 or places[-1] != size - 1:
        return None
    keys = [known[0]]
    for before, after in pairwise(places):
        low, high = _rank(known[before], classes), _rank(known[after], classes)
        if after - before == 1:
            keys.append(known[after])
            continue
        if low is None or high is None or abs(high - low) != after - before:
            return None
        way = 1 if high > low else -1
        ranks = range(low + way, high + way, way)
        keys.extend(rank // len(classes) * 12 + classes[rank % len(classes)] for rank in ranks)
    return keys


def spell_out_arpeggio(covered: Covered) -> Spelling:
    """Rebuild an arpeggio from its chord and its anchors.

    Rule: Every tone of the named chord in turn, none left out, from one black note to the next.
    """
    known = {i: int(slot.known[0].semitone) for i, slot in enumerate(covered.slots) if slot.known[0] is not None}
    keys = fill(covered.chord, known, len(covered.slots)) if covered.chord is not None and known else None
    if keys is None:
        raise CannotSpellOut("no ladder of the chord goes through the dark notes")
    return tuple((key,) for key in keys)


def label(figure: Figure) -> LabelData:
    """Name the chord with its inversion, and the notes where the arpeggio starts, turns and ends."""
    chord = first_chord(figure)
    return LabelData("inverted" if chord.inversion else "root", chord=chord, path=stations(figure))


def detect_block_chords(line: Line) -> Iterator[Figure]:
    """Yield the block chords of a line."""
    if line.scope == "shared":
        return
    for event in line.events:
        notes = event.notes
        if len(notes) < FEWEST_STRUCK or not event.whole or not line.shares((event,)):
            continue
        chord = name_chord([note.pitch for note in notes])
        keys = [int(note.pitch.semitone) for note in notes]
        given = close_position(chord, keys[0], len(keys)) if chord is not None else None
        if chord is None or given is None or incomplete(chord, keys):
            continue
        odd = [note for note, key, rule in zip(notes, keys, given, strict=True) if key != rule]
        figure = figure_of(line, "block-chord", (event,), (notes[0], *odd), odd, bounded=True, chord=chord)
        if figure is not None:
            yield figure


def close_position(chord: Chord, bass: int, size: int) -> tuple[int, ...] | None:
    """Return ``size`` keys of a chord in close position above and with its lowest key; None where that is no tone of the chord."""
    return keys_above(chord, bass, range(size), sparse=size == FEWEST_STRUCK)


def spell_out_block_chord(covered: Covered) -> Spelling:
    """Rebuild a block chord from its name, its lowest note and its odd notes.

    Rule: The named chord, close above its black lowest note; the name gives the hand its shape.
    """
    known = covered.slots[0].known
    if covered.chord is None or known[0] is None:
        raise CannotSpellOut("a block chord has a name and a lowest note")
    given = close_position(covered.chord, int(known[0].semitone), len(known))
    if given is None:
        raise CannotSpellOut("the chord does not stand on the lowest note")
    return (tuple([rule if note is None else int(note.semitone) for rule, note in zip(given, known, strict=True)]),)


def block_label(figure: Figure) -> LabelData:
    """Name the chord with its inversion."""
    chord = first_chord(figure)
    return LabelData("inverted" if chord.inversion else "root", chord=chord)
