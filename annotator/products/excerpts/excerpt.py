"""Some bars of a score, of both hands or one, as a little score of its own.

Conventions
-----------
* The notes keep the numbers and ids that they have in the whole; bars, ticks and staves are counted anew. Printed bar numbers stay.
* Clef, octave line and tempo in force at the cut stand at its start. A note tied in from the bar before is struck; what needs an accidental
  since then has one (``signs``).
* A repeat stays if both its ends are there, endings if all endings of their place are there; where one goes, no figure crosses.
* A note goes with the staff it stands on. Of several stretches of bars, no figure crosses from one to the next.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TypeVar

from annotator.errors import UsageError
from annotator.figures.figure import Figure
from annotator.figures.law import holds
from annotator.marks.finding import parts_looked_at, stretches
from annotator.marks.report import Report
from annotator.music.score import Bar, ClefChange, Jump, Note, OctaveLine, Part, Score, Tempo
from annotator.options.settings import Options
from annotator.reading import Document
from annotator.reading.bars import bar_signs, notes_with_signs


@dataclass(frozen=True, slots=True)
class Excerpt:
    """Some bars of a score: the document they are in, and the little ``score``.

    ``bars`` are their stretches by the indices of the whole, ``staves`` the staves taken, counted through all parts of the document from 1.
    ``signs`` are the numbers of the notes that need an accidental which the source does not print.
    """

    document: Document
    score: Score
    bars: tuple[range, ...]
    staves: tuple[int, ...]
    signs: frozenset[int]

    @property
    def spans(self) -> tuple[tuple[str, str], ...]:
        """The printed numbers of the first and the last bar of each stretch."""
        numbers = iter([bar.number for bar in max(self.score.parts, key=lambda part: len(part.bars)).bars])
        taken = [[number for _, number in zip(stretch, numbers, strict=False)] for stretch in self.bars]
        return tuple((each[0], each[-1]) for each in taken if each)


def whole_of(document: Document, score: Score) -> Excerpt:
    """Return a whole score as an excerpt of itself."""
    bars = range(max((len(part.bars) for part in score.parts), default=0))
    return Excerpt(document, score, (bars,), tuple(range(1, 1 + sum(part.staves for part in score.parts))), frozenset())


def excerpt_of(document: Document, score: Score, options: Options) -> Excerpt:
    """Return the bars and the hand that the options ask for, of the parts looked at. A ``UsageError`` says what is not there."""
    chosen = parts_looked_at(score, options)
    if not any(part.bars for part in chosen):
        names = ", ".join(name for part in score.parts for name in part.names)
        raise UsageError(f"no keyboard part to cut an excerpt from: name one with --parts; this score has {names}")
    longest = max(chosen, key=lambda part: len(part.bars))
    return cut_out(whole_of(document, score), stretches(longest, options.bars), options.hand, [part.id for part in chosen])


def cut_out(source: Excerpt, bars: Sequence[range], hand: str, parts: Collection[str]) -> Excerpt:
    """Return the bars with these indices of an excerpt, or of a whole, of ``hand`` (``both``: all staves) and the parts with these ids."""
    found: list[Part] = []
    staves: list[int] = []
    signs = set(source.signs)
    before = 0
    for part in source.score.parts:
        own = [staff for staff in range(1, part.staves + 1) if hand in ("both", "left" if staff in part.left_staves else "right")]
        if part.id in parts and own and any(stretch.start < len(part.bars) for stretch in bars):
            little, shown = _little(part, bars, own, source.score.resolution)
            found.append(little)
            staves += [source.staves[before + staff - 1] for staff in own]
            signs |= shown
        before += part.staves
    if not found:
        raise UsageError(f"no staff of this score is the {hand} hand's: leave --hand out")
    rows = [index for stretch in source.bars for index in stretch]
    taken = [index for stretch in bars for index in rows[stretch.start : stretch.stop]]
    score = replace(source.score, parts=tuple(found))
    return Excerpt(source.document, score, tuple(_ranges(taken)), tuple(staves), frozenset(signs))


def _ranges(indices: Iterable[int]) -> list[range]:
    """Return rising indices as ranges."""
    found: list[range] = []
    for index in indices:
        if found and found[-1].stop == index:
            found[-1] = range(found[-1].start, index + 1)
        else:
            found.append(range(index, index + 1))
    return found


@dataclass(frozen=True, slots=True)
class _Stretch:
    """One stretch of bars of a part: from which tick to which it lasts, and by how many bars and ticks it is moved."""

    bars: range
    start: int
    end: int
    by_bars: int
    by_ticks: int


def _laid_out(part: Part, bars: Sequence[range]) -> list[_Stretch]:
    """Return the stretches of a part, one behind the other."""
    found: list[_Stretch] = []
    place = tick = 0
    for stretch in bars:
        own = part.bars[stretch.start : stretch.stop]
        if own:
            start, end = own[0].tick, own[-1].tick + own[-1].ticks
            found.append(_Stretch(range(stretch.start, stretch.start + len(own)), start, end, place - stretch.start, tick - start))
            place, tick = place + len(own), tick + end - start
    return found


def _little(part: Part, bars: Sequence[range], staves: Sequence[int], resolution: int) -> tuple[Part, set[int]]:
    """Return the part that is left of a part, and the numbers of the notes that need an accidental of their own now."""
    laid, names = _laid_out(part, bars), {staff: place for place, staff in enumerate(staves, 1)}
    halves = part.halves if len(staves) < part.staves else ()
    name, title = halves[staves[0] - 1] if halves else (part.id, part.name)
    notes = [note for stretch in laid for note in _notes(part, stretch, names, name, resolution)]
    by_bar: dict[int, list[Note]] = defaultdict(list)
    for note in notes:
        by_bar[note.bar].append(note)
    little = replace(
        part,
        id=name,
        name=title,
        staves=len(staves),
        bars=_bars(part, laid, by_bar, resolution),
        notes=tuple(sorted(notes, key=lambda note: note.number)),
        left_staves=frozenset(names[staff] for staff in part.left_staves if staff in names),
        clefs=tuple(sorted((each for stretch in laid for each in _clefs(part, stretch, names)), key=_by_staff)),
        octave_lines=tuple(sorted((each for stretch in laid for each in _octave_lines(part, stretch, names)), key=_by_staff)),
        tempos=tuple(each for stretch in laid for each in _tempos(part, stretch, names)),
        jumps=tuple(_moved(jump, stretch) for stretch in laid for jump in part.jumps if jump.bar in stretch.bars),
        halves=() if halves else part.halves,
    )
    first = {stretch.bars.start: stretch.bars.start + stretch.by_bars for stretch in laid}
    had = _unsigned([note for note in part.notes if note.bar == bar] for bar in first)
    return little, _unsigned(by_bar[bar] for bar in first.values()) - had


def _unsigned(bars: Iterable[Iterable[Note]]) -> set[int]:
    """Return the numbers of the notes of some bars that need an accidental and print none."""
    return {note.number for notes in bars for note in notes_with_signs(notes) if note.accidental is None}


def _notes(part: Part, stretch: _Stretch, names: Mapping[int, int], name: str, resolution: int) -> Iterator[Note]:
    """Yield the notes of a stretch, without ties that lead out of it."""
    taken = [note for note in part.notes if note.bar in stretch.bars and note.staff in names]
    there, led_to = {note.number for note in taken}, {note.continues for note in taken}
    for note in taken:
        origin = note.continues if note.continues in there else None
        yield replace(
            note,
            part=name,
            staff=names[note.staff],
            bar=note.bar + stretch.by_bars,
            tick=note.tick + stretch.by_ticks,
            onset=note.onset + Fraction(stretch.by_ticks, resolution),
            continues=origin,
            tie_stop=note.tie_stop and (origin is not None or note.bar != stretch.bars.start),
            tie_start=note.tie_start and (note.number in led_to or note.bar != stretch.bars[-1]),
        )


_Placed = TypeVar("_Placed", ClefChange, OctaveLine, Tempo, Jump)


def _by_staff(placed: ClefChange | OctaveLine) -> tuple[int, int]:
    return placed.staff, placed.tick


def _moved(placed: _Placed, stretch: _Stretch) -> _Placed:
    return placed._replace(bar=placed.bar + stretch.by_bars, tick=placed.tick + stretch.by_ticks)


def _bars(part: Part, laid: Sequence[_Stretch], notes: Mapping[int, list[Note]], resolution: int) -> tuple[Bar, ...]:
    """Return the bars, counted anew; a repeat or an ending that is not there as a whole is gone, and a double bar stands in its place."""
    taken = {index for stretch in laid for index in stretch.bars}
    repeats = [each for each in repeats_of(part.bars) if each[0] in taken and each[1] in taken]
    forward, back = {start for start, _ in repeats}, {end for _, end in repeats}
    found: list[Bar] = []
    for stretch in laid:
        for bar in part.bars[stretch.bars.start : stretch.bars.stop]:
            place = bar.index + stretch.by_bars
            found.append(
                replace(
                    bar,
                    index=place,
                    tick=bar.tick + stretch.by_ticks,
                    onset=bar.onset + Fraction(stretch.by_ticks, resolution),
                    cut=bar.cut or bar.index == stretch.bars.start,
                    signs=bar_signs(notes[place]),
                    repeat_before=bar.repeat_before and bar.index in forward,
                    repeat_after=bar.repeat_after if bar.index in back else 0,
                    volta=bar.volta if taken.issuperset(_endings_around(part.bars, bar.index)) else None,
                )
            )
    return tuple(found)


def repeats_of(bars: Sequence[Bar]) -> Iterator[tuple[int, int]]:
    """Yield the first and the last bar of everything that is played again, of each ending from the common beginning."""
    start = 0
    for bar in bars:
        start = bar.index if bar.repeat_before else start
        if bar.repeat_after:
            yield start, bar.index
            following = bars[bar.index + 1 : bar.index + 2]
            start = start if following and following[0].volta and bar.volta else bar.index + 1


def _endings_around(bars: Sequence[Bar], index: int) -> range:
    """Return the bars under neighbouring endings around a bar."""
    first = last = index
    while first and bars[first - 1].volta:
        first -= 1
    while last + 1 < len(bars) and bars[last + 1].volta:
        last += 1
    return range(first, last + 1)


def _clefs(part: Part, stretch: _Stretch, names: Mapping[int, int]) -> Iterator[ClefChange]:
    """Yield the clefs in force at the start of a stretch, and those that change in it."""
    for staff, place in names.items():
        yield _moved(ClefChange(place, stretch.bars.start, stretch.start, part.clef_at(staff, stretch.start)), stretch)
    for change in part.clefs:
        if change.staff in names and stretch.start < change.tick < stretch.end:
            yield _moved(change._replace(staff=names[change.staff]), stretch)


def _octave_lines(part: Part, stretch: _Stretch, names: Mapping[int, int]) -> Iterator[OctaveLine]:
    """Yield what of the octave lines lies in a stretch."""
    for line in part.octave_lines:
        tick, until = max(line.tick, stretch.start), min(line.until, stretch.end)
        if line.staff in names and tick < until:
            bar = max(line.bar, stretch.bars.start)
            yield _moved(OctaveLine(names[line.staff], bar, tick, until + stretch.by_ticks, line.octaves), stretch)


def _tempos(part: Part, stretch: _Stretch, names: Mapping[int, int]) -> Iterator[Tempo]:
    """Yield the tempo in force at the start of a stretch, unless a new one begins there, and those that come."""
    coming = [tempo for tempo in part.tempos if tempo.bar in stretch.bars]
    before = [tempo for tempo in part.tempos if tempo.tick < stretch.start and (tempo.beat or tempo.speed)][-1:]
    if any(tempo.tick == stretch.start for tempo in coming):
        before = []
    for tempo in [*(tempo._replace(bar=stretch.bars.start, tick=stretch.start) for tempo in before), *coming]:
        yield _moved(tempo._replace(staff=names.get(tempo.staff, 1)), stretch)


def carried(report: Report, excerpt: Excerpt) -> Report:
    """Return the figures of the whole piece's report that lie wholly in an excerpt, under their own names.

    A figure is carried over if every note it strikes and every note its label points to (the model of a copy, the other hand) is in the
    excerpt, and if it still can be spelled out from what is there. All others are left out, and their notes stay dark.
    """
    twins = {note.number: note for part in excerpt.score.parts for note in part.notes}
    bars = {part.id: part.bars for part in excerpt.score.parts}
    moved = ((name, _told_of(figure, twins)) for name, figure in report.figures)
    figures = tuple((name, figure) for name, figure in moved if figure is not None and holds(figure, bars[figure.part]))
    origins = {note.number: note.continues for part in report.score.parts for note in part.notes}

    def is_counted(number: int | None) -> bool:
        """Return whether a note counts in the whole, or one that it is tied from."""
        return number is not None and (number in report.counted or is_counted(origins[number]))

    counted = frozenset(number for number, note in twins.items() if note.counted and is_counted(number))
    return Report(excerpt.score, counted, figures, report.language)


def _told_of(figure: Figure, twins: Mapping[int, Note]) -> Figure | None:
    """Return a figure told of an excerpt's notes; None where some are missing, or are struck on one page and tied on in the other."""
    needed = (*figure.struck, *figure.anchors, *(note for moment in figure.model for note in moment))
    if any(note.number not in twins for note in needed) or any(twins[note.number].continues is not None for note in figure.struck):
        return None

    def row(notes: Iterable[Note]) -> tuple[Note, ...]:
        """Return the same notes of the excerpt."""
        return tuple([twins[note.number] for note in notes])

    first = twins[figure.moments[0][0].number]
    return replace(
        figure,
        part=first.part,
        staff=first.staff,
        voice=first.voice,
        moments=tuple([row(moment) for moment in figure.moments]),
        anchors=row(figure.anchors),
        odd=row(figure.odd),
        changes=tuple([change._replace(note=twins[change.note.number]) for change in figure.changes]),
        model=tuple([row(moment) for moment in figure.model]),
        tied=row(note for note in figure.tied if note.number in twins),
    )
