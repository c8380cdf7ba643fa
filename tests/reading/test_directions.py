"""Clefs, octave lines, tempi, repeats, endings and double bars: in small scores, and as music21 reads them in whole ones."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from scores_at_hand import CORPUS, LOCAL_SCORES, keyboard_corpus

from annotator.music.score import Clef, Jump, Note, Part, Score, ledger_lines
from annotator.reading import read

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    music21 = pytest.importorskip("music21")

SCORES = [
    *keyboard_corpus(),
    CORPUS / "haydn" / "opus74no1" / "movement1.mxl",
    CORPUS / "schumann_robert" / "dichterliebe_no2.xml",
    CORPUS.parent / "musicxml" / "lilypondTestSuite" / "33d-Spanners-OctaveShifts.xml",
    CORPUS.parent / "musicxml" / "lilypondTestSuite" / "45b-RepeatWithAlternatives.xml",
    *(path for name in ("burgmuller-op100-09", "chopin-op10-05", "chopin-op25-06") if (path := LOCAL_SCORES / f"{name}.musicxml").exists()),
]
OCTAVES = {"8va": 1, "8vb": -1, "15ma": 2, "15mb": -2}
PLAIN, REPEAT = ("regular", "dashed", "dotted", "tick", "short", "none"), "Repeat"
Rows = list[tuple[Any, ...]]
BEGUN_LATE = {"chopin-op10-05": 1, "chopin-op25-06": 4}
"""Octave lines in bars that begin with moves forward and back: music21 leaves out their first notes, which follow the sign in the file."""

every_score = pytest.mark.parametrize("path", SCORES, ids=lambda path: path.stem)


@cache
def both(path: Path) -> tuple[Score, Any]:
    """Return our score and music21's."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return read(path), music21.converter.parse(path)


def staves(path: Path) -> list[tuple[Part, int, Any]]:
    """Return each part with each of its staves and music21's part for that staff."""
    score, theirs = both(path)
    rows = [(part, staff) for part in score.parts for staff in range(1, part.staves + 1)]
    return [(part, staff, stream) for (part, staff), stream in zip(rows, theirs.parts, strict=True)]


@pytest.mark.fast
@every_score
def test_clefs_change_where_music21_has_them(path: Path) -> None:
    score, _ = both(path)
    for part, staff, theirs in staves(path):
        wanted: Rows = []
        for clef in theirs.flatten().getElementsByClass("Clef"):
            kind = (clef.sign, clef.line, clef.octaveChange)
            if not wanted or wanted[-1][1:] != kind:
                wanted.append((Fraction(clef.offset), *kind))
        ours = [(c.tick, c.clef.sign, c.clef.line, c.clef.octaves) for c in part.clefs if c.staff == staff]
        assert [(Fraction(tick, score.resolution), *kind) for tick, *kind in ours] == wanted


@pytest.mark.fast
@every_score
def test_octave_lines_hold_for_the_notes_that_music21_puts_under_them(path: Path) -> None:
    score, _ = both(path)
    for part, staff, theirs in staves(path):
        lines = theirs.recurse().getElementsByClass("Ottava")
        wanted = sorted((*(each.getOffsetInHierarchy(theirs) for each in (o.getFirst(), o.getLast())), OCTAVES[o.type]) for o in lines)
        onsets = sorted({note.tick for note in part.notes if note.staff == staff})
        ours = []
        for line in part.octave_lines:
            if line.staff == staff:
                under = [tick for tick in onsets if line.tick <= tick < line.until]
                assert all(part.octaves_at(staff, tick) == line.octaves for tick in under)
                ours.append(([Fraction(tick, score.resolution) for tick in under], line.octaves))
        assert [octaves for _, octaves in ours] == [octaves for *_, octaves in wanted]
        pairs = list(zip((under for under, _ in ours), wanted, strict=True))
        assert sum(start != under[0] for under, (start, *_) in pairs) == (BEGUN_LATE.get(path.stem, 0) if staff == 1 else 0)
        assert all(under[0] <= start <= under[-1] and abs(under[-1] - end) < Fraction(1, 2) for under, (start, end, _) in pairs)


@pytest.mark.fast
@every_score
def test_repeats_endings_and_double_bars_are_those_of_music21(path: Path) -> None:
    for part, _, theirs in staves(path):
        measures = list(theirs.getElementsByClass("Measure"))
        edges = [(bar.leftBarline, bar.rightBarline) for bar in measures]
        assert [bar.repeat_before for bar in part.bars] == [_is_repeat(left) for left, _ in edges]
        assert [bar.repeat_after for bar in part.bars] == [(right.times or 2) if _is_repeat(right) else 0 for _, right in edges]
        before = [None, *(right for _, right in edges)]
        assert [bar.double_bar for bar in part.bars] == [
            _is_double(left) or _is_double(right) for (left, _), right in zip(edges, before, strict=False)
        ]
        endings: list[str | None] = [None] * len(measures)
        for bracket in theirs.recurse().getElementsByClass("RepeatBracket"):
            first, last = measures.index(bracket.getFirst()), measures.index(bracket.getLast())
            endings[first : last + 1] = [bracket.number] * (last + 1 - first)
        assert [bar.volta for bar in part.bars] == endings
        assert all(bar.cut for bar in part.bars[1:] if bar.double_bar or bar.repeat_before or bar.volta != part.bars[bar.index - 1].volta)


def _is_repeat(line: Any) -> bool:
    return line is not None and line.classes[0] == REPEAT


def _is_double(line: Any) -> bool:
    return line is not None and not _is_repeat(line) and line.type not in PLAIN


@pytest.mark.fast
@every_score
def test_tempi_are_those_of_music21(path: Path) -> None:
    """music21 keeps one speed of a direction, the printed one before the one to play, and no words beside it.

    A mark that is set as text behind other words (Brillante.) it does not see.
    """
    score, theirs = both(path)
    printed, played = set(), set()
    for mark in theirs.recurse().getElementsByClass("MetronomeMark"):
        at = Fraction(mark.getOffsetInHierarchy(theirs))
        if mark.number is not None:
            printed.add((at, str(mark.number), Fraction(mark.referent.quarterLength)))
        elif mark.numberSounding is not None:
            played.add((at, float(mark.numberSounding)))
    ours = [(Fraction(tempo.tick, score.resolution), tempo) for part in score.parts for tempo in part.tempos]
    assert {(at, tempo.per_minute, tempo.beat) for at, tempo in ours if tempo.beat and tempo.words != "Brillante."} == printed
    assert {(at, float(tempo.speed)) for at, tempo in ours if tempo.speed and not tempo.beat} == played


def direction(inside: str, after: str = "", attributes: str = "") -> str:
    return f"<direction{' ' * bool(attributes)}{attributes}><direction-type>{inside}</direction-type>{after}</direction>"


@pytest.mark.fast
def test_a_clef_holds_from_where_it_stands_also_before_a_rest(make_note: Callable[..., str], score_of: Callable[..., Score]) -> None:
    bass = '<attributes><clef number="1"><sign>F</sign><line>4</line></clef></attributes>'
    treble = "<clef><sign>G</sign><line>2</line></clef>"
    score = score_of(make_note("C4") + bass + make_note("rest") + make_note("C4", 2), attributes=treble)
    (part,) = score.parts
    assert [(change.tick, change.clef) for change in part.clefs] == [(0, Clef("G", 2)), (1, Clef("F", 4))]
    assert [part.place_on_staff(note) for note in part.notes] == [-2, 10]
    assert [len(ledger_lines(part.place_on_staff(note))) for note in part.notes] == [1, 1]
    assert [part.clef_at(2, 0), part.clef_at(2, 0, Clef("C", 3))] == [Clef("G", 2), Clef("C", 3)]


@pytest.mark.fast
def test_an_octave_line_that_never_stops_holds_to_the_end(make_note: Callable[..., str], score_of: Callable[..., Score]) -> None:
    line = direction('<octave-shift type="down"/>', "<offset>2</offset>")
    score = score_of(make_note("C6") + line + make_note("C6", 3), make_note("C6", 4))
    (part,) = score.parts
    assert [(line.tick, line.until, line.octaves) for line in part.octave_lines] == [(1, 8, 1)]
    assert [part.place_on_staff(note) for note in part.notes] == [12, 5, 5]


@pytest.mark.fast
def test_tempo_words_are_told_from_words_that_send_the_player_elsewhere(
    make_note: Callable[..., str], score_of: Callable[..., Score]
) -> None:
    score = score_of(
        direction("<words>Andante</words>", attributes='placement="above"') + make_note("C4", 4),
        direction("<words>dolce</words>") + make_note("C4", 4),
        direction("<words>a tempo</words>", '<sound tempo="66"/>') + make_note("C4", 4) + direction("<words>D.C. al Fine</words>"),
        direction("<segno/>") + make_note("C4", 2) + direction("<words>Fine</words>") + make_note("C4", 2) + '<sound tempo="-3"/>',
    )
    (part,) = score.parts
    assert [(tempo.bar, tempo.tick, tempo.words, tempo.speed) for tempo in part.tempos] == [(0, 0, "Andante", None), (2, 8, "", 66)]
    assert part.jumps == (Jump(2, 12, "jump", "D.C. al Fine"), Jump(3, 12, "segno"), Jump(3, 14, "fine", "Fine"))


@pytest.mark.fast
def test_a_metronome_mark_that_has_lost_its_note_is_told_as_printed(make_note: Callable[..., str], score_of: Callable[..., Score]) -> None:
    score = score_of(direction("<words> = 69</words>") + make_note("C4", 4), direction("<words>x = 69</words>") + make_note("C4", 4))
    assert [(tempo.bar, tempo.words, tempo.beat) for tempo in score.parts[0].tempos] == [(0, "= 69", None)]


@pytest.mark.fast
def test_an_ending_without_an_end_has_one_bar(make_note: Callable[..., str], score_of: Callable[..., Score]) -> None:
    def ending(kind: str, where: str, number: str = "1", more: str = "") -> str:
        return f'<barline location="{where}"><ending number="{number}" type="{kind}"/>{more}</barline>'

    bar = make_note("C4", 4)
    score = score_of(
        bar,
        ending("start", "left") + bar,
        bar + ending("stop", "right", more='<repeat direction="backward" times="3"/>'),
        ending("start", "left", "2, 3") + bar,
        bar,
    )
    bars = score.parts[0].bars
    assert [bar.volta for bar in bars] == [None, "1", "1", "2, 3", None]
    assert [bar.repeat_after for bar in bars] == [0, 0, 3, 0, 0]


def test_a_note_is_placed_by_what_is_in_force_on_its_own_staff() -> None:
    """In a study with 41 clefs in the left hand no note of either hand stands higher or lower than a page could show."""
    path = LOCAL_SCORES / "chopin-op10-05.musicxml"
    if not path.exists():
        pytest.skip("the local folder of scores is not there")
    (part,) = read(path).parts
    left: list[Note] = [note for note in part.notes if note.staff == 2 and note.counted]
    assert max(len(ledger_lines(part.place_on_staff(note))) for note in left) == 3  # counted by hand where it is highest
