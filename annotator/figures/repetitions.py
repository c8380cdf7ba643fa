"""The same again: repeated notes and chords, two in alternation (trill, tremolo), and a note between the notes of a line (pedal note).

Conventions
-----------
* Repeated notes: a row is of one written pitch (or chord), and so long that three notes follow, of chords four. The strokes come one after
  another; chords, and two notes, may be parted by rests no longer than the stroke before. The rhythm is on the page and may vary.
  Several rows of chords, or of two notes, each of two strokes or more, are one figure where they follow one another (``times`` is None).
  ``group`` is how often each is struck, None where they differ. The first stroke of a row is the anchor; ``times`` is the number of
  strokes.
* So are three rows of single notes and more, each struck three times at least, with up to two other strokes between them, which are dark.
* Alternation: six strokes at least, of equal value; the last may be longer. The two sides have equally many notes. A trill alternates two
  single notes a step apart (neighbouring letters, or a semitone on one letter); a tremolo anything wider. The two sides and the last
  stroke are the anchors.
* Pedal note (D♯ x D♯ x …): six strokes at least, every second of them the note; what is between is not always the same. The rhythm is
  even, or, of strokes equally long and parted by rests, comes again with every second stroke. ``notes`` are those of the pedal note
  alone; the line between is dark, or a figure of its own.
* There are no odd notes. The line of both hands together is not looked at: one key is struck again by one hand.

Rule: every stroke is the last dark one again; the strokes are the first and the second in turn; every second stroke is the named note,
which is dark where it is struck first. Source: common practice, no source; repeated chords as an accompaniment are the "drum bass".
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from annotator.figures.copy_rows import is_cut, played_lines, runs
from annotator.figures.figure import CannotSpellOut, Covered, Figure, LabelData, Spelling, figure_of, made
from annotator.figures.lines import Event, Line, Texture
from annotator.music.chords import Chord, incomplete, name_chord
from annotator.music.names import name_of
from annotator.music.score import Note

REPEATED, REPEATED_CHORDS = 3, 4  # fewest notes that follow
ALTERNATING = 6  # fewest strokes
ROWS, OTHERS = 3, 2  # fewest rows of repeated notes that have others between them, and most of those
TWICE = 4  # strokes of a pair that is struck twice
PEDAL = 3  # fewest strokes of the note
MANY_LINES = 6  # bar lines at either end at which a row of a pedal note may begin or end, too

Row = tuple[int, int]
"""The index range (first, stop) of events that strike the same."""


def detect_repeated_notes(line: Line) -> Iterator[Figure]:
    """Yield every longest row of strokes of one note or chord in a line, and the chords that are each struck again."""
    if line.scope == "shared":
        return
    several: list[Row] = []
    for row in _rows_of_one(line):
        if several and not (_again(line, row) and line.near(row[0])):
            yield from _figure(line, several, REPEATED_CHORDS)
            several = []
        if _again(line, row):
            several.append(row)
        elif row[1] - row[0] > REPEATED:
            yield from _figure(line, [row], REPEATED)
    if several:
        yield from _figure(line, several, REPEATED_CHORDS)
    yield from _among_others(line)


def _among_others(line: Line) -> Iterator[Figure]:
    """Yield the rows of single notes struck three times and more, three rows at least, with no more than two other strokes between them."""
    rows = [row for row in _rows_of_one(line) if row[1] - row[0] >= REPEATED and line.events[row[0]].single]
    several = rows[:1]
    for row in [*rows[1:], (len(line) + OTHERS + 1, len(line))]:
        end = several[-1][1] if several else 0
        if several and row[0] - end <= OTHERS and all(map(line.near, range(end, row[0] + 1))):
            several.append(row)
            continue
        events, strokes = line.events[several[0][0] : end] if several else (), line.strokes[several[0][0] : end] if several else []
        dark = [note for at, event in enumerate(events) if not at or strokes[at] != strokes[at - 1] for note in event.notes]
        figure = figure_of(line, "repeated-notes", events, dark) if len(several) >= ROWS else None
        if figure:
            yield figure
        several = [row]


def _rows_of_one(line: Line) -> Iterator[Row]:
    """Yield the longest rows of events, one after another, that strike the same pitches."""
    strokes, events = line.strokes, line.events
    first = 0
    for stop in range(1, len(events) + 1):
        if stop == len(events) or strokes[stop] != strokes[stop - 1] or not (events[stop].joined or events[stop].single < line.near(stop)):
            yield first, stop
            first = stop


def _again(line: Line, row: Row) -> bool:
    """Return whether a row is of chords, or of two notes, struck again."""
    return row[1] - row[0] > 1 and not line.events[row[0]].single


def _figure(line: Line, rows: Sequence[Row], fewest: int) -> Iterator[Figure]:
    """Yield the figure of rows that follow one another, if so many notes follow."""
    if sum((stop - first - 1) * len(line.events[first].notes) for first, stop in rows) < fewest:
        return
    events = line.events[rows[0][0] : rows[-1][1]]
    dark = [note for first, _ in rows for note in line.events[first].notes]
    times = {stop - first for first, stop in rows}
    alike = times.pop() if len(times) == 1 else None
    one = len(rows) == 1
    chord = _named(dark) if one else None
    figure = figure_of(line, "repeated-notes", events, dark, times=alike if one else None, group=None if one else alike, chord=chord)
    if figure:
        yield figure


def _named(struck: Sequence[Note]) -> Chord | None:
    """Return the chord of a stroke, if it is whole."""
    chord = name_chord([note.pitch for note in struck])
    return None if chord is None or incomplete(chord, [int(note.pitch.semitone) for note in struck]) else chord


def spell_out_repeated_notes(covered: Covered) -> Spelling:
    """Return the last dark stroke once more for every grey one.

    Rule: Every stroke is the last black one again; ×8 says that it is struck 8 times in all.
    """
    strokes: list[tuple[int, ...]] = []
    for slot in covered.slots:
        dark = tuple([int(pitch.semitone) for pitch in slot.known if pitch is not None])
        if len(dark) not in (0, len(slot.known)) or not (dark or strokes):
            raise CannotSpellOut("a stroke is dark or grey as a whole, and the first one dark")
        strokes.append(dark or strokes[-1])
    return tuple(strokes)


def repeated_label(figure: Figure) -> LabelData:
    """Name the note, the octave or two notes, or the chord that has a name, and say how often it is struck; of several chords only that."""
    times = figure.times
    if times is None and len(figure.moments[0]) == 1:
        return LabelData("among")
    if times is None:
        return LabelData("each", times=figure.group) if figure.group else LabelData("several")
    if figure.chord is not None:
        return LabelData("chord", chord=figure.chord, times=times)
    named = {name_of(note.pitch): note for note in figure.moments[0]}
    return LabelData("unnamed", times=times) if len(named) > 2 else LabelData("notes", strokes=(tuple(named.values()),), times=times)


def detect_alternations(line: Line) -> Iterator[Figure]:
    """Yield the longest alternations in a line: trills and tremolos."""
    if line.scope == "shared":
        return
    for first, stop in _alternations(line):
        events = line.events[first:stop]
        kind = "trill" if _neighbours(events[0], events[1]) else "tremolo"
        dark = [note for event in (events[0], events[1], events[-1]) for note in event.notes]
        figure = figure_of(line, kind, events, dark, times=len(events))
        if figure:
            yield figure
    for first, stop in _pairs_twice(line):
        strokes, events = line.strokes[first:stop], line.events[first:stop]
        dark = [note for at, event in enumerate(events) if at < 2 or strokes[at] != strokes[at - 2] for note in event.notes]
        figure = figure_of(line, "tremolo", events, dark, group=TWICE)
        if figure:
            yield figure


def _pairs_twice(line: Line) -> Iterator[tuple[int, int]]:
    """Yield the index ranges (first, stop) of pairs of strokes that are each struck twice, one pair directly after another."""
    first = stop = 0
    for place in range(len(line) - TWICE + 1):
        if place < stop or not _struck_twice(line, place):
            continue
        first, stop = place, place + TWICE
        while _struck_twice(line, stop) and line.ticks[stop] == line.ticks[first] and line.events[stop].joined:
            stop += TWICE
        if stop > first + TWICE and line.strokes[first : stop - 2] != line.strokes[first + 2 : stop]:
            yield first, stop


def _struck_twice(line: Line, first: int) -> bool:
    """Return whether four equal strokes from an event on are two in turn, on a beat of four of them where the bar tells."""
    pair, again = line.strokes[first : first + 2], line.strokes[first + 2 : first + TWICE]
    if len(again) < 2 or pair != again or _end(line, first) < first + TWICE:
        return False
    event = line.events[first]
    return line.bars[event.bar].on_count(event.tick, TWICE * event.ticks)


def spell_out_alternation(covered: Covered) -> Spelling:
    """Return the first two strokes in turn.

    Rule:

    * ``trill``: The first two notes, which are black, in turn, as often as there are notes.
    * ``tremolo``: Two notes or chords, which are black, in turn, as often as there are strokes; a black one takes the place
      of the last but one.
    """
    strokes: list[tuple[int, ...]] = []
    for place, slot in enumerate(covered.slots):
        dark = tuple([int(pitch.semitone) for pitch in slot.known if pitch is not None])
        if place < 2 and not dark:
            raise CannotSpellOut("the first two strokes are dark")
        strokes.append(dark or strokes[place - 2])
    return tuple(strokes)


def _neighbours(one: Event, other: Event) -> bool:
    """Return whether two strokes are single notes a step apart."""
    if not (one.single and other.single):
        return False
    low, high = one.notes[0].pitch, other.notes[0].pitch
    letters, semitones = abs(low.diatonic - high.diatonic), abs(low.semitone - high.semitone)
    return letters == 1 or (letters == 0 and semitones == 1)


def _alternations(line: Line) -> Iterator[tuple[int, int]]:
    """Yield the index ranges (first, stop), long enough, in which two strokes alternate; the last of one may be the first of the next."""
    first, strokes = 0, line.strokes
    while first + ALTERNATING <= len(line):
        stop = _end(line, first) if strokes[first] == strokes[first + 2] else first
        if stop - first >= ALTERNATING:
            yield first, stop
        first = max(first + 1, stop - 1)


def _end(line: Line, first: int) -> int:
    """Return the event after the last of an alternation that begins at ``first``; ``first`` where none begins."""
    events, strokes = line.events, line.strokes
    one, other = events[first], events[first + 1]
    if not other.joined or one.ticks != other.ticks or len(one.notes) != len(other.notes) or strokes[first] == strokes[first + 1]:
        return first
    stop = first + 2
    while stop < len(events) and strokes[stop] == strokes[stop - 2] and events[stop].joined and events[stop].ticks >= one.ticks:
        stop += 1
        if events[stop - 1].ticks > one.ticks:
            break
    return stop


def trill_label(figure: Figure) -> LabelData:
    """Name the two notes in the order in which they are played."""
    return LabelData(strokes=figure.moments[:2])


def tremolo_label(figure: Figure) -> LabelData:
    """Name the two notes or chords in the order in which they are played; several pairs have no names."""
    strokes = figure.moments[:2]
    if figure.group:
        return LabelData("pairs")
    return LabelData("chords" if any(len(stroke) > 1 for stroke in strokes) else "notes", strokes=strokes)


def detect_pedal_notes(texture: Texture) -> Iterator[Figure]:
    """Yield the longest rows of a note between others, and what lies before and after each bar line in them."""
    for line in played_lines(texture):
        for places in _pedals(line):
            lines = [at for at in range(1, len(places)) if line.events[places[at]].bar != line.events[places[at - 1]].bar]
            lines = lines[:MANY_LINES] + lines[MANY_LINES:][-MANY_LINES:]
            for piece in {(0, len(places)), *((0, at) for at in lines), *((at, len(places)) for at in lines)}:
                struck = [line.events[place].notes[0] for place in places[slice(*piece)]]
                if len(struck) >= PEDAL:
                    yield made(line, "pedal-note", [(note,) for note in struck], {struck[0].number}, times=len(struck))


def spell_out_pedal_note(covered: Covered) -> Spelling:
    """Return the first stroke for every one.

    Rule: Every second stroke is the note that is named.
    """
    pitch = covered.slots[0].dark()
    return tuple((int(pitch.semitone),) for _ in covered.slots)


def _pedals(line: Line) -> Iterator[range]:
    """Yield where every second stroke is one single note, in a steady rhythm, and what is between is not always the same."""
    strokes = line.strokes
    for first in (0, 1):
        rows = zip(strokes[first::2], strokes[first + 1 :: 2], strokes[first + 2 :: 2], strict=False)
        for begin, end in runs(one == again != between for one, between, again in rows):
            places = range(first + 2 * begin, first + 2 * end + 1, 2)
            note = strokes[places[0]]
            if len(places) >= PEDAL and len(note) == 1:
                after = places[-1] + 1
                for start, stop in _even(line, places[0], after + (after < len(line) and strokes[after] != note)):
                    row = range(start + (start - first) % 2, min(stop, places.stop), 2)
                    if len(row) >= PEDAL and len({*strokes[row.start + 1 : stop : 2]}) > 1:
                        yield row


def _even(line: Line, first: int, stop: int) -> Iterator[tuple[int, int]]:
    """Yield the stretches of some strokes whose rhythm comes again with every second one, with no cut in them."""
    events = line.events

    def apart(place: int) -> int:
        """Return how long after the second one before it a stroke is, 0 after a cut."""
        before, between, event = events[place - 2 : place + 1]
        even = 2 * between.tick == before.tick + event.tick or before.ticks == between.ticks == event.ticks
        cut = is_cut(line.bars, before, between) or is_cut(line.bars, between, event)
        return event.tick - before.tick if even and not cut else 0

    for distance, even in groupby(range(first + 2, stop), key=apart):
        places = list(even)
        if distance:
            yield places[0] - 2, places[-1] + 1


def pedal_label(figure: Figure) -> LabelData:
    """Name the note."""
    return LabelData(notes=figure.moments[0])
