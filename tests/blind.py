"""Blind reading: can a reader who knows the rules of the legend, and no more, tell the grey notes from what is black.

``python tests/blind.py make OUT SEED PER_KIND SCORE…`` draws figures at random, at most PER_KIND of each kind, from all scores. It writes
OUT/questions.md (of each figure label, rule, rhythm, black notes by name, grey ones as ``?``) and OUT/key.json, and prints their hashes.
``python tests/blind.py mark OUT ANSWERS.json`` compares answers, ``{"1": ["C4", …]}`` with one pitch for each ``?`` in order, with what
stands in the score, by the key to strike.

What a figure goes by (the model of a copy, the other hand) stands there by name, also where it is grey on the page: whoever reads in time
order has it. So do the black notes with an accidental that stand earlier in the bar, on the same staff, outside the figure.
"""

from __future__ import annotations

import hashlib
import json
import random
import re
import sys
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

from annotator.errors import AnnotatorError
from annotator.figures.copies import KINDS as COPIES
from annotator.figures.figure import Figure
from annotator.figures.lines import hand_of
from annotator.marks.finding import find_figures
from annotator.marks.report import Report, in_time
from annotator.music.names import name_of
from annotator.music.score import SIGNATURE_ORDER, Key, Note, Part
from annotator.options.settings import Options
from annotator.reading import read
from annotator.words.labels import change_words, kind_name, labels, rule_words
from annotator.words.phrases import explaining

MOST = 60  # notes of a figure: more are tiresome and tell nothing new
LENGTHS = {
    Fraction(4): "whole", Fraction(3): "half.", Fraction(2): "half", Fraction(3, 2): "quarter.", Fraction(1): "quarter",
    Fraction(3, 4): "8th.", Fraction(1, 2): "8th", Fraction(3, 8): "16th.", Fraction(1, 4): "16th", Fraction(1, 8): "32nd",
    Fraction(1, 16): "64th", Fraction(2, 3): "quarter-triplet", Fraction(1, 3): "8th-triplet", Fraction(1, 6): "16th-triplet",
}  # fmt: skip
HEAD = """# What do the grey notes say?

Each question is a bracket on a page of piano music. Black notes are given by name (C4 is middle C), grey ones as ?, notes struck together
with + from low to high. In square brackets stand lengths, and the names of chords where they stand over a note. ~ is a tied-on note, and
| stands where a new group of notes under one beam begins.
{in_the_key}

For each question write down the grey notes in the order in which they stand: {"1": ["C4", "F#4"], "2": …}.
"""


def spelled(note: Note) -> str:
    """Return a note by name: ``F#4``."""
    return f"{name_of(note.pitch)}{note.pitch.octave}"


def signature(key: Key) -> str:
    """Return a key signature in words."""
    if not key.fifths:
        return "no sharps or flats"
    letters = SIGNATURE_ORDER[: key.fifths] if key.fifths > 0 else SIGNATURE_ORDER[::-1][: -key.fifths]
    return f"{abs(key.fifths)} {'sharp' if key.fifths > 0 else 'flat'}{'s' if abs(key.fifths) > 1 else ''} ({' '.join(letters)})"


class Sheet:
    """One figure as a question: its text, and the grey notes in the order in which they are asked for."""

    def __init__(self, report: Report, part: Part, figure: Figure) -> None:
        self.report, self.part, self.figure = report, part, figure
        self.grey = {note.number for note in figure.grey}
        self.names = {note.number: text for note, text in change_words(figure)}
        self.answer: list[str] = []

    def text(self) -> str:
        """Return the question; afterwards the answer is there."""
        figure = self.figure
        bars = sorted({note.bar for note in figure.notes})
        place = f"{'both hands' if figure.both_hands else f'{figure.hand} hand'}, {signature(figure.struck[0].key)}"
        time = self.part.bars[bars[0]].time
        lines = [f"bracket: **{labels(figure)[0]}**", f"rule ({kind_name(figure.kind)}): {rule_words(figure.kind)}"]
        lines += [f"{place}{f', {sum(time.beats)}/{time.beat_type}' if time else ''}"]
        if figure.model:
            lines += [self._model(), *self._rows(self._goes_by(), hide=False), "the figure:"]
        lines += [f"black with a sign before it, same staff: {', '.join(nearby)}" for nearby in [self._nearby()] if nearby]
        return "\n".join(["  " + line for line in (*lines, *self._rows(figure.notes, hide=True))])

    def _model(self) -> str:
        copy = self.figure.kind in COPIES and self.figure.kind != "imitation"
        return "what it goes by:" if copy else "the other hand:"

    def _goes_by(self) -> list[Note]:
        """Return the notes of the model; where the way leads back, also the turning note between model and copy."""
        notes = in_time(note for moment in self.figure.model for note in moment)
        if self.figure.kind != "retrograde":
            return notes
        ends, begins = notes[-1].tick, self.figure.struck[0].tick
        return notes + [note for note in in_time(self.part.notes) if ends < note.tick < begins and note.staff in self.figure.staves]

    def _nearby(self) -> list[str]:
        """Return the black notes with an accidental outside the figure that are read before its last note in the same bar and staff."""
        own = {note.number for note in (*self.figure.notes, *(note for moment in self.figure.model for note in moment))}
        last = {(note.bar, note.staff): note.tick for note in self.figure.notes}
        told = []
        for note in in_time(self.part.notes):
            black = note.number not in own and note.number not in self.report.grey_numbers
            if note.accidental and black and note.tick < last.get((note.bar, note.staff), -1):
                bar, beat = self.report.place(note)
                told.append(f"{spelled(note)} (bar {bar}, beat {beat:g})")
        return told

    def _rows(self, notes: Iterable[Note], hide: bool) -> Iterator[str]:
        """Yield a line a bar, hand by hand where a copy is of both."""
        by: dict[tuple[str, int], list[Note]] = defaultdict(list)
        for note in notes:
            by[hand_of(self.part, note) if self.figure.both_hands else "", note.bar].append(note)
        for (hand, _), own in sorted(by.items(), key=lambda item: (item[0][0] == "left", item[0][1])):
            bar, beat = self.report.place(own[0])
            place = f"{f'{hand} hand, ' if hand else ''}bar {bar}, beat {beat:g}"
            yield f"{place}: {'  '.join(self._moments(own, hide))}"

    def _moments(self, notes: Sequence[Note], hide: bool) -> list[str]:
        moments: list[str] = []
        before: Note | None = None
        for note in notes:
            text = spelled(note)
            if note.continues is not None:
                text = "~"
            elif hide and note.number in self.grey:
                self.answer.append(text)
                text = "?"
            if before is not None and before.tick == note.tick:
                moments[-1] += f"+{text}"
            else:
                rest = note.onset - before.onset - before.duration if before is not None else Fraction(0)
                moments += [f"[rest {LENGTHS.get(rest, rest)}]"] if rest > 0 and self.figure.kind != "pedal-note" else []
                name = f"[{self.names[note.number]}] " if hide and note.number in self.names else ""
                beam = "| " if before is not None and before.beam != note.beam else ""
                moments.append(f"{beam}{name}[{LENGTHS.get(note.duration, note.duration)}] {text}")
            before = note
        return moments


def figures_of(paths: Iterable[str]) -> dict[str, list[tuple[str, Report, Part, Figure]]]:
    """Return the figures of all scores by kind; a score that cannot be read is said so and left out."""
    pool: dict[str, list[tuple[str, Report, Part, Figure]]] = defaultdict(list)
    for path in paths:
        try:
            report = find_figures(read(path), Options())
        except AnnotatorError as error:
            print(f"left out: {error}")
            continue
        parts = {part.id: part for part in report.score.parts}
        for _, figure in report.figures:
            if len(figure.notes) <= MOST and sum(map(len, figure.model)) <= MOST:
                pool[figure.kind].append((path, report, parts[figure.part], figure))
    return pool


def make(out: Path, seed: int, most: int, paths: Sequence[str]) -> None:
    """Draw the figures and write questions and key."""
    pool, draw = figures_of(paths), random.Random(seed)
    out.mkdir(parents=True, exist_ok=True)
    texts, key = [HEAD.replace("{in_the_key}", explaining("in-the-key"))], dict[int, dict[str, Any]]()
    for kind in sorted(pool):
        for path, report, part, figure in draw.sample(pool[kind], min(most, len(pool[kind]))):
            sheet = Sheet(report, part, figure)
            text, number = sheet.text(), len(key) + 1
            texts.append(f"### {number}\n\n{text}\n  ({len(sheet.answer)} notes)\n")
            bar = part.bars[figure.struck[0].bar].number
            key[number] = {"kind": kind, "answer": sheet.answer, "score": Path(path).name, "label": labels(figure)[0], "bar": bar}
    (out / "questions.md").write_text("\n".join(texts), encoding="utf-8")
    (out / "key.json").write_text(json.dumps(key, ensure_ascii=False, indent=0), encoding="utf-8")
    print(f"{len(key)} questions, {sum(len(each['answer']) for each in key.values())} grey notes, seed {seed}")
    for name in ("questions.md", "key.json"):
        print(f"{name}: sha256 {hashlib.sha256((out / name).read_bytes()).hexdigest()}")


def key_struck(text: str) -> int | None:
    """Return the MIDI number of a note by name, None where it is none.

    >>> key_struck("F#4"), key_struck("C♭5"), key_struck("x")
    (66, 71, None)
    """
    found = re.fullmatch(r"([A-G])([#b♯♭]*)(-?\d)", text.strip())
    if not found:
        return None
    alter = sum(1 if sign in "#♯" else -1 for sign in found[2])
    return 12 * (int(found[3]) + 1) + {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}[found[1]] + alter


def mark(out: Path, answers: Path) -> None:
    """Print what was read otherwise than it stands, and the figures by kind."""
    key, got = json.loads((out / "key.json").read_text(encoding="utf-8")), json.loads(answers.read_text(encoding="utf-8"))
    counts: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    for number, asked in key.items():
        said, stands = got.get(number, []), asked["answer"]
        right = sum(key_struck(a) == key_struck(b) for a, b in zip(said, stands, strict=False))
        whole = right == len(stands) == len(said)
        counts[asked["kind"]] = [a + b for a, b in zip(counts[asked["kind"]], (right, len(stands), whole, 1), strict=True)]
        if not whole:
            print(f"{number} {asked['kind']} «{asked['label']}» {asked['score']} bar {asked['bar']}: {right} of {len(stands)}")
            print(f"   said {' '.join(said)}\n   is   {' '.join(stands)}")
    total = [sum(column) for column in zip(*counts.values(), strict=True)]
    for kind, (right, notes, whole, figures) in [*sorted(counts.items()), ("all", total)]:
        print(f"{kind:20} notes {right}/{notes} {right / notes:.3f}   figures {whole}/{figures} {whole / figures:.3f}")


if __name__ == "__main__":
    match sys.argv[1:]:
        case ["make", out, seed, most, *paths] if paths:
            make(Path(out), int(seed), int(most), paths)
        case ["mark", out, answers]:
            mark(Path(out), Path(answers))
        case _:
            sys.exit(__doc__)
