"""Sources in other formats: told by their content, converted once, read in full, both hands of a piano on its two staves."""

from __future__ import annotations

import gzip
import io
import random
import zipfile
from fractions import Fraction
from pathlib import Path

import pytest
from formats import readings
from formats.sources import ABC, ALBERTI, KERN, MEI, MIDI, TUNE, midi, number
from scores_at_hand import CORPUS, keyboard_corpus, local_scores
from writing.schema import is_valid

from annotator.errors import ScoreError
from annotator.figures.lines import hand_of
from annotator.formats import format_of, text_of
from annotator.formats.abc_tunes import first_tune
from annotator.formats.converting import convert
from annotator.formats.midi import Stroke, in_two_hands, quantised, read_midi
from annotator.music.score import Score
from annotator.reading import load, read
from annotator.reading.loading import _root

ALL = {"abc": ABC.encode(), "kern": KERN.encode(), "mei": MEI.encode(), "midi": MIDI}


@pytest.fixture(scope="module")
def read_sources() -> dict[str, Score]:
    """Return the sources of this folder, read as the program reads them: by a child."""
    return {kind: read(data, kind) for kind, data in ALL.items()}


@pytest.fixture
def at_home(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the converter run in this process."""
    monkeypatch.setattr("annotator.formats.converting.ask", readings.at_home)


def test_formats_are_told_by_content() -> None:
    assert {kind: format_of(data) for kind, data in ALL.items()} == {"abc": "abc", "kern": "kern", "mei": None, "midi": "midi"}
    assert format_of(b"\xef\xbb\xbf" + ABC.encode()) == "abc" and format_of(ABC.encode("utf-16")) == "abc"
    for other in (b"", b"Dear X: 1 K: no", b"**dynam\nf\n*-\n", b"<a>\nX:1\nK:C</a>", b"RIFF1234WAVE", b"K:C\nX:1\n", b"X:\nK:C\nabc"):
        assert format_of(other) is None, other


def test_both_hands_of_a_piano_stand_on_two_staves(read_sources: dict[str, Score]) -> None:
    for kind, score in read_sources.items():
        (part,) = score.parts
        assert (part.staves, part.keyboard, {note.staff for note in part.notes}) == (2, True, {1, 2}), kind
        assert {hand_of(part, note) for note in part.notes} == {"left", "right"}, kind


def test_it_is_said_that_and_by_what_a_source_was_converted(read_sources: dict[str, Score]) -> None:
    for kind, name in (("abc", "ABC"), ("kern", "Humdrum kern"), ("mei", "MEI"), ("midi", "MIDI")):
        first, *more = read_sources[kind].repairs
        assert first.startswith(f"converted from {name} to MusicXML by music21 ") and not more, read_sources[kind].repairs


def notes(score: Score, staff: int) -> list[tuple[str, Fraction]]:
    """Return names and onsets of a staff's notes."""
    return [(str(note.pitch), note.onset) for note in sorted(score.parts[0].notes, key=lambda one: one.onset) if note.staff == staff]


def test_the_notes_of_abc(read_sources: dict[str, Score]) -> None:
    """By hand, after the ABC standard 2.1: K:G sharpens f; (3 is three in the time of two; > dots the first and halves the second."""
    score = read_sources["abc"]
    upper = [note for note in score.parts[0].notes if note.staff == 1 and note.bar == 2]
    assert [(note.onset - 8, note.duration) for note in upper] == [
        (0, 1), (0, 1), (1, Fraction(1, 3)), (Fraction(4, 3), Fraction(1, 3)), (Fraction(5, 3), Fraction(1, 3)), (2, Fraction(3, 2)),
        (Fraction(7, 2), Fraction(1, 2)),
    ]  # fmt: skip
    assert {note.pitch.alter for note in score.parts[0].notes if note.pitch.step == "F"} == {1}
    assert len(score.parts[0].bars) == 4 and not [note for note in score.parts[0].notes if note.staff == 2 and note.bar == 2]
    assert [bar.number for bar in score.parts[0].bars] == ["1", "2", "3", "4"]
    assert (score.title, score.composer) == ("Sketch for two hands", "our own")


def test_what_abc_would_be_misread_is_refused_and_several_tunes_are_told() -> None:
    for body in ("abc & def |", "c99999 |", ""):
        with pytest.raises(ScoreError):
            first_tune(f"X:1\nK:C\n{body}\n")
    assert first_tune("X:1\nT:one\nK:C\ncde|\nX:2\nT:two\nK:D\nfga|\n").told[0].startswith("2 tunes in it")


def test_the_notes_of_kern_and_mei(read_sources: dict[str, Score]) -> None:
    for kind in ("kern", "mei"):
        data = ALL[kind]
        assert readings.ours(read_sources[kind]) == readings.read_by_converter(kind, data), kind
    tied = [note for note in read_sources["kern"].parts[0].notes if note.continues is not None]
    assert len(tied) == 1 and not tied[0].counted


def test_the_notes_of_midi(read_sources: dict[str, Score]) -> None:
    score = read_sources["midi"]
    written = [(Fraction(onset, 480), key, Fraction(1, 1)) for onset, _, key in ALBERTI]
    written += [(Fraction(onset, 480), key, Fraction(1, 2)) for onset, _, key in TUNE]
    assert readings.played(score) == sorted(written), "an end a little early is no rest"
    assert {note.pitch.semitone for note in score.parts[0].notes if note.staff == 2} == {48, 52, 55}


def test_a_masterwork_in_kern_equals_the_converters_own_reading_and_another_programs(at_home: None) -> None:
    data = (CORPUS / "chopin" / "mazurka06-2.krn").read_bytes()
    score = read(data)
    assert len(readings.ours(score)) == 789 and readings.ours(score) == readings.read_by_converter("kern", data)
    assert readings.ours(read(readings.engravers_mei(data.decode()))) == readings.ours(score)


def equal(paths: list[Path]) -> int:
    """Check that sources are read as the converter itself reads them; return the number of notes."""
    count = 0
    for path in paths:
        data = path.read_bytes()
        own = readings.read_by_converter(str(format_of(data)), text_of(data).encode())
        assert readings.ours(read(data, path.name)) == own, path.name
        count += len(own)
    return count


def test_sources_of_the_corpus_equal_the_converters_own_reading(at_home: None) -> None:
    assert equal([*sorted(CORPUS.glob("bach/*.krn")), *sorted(CORPUS.glob("ryansMammoth/*.abc"))[::200]]) > 1_000


@pytest.mark.slow
def test_many_sources_of_the_corpus_equal_the_converters_own_reading(at_home: None) -> None:
    names = ("beethoven/*/movement3.krn", "palestrina/*.krn", "ryansMammoth/*.abc")
    assert equal([path for name in names for path in sorted(CORPUS.glob(name))[::40]]) > 9_000


def test_a_score_as_midi_plays_what_the_converter_itself_reads(at_home: None) -> None:
    data = readings.midi_of(CORPUS / "bach" / "bwv846.mxl")
    assert len(readings.played(read(data))) == 535 and readings.played(read(data)) == readings.played_by_converter(data)


def right_hands(paths: list[Path]) -> tuple[int, int]:
    """Put both hands of scores into one and cut them apart again; return how many notes come to their hand, and of how many."""
    good = every = 0
    for path in paths:
        score = read(path)
        for part in score.parts:
            if part.staves != 2:
                continue
            struck = [note for note in part.notes if note.continues is None and note.visible]
            hands = {(note.onset, note.pitch.semitone): hand_of(part, note) for note in struck}
            strokes = [Stroke(onset, onset + 1, key, 0, 0) for onset, key in sorted(hands)]
            right, left = in_two_hands(strokes)
            assert len(right) + len(left) == len(strokes)
            good += sum(hands[stroke.onset, stroke.key] == "right" for stroke in right)
            good += sum(hands[stroke.onset, stroke.key] == "left" for stroke in left)
            every += len(strokes)
    return good, every


def test_most_notes_of_one_track_come_to_their_hand() -> None:
    good, every = right_hands(keyboard_corpus())
    assert every > 5_000 and good / every > 0.85, (good, every)


@pytest.mark.skipif(not local_scores(), reason="a local folder of scores is not there")
@pytest.mark.slow
def test_most_notes_of_more_scores_come_to_their_hand() -> None:
    good, every = right_hands(local_scores())
    assert good / every > 0.85, (good, every)


def test_small_deviations_of_a_player_are_no_other_rhythm() -> None:
    chance = random.Random(7)
    lengths = [Fraction(1, 2)] * 8 + [Fraction(1, 3)] * 12 + [Fraction(1)] * 4 + [Fraction(1, 4)] * 16
    onset, written, performed = Fraction(0), [], []
    for place, length in enumerate(lengths):
        written.append((onset, length))
        early, late = (Fraction(chance.randint(-12, 12), 960) for _ in range(2))
        performed.append(Stroke(max(Fraction(0), onset + early), onset + length + late, 60 + place % 12, 0, 0))
        onset += length
    found = quantised(performed)
    assert [stroke.onset for stroke in found] == [start for start, _ in written]
    assert sum(stroke.end - stroke.onset == length for stroke, (_, length) in zip(found, written, strict=True)) > 37, "of 40"


def test_two_tracks_are_two_hands_and_percussion_is_told() -> None:
    performance = read_midi(midi(TUNE, ALBERTI).replace(b"\x90\x30", b"\x99\x30", 1))
    assert performance.percussion == 1 and len(performance.strokes) == len(TUNE) + len(ALBERTI) - 1
    assert {stroke.track for stroke in performance.strokes} == {0, 1}
    for broken in (b"MThd", MIDI[:14], midi([]), midi(TUNE, division=0xE728), midi(TUNE, division=0)):
        with pytest.raises(ScoreError):
            read_midi(broken)


def test_a_source_with_braces_and_voices_and_one_with_other_instruments(at_home: None) -> None:
    braced = "X:1\nM:4/4\nL:1/4\n%%score {(1 2) 3}\nK:G\nV:1\ncdef|\nV:2\nG4|\nV:3\nG,4|\n"
    (part,) = read(braced.encode()).parts
    assert part.staves == 2 and [(note.staff, note.voice) for note in part.notes] == [(1, "1")] * 4 + [(1, "2"), (2, "5")]
    duet = "X:1\nL:1/4\nM:4/4\nK:C\nV:1 name=Violin\ncdef|\nV:2 name=Cello\nC4|\n"
    assert [(part.name, part.staves) for part in read(duet.encode()).parts] == [("Violin", 1), ("Cello", 1)]


def test_keys_and_meters_of_midi_hold_from_the_next_bar_on(at_home: None) -> None:
    head = b"\x00\xff\x59\x02\x02\x00\x00\xff\x58\x04\x03\x02\x18\x08" + number(480 * 4) + b"\xff\x59\x02\xfe\x00"
    (part,) = read(midi([(480 * beat, 480 * (beat + 1), 60) for beat in range(9)], head=head)).parts
    assert [(bar.time and bar.time.beats, bar.key.fifths) for bar in part.bars] == [((3,), 2)] * 2 + [((3,), -2)] * 3


def test_packed_sources_are_the_same_scores(read_sources: dict[str, Score]) -> None:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        archive.writestr("sketch.mei", MEI)
        archive.writestr("read me.txt", "by hand")
    assert read(data.getvalue()).parts == read_sources["mei"].parts
    assert read(gzip.compress(MIDI)).parts == read_sources["midi"].parts
    cut = gzip.compress(MIDI)[:-9]
    bomb = gzip.compress(b" " * 300_000_000)
    for damaged in (cut, bomb, b"\x1f\x8b" + b"x" * 40):
        with pytest.raises(ScoreError):
            load(damaged)


def test_the_converted_is_valid_and_the_same_each_time() -> None:
    for kind in ("abc", "midi"):
        first, second = (convert(kind, ALL[kind], _root)[0] for _ in range(2))
        assert first == second and b"encoding-date" not in first
        assert is_valid(load(first).tree), kind
