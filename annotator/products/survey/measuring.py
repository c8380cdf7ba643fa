"""From the bytes of a file to its record: read, find the figures, count. This is the work that is done once for each file.

Conventions
-----------
* The figures are those that ``annotator figures`` finds without options, so ``to_read`` is what it says.
* A file is one of three things: a score with measures, a file left out (a copy of ours, nothing for keyboard), or an error.
* A copy of ours is known by its marks, whatever it is called; the piece is ranked by its source. A plain copy has no marks: it is known
  by its name (``products.gathering``).
* The time from one moment to the next is counted in ticks; only its variety matters.
* Averages and shares are rounded to three places, so that they are the same on every machine.

Source: bits of a distribution: Shannon, 1948. The rest are plain counts.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from itertools import pairwise
from math import log2
from typing import Any

from lxml.etree import ProcessingInstruction

from annotator.errors import AnnotatorError
from annotator.figures.lines import hand_of
from annotator.figures.registry import KINDS_BY_NAME
from annotator.marks.finding import find_figures, parts_looked_at
from annotator.marks.report import Report
from annotator.music.keys import home_key, local_keys
from annotator.music.score import Note, Part, Score, ledger_lines
from annotator.options.settings import Options
from annotator.products.handout.hands import moments_of, widest
from annotator.products.survey.effort import effort
from annotator.products.survey.measures import Drilled, HandMeasures, KeyUsed, Measures, fault_record, record_of
from annotator.reading.document import PROGRAM
from annotator.reading.loading import load
from annotator.reading.parts import part_headers, piano_pairs
from annotator.reading.reader import read_document

OPTIONS = Options()
NO_KEYBOARD = "no part for keyboard"
NOTHING_TO_PLAY = "no notes to play"
OUR_COPY = "a copy made by this program"
UNNAMED = "the score: "  # how the reader calls a score that came as bytes


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
    rights, lefts = ([_played(part, hand, report) for part in parts] for hand in ("right", "left"))
    moments = [moments_of(notes) for notes in (*rights, *lefts)]
    ways = Counter(two.notes[0].tick - one.notes[0].tick for hand in moments for one, two in pairwise(hand))
    sizes = [len({note.pitch.semitone for note in moment.notes}) for hand in moments for moment in hand]
    voices = [voices for notes in (*rights, *lefts) for voices in _voices(notes)]
    return Measures(
        title=score.title,
        composer=score.composer,
        bars=max(len(part.bars) for part in parts),
        beats=round(max(sum(bar.ticks / bar.beat_ticks(score.resolution) for bar in part.bars) for part in parts), 3),
        notes=report.notes,
        to_read=report.to_read,
        odd=len({note.number for _, figure in report.figures for note in figure.odd} & report.counted),
        signs=sum(len(bar.signs) for part in parts for bar in part.bars),
        signature=max((abs(bar.key.fifths) for bar in parts[0].bars), default=0),
        keys=_keys(parts),
        kinds=_kinds(report),
        right=_hand(parts, rights, lefts, right=True),
        left=_hand(parts, lefts, rights, right=False),
        rhythm=_bits(ways.values()),
        thickness=round(sum(sizes) / len(sizes), 3) if sizes else 0.0,
        voices=round(100 * sum(count > 1 for count in voices) / len(voices), 3) if voices else 0.0,
    )


def surely_not_for_keyboard(root: Any) -> bool:
    """Return whether it shows without reading notes that no part is a keyboard's: several, none named so, no second staff."""
    headers = part_headers(root)
    if len(headers) < 2 or any(header.keyboard for header in headers.values()) or piano_pairs(root, headers):
        return False
    listed = {part.get("id", "") for part in root.iter("part")}
    staves = any((staves.text or "").strip() != "1" for staves in root.iter("staff", "staves"))
    return len(listed) > 1 and listed <= headers.keys() and not staves


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
    kinds = [Drilled(one.kind, one.figures, one.notes, KINDS_BY_NAME[one.kind].repeat) for one in report.by_kind()]
    return tuple(sorted(kinds, key=lambda one: (-one.notes, one.kind)))


def _played(part: Part, hand: str, report: Report) -> list[Note]:
    """Return the counted notes of a part that a hand plays."""
    return [note for note in part.notes if note.number in report.counted and hand_of(part, note) == hand]


def _hand(parts: Sequence[Part], own: Sequence[Sequence[Note]], others: Sequence[Sequence[Note]], right: bool) -> HandMeasures:
    """Return the measures of a hand, from its own notes and the other hand's, part by part."""
    heights = [int(note.pitch.semitone) for notes in own for note in notes]
    grips = [widest(moments_of(notes), other, right) for notes, other in zip(own, others, strict=True)]
    lines = [len(ledger_lines(part.place_on_staff(note))) for part, notes in zip(parts, own, strict=True) for note in notes]
    return HandMeasures(
        notes=len(heights),
        compass=max(heights, default=0) - min(heights, default=0),
        reach=max((grip.width for grip in grips if grip), default=0),
        ledger_lines=max(lines, default=0),
    )


def _bits(counts: Iterable[int]) -> float:
    """Return the bits of a distribution given by counts.

    >>> _bits([1, 1]), _bits([5]), _bits([])
    (1.0, 0.0, 0.0)
    """
    row = list(counts)
    whole = sum(row)
    return round(sum((count / whole * log2(whole / count) for count in row), start=0.0), 3)


def _voices(notes: Iterable[Note]) -> list[int]:
    """Return how many voices strike something, for each bar in which one does."""
    return list(Counter(bar for bar, _ in {(note.bar, note.voice) for note in notes}).values())
