"""Pitches, onsets, durations, staves and ties equal what music21 and partitura read.

On music21's keyboard corpus and on every file of the unofficial MusicXML test suite that its wheel carries. Where one of the two reads
otherwise, the tables below say who is right and why; a file in a table that no longer differs fails, so that the tables cannot rot.
"""

from __future__ import annotations

import warnings
from collections import defaultdict
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from scores_at_hand import written

from annotator.music.score import Score
from annotator.reading import read

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    music21 = pytest.importorskip("music21")
    partitura = pytest.importorskip("partitura")
    from partitura import score as partitura_score

WHEEL = Path(music21.__file__).parent
SUITE = sorted(path for path in (WHEEL / "musicxml" / "lilypondTestSuite").iterdir() if path.suffix in (".xml", ".mxl"))
QUICK = (
    "bach/bwv846.mxl",
    "cpebach/h186.mxl",
    "haydn/opus74no1/movement3.mxl",
    "joplin/maple_leaf_rag.mxl",
    "schoenberg/opus19/movement2.mxl",
    "schoenberg/opus19/movement6.mxl",
    "schubert/Lindenbaum.xml",
    "schumann_clara/polonaise_op1n1.mxl",
    "schumann_clara/polonaise_op1n2.mxl",
    "schumann_clara/polonaise_op1n3.mxl",
    "schumann_clara/polonaise_op1n4.mxl",
    "schumann_robert/dichterliebe_no2.xml",
    "verdi/laDonnaEMobile.mxl",
)
LONG = (
    "beach/prayer_of_a_tired_child.musicxml",
    "handel/rinaldo/Lascia_chio_pianga.mxl",
    "liliuokalani/aloha_oe.mxl",
    "schumann_clara/opus17/movement3.xml",
    "weber/concertino_clarinet.mxl",
)
# A tuplet note in 256 divisions is written as 85; both libraries take that as it is, this reader takes the third that is meant.
ROUNDING = Fraction(1, 24)

STAFF_OF_FIRST = "a chord over both staves: music21 puts it whole on the staff of its first note; each note names its own staff"
RAISED = "right by the file: music21 and this reader; partitura reads no fractions of a semitone"
CHORD_LENGTH = "chord members written longer than the note they are struck with, against the standard; here they are as long as that"
MUSIC21_DIFFERS = {
    "02e-Rests-NoType.xml": "a note without <staff> is on staff 1 by the standard; music21 puts it on both",
    "21f-Chord-ElementInBetween.xml": "<chord> goes with the note before, whatever else stands between; music21 begins anew",
    "24e-GraceNote-StaffChange.xml": "music21 leaves grace notes on staff 1 although they name staff 2, which is not declared",
    "43d-MultiStaff-StaffChange.xml": STAFF_OF_FIRST,
    "Lindenbaum.xml": CHORD_LENGTH,
    "dichterliebe_no2.xml": "a hidden cue note with <tied> but no <tie>: music21 looks at <tie> alone, this reader takes what is drawn",
    "aloha_oe.mxl": STAFF_OF_FIRST,
    "concertino_clarinet.mxl": "music21 makes bar 1 of the piano 3 1/8 quarters long; its notes fill 3, as 3/4 asks",
}
PARTITURA_DIFFERS = {
    "01d-Pitches-Microtones.xml": RAISED,
    "Lindenbaum.xml": CHORD_LENGTH,
    "dichterliebe_no2.xml": "the same key tied on both staves at once: partitura loses such ties, here each staff keeps its own",
}
PARTITURA_FAILS = {
    "01f-Pitches-EditorialMicrotoneAccidentals.xml": "KeyError on quarter-flat",
    "32ab-Notations3.xml": "IndexError on its notations",
}


class Row(NamedTuple):
    """A note as each reader gives it; ``tie`` is what can be compared: for music21 both ends, for partitura the tied-on end."""

    onset: Fraction
    duration: Fraction
    tie: str


Rows = dict[tuple[int, int, str, bool], list[Row]]


def _name(step: str, alter: Any, octave: Any) -> str:
    return f"{step}{Fraction(alter or 0)}{octave}"


def _quarters(value: Any) -> Fraction:
    return Fraction(value).limit_denominator(20160)


def ours(score: Score, resolved: bool) -> Rows:
    rows: Rows = defaultdict(list)
    for part, read_part in enumerate(half for each in score.parts for half in written(each)):
        for note in read_part.notes:
            name = _name(note.pitch.step, note.pitch.alter, note.pitch.octave)
            both = "start" * note.tie_start + "stop" * note.tie_stop
            tie = ("stop" if note.continues is not None else "") if resolved else both
            rows[part, note.staff, name, note.grace].append(Row(note.onset, note.duration, tie))
    return rows


def by_music21(path: Path) -> Rows:
    rows: Rows = defaultdict(list)
    part, last = -1, None
    for stream in music21.converter.parse(path, forceSource=True).parts:
        root, _, staff = str(stream.id).partition("-Staff")
        part += root != last or staff in ("", "1")
        last = root
        for measure in stream.getElementsByClass("Measure"):
            for element in measure.recurse().notes:
                if isinstance(element, music21.harmony.Harmony):
                    continue
                onset = _quarters(measure.offset + element.getOffsetInHierarchy(measure))
                grace = element.duration.isGrace
                for note in element.notes if element.isChord else [element]:
                    if hasattr(note, "pitch"):
                        kind = note.tie.type if note.tie else ""
                        tie = {"continue": "startstop"}.get(kind, kind)
                        tie = tie if tie in ("start", "stop", "startstop") else ""
                        name = _name(note.pitch.step, note.pitch.alter, note.pitch.octave)
                        length = Fraction(0) if grace else _quarters(element.duration.quarterLength)
                        rows[part, int(staff or 1), name, grace].append(Row(onset, length, tie))
    return rows


def by_partitura(path: Path) -> Rows:
    rows: Rows = defaultdict(list)
    for index, part in enumerate(partitura.load_musicxml(path).parts):
        quarters = part.quarter_map
        start = float(quarters(part.first_point.t)) if part.first_point else 0.0  # it counts an upbeat from below 0
        for note in part.iter_all(partitura_score.Note, include_subclasses=True):
            grace = isinstance(note, partitura_score.GraceNote)
            onset = _quarters(float(quarters(note.start.t)) - start)
            length = Fraction(0) if grace else _quarters(float(quarters(note.end.t)) - start) - onset
            name = _name(note.step, note.alter, note.octave)
            tie = "stop" if note.tie_prev is not None else ""
            rows[index, note.staff or 1, name, grace].append(Row(onset, length, tie))
    return rows


def differences(left: Rows, right: Rows, tolerance: Fraction) -> list[str]:
    """Return the places where two readings differ; onsets and durations may miss each other by the tolerance."""
    found = []
    for place in sorted(left.keys() | right.keys()):
        one, other = sorted(left.get(place, [])), sorted(right.get(place, []))
        if len(one) != len(other):
            found.append(f"{place}: {len(one)} against {len(other)}")
        for a, b in zip(one, other, strict=False):
            apart = max(abs(a.onset - b.onset), abs(a.duration - b.duration))
            if apart > tolerance or a.tie != b.tie:
                found.append(f"{place}: {a} against {b}")
    return found


@cache
def score_of(path: Path) -> Score:
    return read(path)


def tolerance_of(score: Score) -> Fraction:
    return ROUNDING if any("rounded" in line for line in score.repairs) else Fraction(0)


def check_music21(path: Path) -> None:
    score = score_of(path)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = differences(ours(score, resolved=False), by_music21(path), tolerance_of(score))
    if path.name in MUSIC21_DIFFERS:
        assert found, f"{path.name} no longer differs: {MUSIC21_DIFFERS[path.name]}"
    else:
        assert not found


def check_partitura(path: Path) -> None:
    score = score_of(path)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        if path.name in PARTITURA_FAILS:
            with pytest.raises((KeyError, IndexError)):
                partitura.load_musicxml(path)
            return
        found = differences(ours(score, resolved=True), by_partitura(path), tolerance_of(score))
    if path.name in PARTITURA_DIFFERS:
        assert found, f"{path.name} no longer differs: {PARTITURA_DIFFERS[path.name]}"
    else:
        assert not found


@pytest.mark.parametrize("path", SUITE, ids=lambda path: path.stem)
def test_suite_as_music21(path: Path) -> None:
    check_music21(path)


@pytest.mark.parametrize("path", SUITE, ids=lambda path: path.stem)
def test_suite_as_partitura(path: Path) -> None:
    check_partitura(path)


@pytest.mark.parametrize("name", QUICK)
def test_corpus_as_music21(name: str) -> None:
    check_music21(WHEEL / "corpus" / name)


@pytest.mark.parametrize("name", QUICK)
def test_corpus_as_partitura(name: str) -> None:
    check_partitura(WHEEL / "corpus" / name)


@pytest.mark.slow
@pytest.mark.parametrize("name", LONG)
def test_long_corpus(name: str) -> None:
    check_music21(WHEEL / "corpus" / name)
    check_partitura(WHEEL / "corpus" / name)


SCORES = Path(__file__).resolve().parents[2].parent / "shared" / "scores"


@pytest.mark.slow
def test_local_scores() -> None:
    paths = sorted(SCORES.glob("*.musicxml"))
    if not paths:
        pytest.skip("no local folder of scores beside the project")
    for path in paths:
        check_music21(path)
        check_partitura(path)


def test_the_suite_is_there() -> None:
    assert len(SUITE) >= 140
