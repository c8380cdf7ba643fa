"""From the bytes of a file to its record: read, find the figures, count. This is the work that is done once for each file.

Conventions
-----------
* The figures are those that ``annotator figures`` finds without options, so ``to_read`` is what it says.
* A file is one of three things: a score with measures, a file left out (a copy of ours, nothing for keyboard), or an error.
* A copy of ours is known by its marks, whatever it is called; the piece is ranked by its source. A plain copy has no marks: it is known
  by its name (``products.gathering``).
* A note's length and the time from one moment to the next are counted in ticks; only their variety matters.
* A note is syncopated if it is struck off the beat and sounds, ties included, past the next beat; so a triplet or a dotted note that
  ends on the beat is none.
* Averages and shares are rounded to three places, so that they are the same on every machine.

Source: bits of a distribution: Shannon, 1948. The rest are plain counts.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from itertools import pairwise
from math import log2
from typing import Any

from lxml.etree import ProcessingInstruction

from annotator.errors import AnnotatorError
from annotator.figures.lines import hand_of
from annotator.figures.registry import KINDS_BY_NAME
from annotator.marks.finding import find_figures, parts_looked_at
from annotator.marks.report import Report
from annotator.music.beats import beat_ticks
from annotator.music.keys import home_key, local_keys
from annotator.music.score import Note, Part, Score, ledger_lines
from annotator.options.settings import Options
from annotator.products.handout.hands import moments_of, widest
from annotator.products.survey.effort import effort
from annotator.products.survey.measures import Drilled, HandMeasures, KeyUsed, Measures, Rhythm, Texture, fault_record, record_of
from annotator.reading.document import PROGRAM
from annotator.reading.loading import load
from annotator.reading.parts import part_headers, piano_pairs
from annotator.reading.reader import read_document

OPTIONS = Options()
NO_KEYBOARD = "no part for keyboard"
NOTHING_TO_PLAY = "no notes to play"
OUR_COPY = "a copy made by this program"
UNNAMED = "the score: "  # how the reader calls a score that came as bytes
OCTAVE = 12
HANDS = ("right", "left")


def measure_bytes(data: bytes) -> str:
    """Return the record of a file's bytes. Whatever happens becomes a record; only an interrupt gets through."""
    try:
        found = measure(data)
        return record_of(left_out=found) if isinstance(found, str) else record_of(effort=round(effort(found), 3), measures=asdict(found))
    except AnnotatorError as error:
        return record_of(failed=str(error).removeprefix(UNNAMED), code=error.exit_code)
    except Exception as fault:
        return fault_record(f"{type(fault).__name__}: {fault}")


def measure(data: bytes) -> Measures | str:
    """Return the measures of the score in bytes, or the reason why it is left out. Raises a ``ScoreError`` for what is no score."""
    document = load(data)
    if _is_signed(document.tree.getroot()):
        return OUR_COPY
    if surely_not_for_keyboard(document.tree.getroot()):
        return NO_KEYBOARD
    score = read_document(document)
    if not parts_looked_at(score, OPTIONS):
        return NO_KEYBOARD
    if not any(note.counted for part in parts_looked_at(score, OPTIONS) for note in part.notes):
        return NOTHING_TO_PLAY
    return measures_of(score, find_figures(score, OPTIONS))


def _is_signed(root: Any) -> bool:
    """Return whether this program names itself among those that made the file, with the record that the line is its own."""
    return any(
        node.target == PROGRAM
        for software in root.iterfind("identification/encoding/software")
        if (software.text or "").strip() == PROGRAM
        for node in software.iterchildren(ProcessingInstruction)
    )


def measures_of(score: Score, report: Report) -> Measures:
    """Return the measures of a score and its report."""
    parts = parts_looked_at(score, OPTIONS)
    counted = {part.id: [note for note in part.notes if note.number in report.counted] for part in parts}
    hands = {hand: [played(part, hand, counted[part.id]) for part in parts] for hand in HANDS}
    lengths = {note.ticks for notes in counted.values() for note in notes}
    return Measures(
        title=score.title,
        composer=score.composer,
        bars=max(len(part.bars) for part in parts),
        beats=round(max(_beats(part, score.resolution) for part in parts), 3),
        notes=report.notes,
        to_read=report.to_read,
        odd=len({note.number for _, figure in report.figures for note in figure.odd} & report.counted),
        signs=sum(len(bar.signs) for part in parts for bar in part.bars),
        signatures=tuple(dict.fromkeys(bar.key.fifths for bar in parts[0].bars)),
        keys=_keys(parts),
        kinds=_kinds(report),
        right=hand_measures(hands, "right"),
        left=hand_measures(hands, "left"),
        rhythm=rhythm(hands, score.resolution, len(lengths)),
        texture=texture(hands, sum(_is_grace(note) for part in parts for note in part.notes)),
    )


def surely_not_for_keyboard(root: Any) -> bool:
    """Return whether it shows without reading notes that no part is a keyboard's: several, none named so, no second staff."""
    headers = part_headers(root)
    if len(headers) < 2 or any(header.keyboard for header in headers.values()) or piano_pairs(root, headers):
        return False
    listed = {part.get("id", "") for part in root.iter("part")}
    staves = any((staves.text or "").strip() != "1" for staves in root.iter("staff", "staves"))
    return len(listed) > 1 and listed <= headers.keys() and not staves


def _is_grace(note: Note) -> bool:
    return note.grace and not (note.cue or note.hidden or note.tablature)


def _beats(part: Part, resolution: int) -> float:
    """Return how many beats a part lasts."""
    return sum(bar.ticks / beat_ticks(bar, resolution) for bar in part.bars)


def _keys(parts: Sequence[Part]) -> tuple[KeyUsed, ...]:
    """Return the home key, then the others of the first part that has notes, the one in force longest first, of equals the earlier one."""
    part = next((part for part in parts if part.notes), parts[0])
    bars = Counter(local_keys(part))
    home = home_key(*parts)
    return tuple(
        KeyUsed(scale.tonic or "", scale.type != "major", bars[scale])
        for scale in dict.fromkeys((home, *(scale for scale, _ in bars.most_common())))
    )


def _kinds(report: Report) -> tuple[Drilled, ...]:
    """Return what the figures of each kind came to, most notes first."""
    figures: Counter[str] = Counter()
    struck: Counter[str] = Counter()
    grey: Counter[str] = Counter()
    for _, figure in report.figures:
        figures[figure.kind] += 1
        struck[figure.kind] += len(figure.struck)
        grey[figure.kind] += len(figure.grey)
    kinds = [Drilled(kind, figures[kind], struck[kind], grey[kind], KINDS_BY_NAME[kind].repeat) for kind in figures]
    return tuple(sorted(kinds, key=lambda one: (-one.notes, one.kind)))


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
        bar, beat = row.part.bars[note.bar], beats[note.bar]
        since = (note.tick - bar.tick + bar.offset) % beat
        count += bool(since) and since + note.ticks + held.get(note.number, 0) > beat
    return count


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
