"""From the bytes of a file to its measures: read, find the figures, count. This is the work that is done once for each file.

Conventions
-----------
* The figures are those that ``annotator figures`` finds without options, so ``to_read`` is what it says.
* A file is one of three things: a score with measures, a file left out (a copy of ours, nothing for keyboard), or an error.
* A copy of ours is known by its marks, whatever it is called; the piece is ranked by its source. A plain copy has no marks: it is known
  by its name (``survey.library``).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from lxml.etree import ProcessingInstruction

from annotator.figures.registry import KINDS_BY_NAME
from annotator.marks.finding import find_figures, parts_looked_at
from annotator.marks.report import Report
from annotator.music.beats import beat_ticks
from annotator.music.keys import home_key, local_keys
from annotator.music.score import Note, Part, Score
from annotator.musicxml.record import TARGET
from annotator.options.settings import Options
from annotator.products.survey.measures import Drilled, KeyUsed, Measures
from annotator.products.survey.playing import HANDS, hand_measures, played, rhythm, texture
from annotator.reading.loading import load
from annotator.reading.parts import part_headers, piano_pairs
from annotator.reading.reader import read_document

OPTIONS = Options()
NO_KEYBOARD = "no part for keyboard"
NOTHING_TO_PLAY = "no notes to play"
OUR_COPY = "a copy made by this program"


def measure(data: bytes) -> Measures | str:
    """Return the measures of the score in bytes, or the reason why it is left out. Raises a ``ScoreError`` for what is no score."""
    document = load(data)
    if _is_signed(document.tree.getroot()):
        return OUR_COPY
    if _surely_not_for_keyboard(document.tree.getroot()):
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
        node.target == TARGET
        for software in root.iterfind("identification/encoding/software")
        if (software.text or "").strip() == TARGET
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


def _surely_not_for_keyboard(root: Any) -> bool:
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
