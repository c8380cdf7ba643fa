"""What is measured of a score, held against counts made by hand and against the report of the same score."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from scores_at_hand import CORPUS, EXAMPLES, keyboard_corpus
from survey.small_scores import choir, score

import annotator
from annotator.errors import ScoreError
from annotator.marks.finding import find_figures, parts_looked_at
from annotator.options.settings import Options
from annotator.products.marked_copies import plan_marks
from annotator.products.survey.cache import BEARING, program
from annotator.products.survey.measures import KeyUsed, Measures, read_record
from annotator.products.survey.measuring import NO_KEYBOARD, NOTHING_TO_PLAY, OUR_COPY, measure, measure_bytes, surely_not_for_keyboard
from annotator.reading import read
from annotator.reading.loading import load


def measured(right: str, left: str = "", **kind: object) -> Measures:
    found = measure(score(right, left, **kind).encode())  # type: ignore[arg-type]
    assert isinstance(found, Measures)
    return found


@pytest.mark.parametrize("path", [*sorted(EXAMPLES.glob("*.musicxml")), *keyboard_corpus()[:3]], ids=lambda path: path.stem)
def test_counts_are_those_of_the_report(path):
    found = measure(path.read_bytes())
    report = find_figures(read(path))
    assert (found.notes, found.to_read) == (report.notes, report.to_read)
    assert {(one.kind, one.figures, one.notes) for one in found.kinds} == {(one.kind, one.figures, one.notes) for one in report.by_kind()}
    assert found.right.notes + found.left.notes == found.notes
    assert sum(key.bars for key in found.keys) == found.bars
    assert [one.notes for one in found.kinds] == sorted((one.notes for one in found.kinds), reverse=True)


def test_hands_by_hand():
    found = measured("C4 E4/G4 C5/E5/C6 r", "C3:2 C2/C3:2")
    assert found.right.notes == 6
    assert (found.right.compass, found.right.reach) == (24, 12)
    assert (found.left.compass, found.left.reach) == (12, 12)
    assert found.density == 9 / 4
    assert found.thickness == 1.8, "nine notes in five moments of a hand"


def test_signs_and_keys():
    found = measured("F4 F#4 F#4 F4 | C5 C5 C5 C5", fifths=1)
    assert found.signs == 3, "a natural, a sharp that takes it back, and a natural once more; the C needs none"
    assert found.in_100(found.signs) == 37.5
    assert found.signature == 1
    assert measured("C4 E4 G4 C5 | B4 G4 D5 B4 | C5 G4 E4 C4").keys == (KeyUsed("C", False, 3),)


def test_rhythm():
    assert measured("C4 D4 E4 F4").rhythm == 0
    assert measured("C4:1/2 D4:1/2 E4 F4 G4").rhythm == 1, "two eighths and two quarters to the next: one bit"


def test_ledger_lines():
    """Middle C has one ledger line in the treble clef and in the bass clef, A5 one, C6 two; E4 to F5 stand on the staff (any primer)."""
    assert [measured(f"{name}:4").right.ledger_lines for name in ("E4", "F5", "C4", "A5", "C6", "A3")] == [0, 0, 1, 1, 2, 2]
    assert [measured("r:4", f"{name}:4").left.ledger_lines for name in ("G2", "A3", "C4", "E4", "E2")] == [0, 0, 1, 2, 1]


def test_ledger_lines_heed_the_clef_and_the_octave_line():
    treble = '<attributes><clef number="2"><sign>G</sign><line>2</line></clef></attributes>'
    assert measured("r:4", "C3:2 C5:2").left.ledger_lines == 4
    assert measured("r:4", f"C3:2 {treble} C5:2").left.ledger_lines == 0, "the clef holds for what follows"
    assert measured("r:4", f"C5:2 {treble} C5:2").left.ledger_lines == 4, "and for nothing before it"
    up = '<direction><direction-type><octave-shift type="down" size="8"/></direction-type><staff>1</staff></direction>'
    assert measured("C7:4").right.ledger_lines == 5
    assert measured(f"{up} C7:4").right.ledger_lines == 2, "8va: written as C6"


def test_what_is_left_out(tmp_path):
    assert measure(choir().encode()) == NO_KEYBOARD
    assert measure(score("r:4").encode()) == NOTHING_TO_PLAY
    source = tmp_path / "a.musicxml"
    source.write_text(score("C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:1/4 A4:1/4 B4:1/4 C5:1/4 r:2"), encoding="utf-8")
    plan_marks(source, Options()).write()
    assert measure((tmp_path / "a-marked.musicxml").read_bytes()) == OUR_COPY
    with pytest.raises(ScoreError):
        measure(b"<score-partwise>")


def test_the_short_way_out_agrees_with_the_long_one():
    paths = [*sorted(CORPUS.glob("*/*.mxl"))[::25], CORPUS / "schubert/Lindenbaum.xml"]
    ways = set()
    for path in paths:
        document = load(path)
        short = surely_not_for_keyboard(document.tree.getroot())
        ways.add(short)
        if short:
            assert not parts_looked_at(read(path), Options()), path
    assert ways == {True, False}


def test_another_format():
    found = measure(b"X:1\nT:A Tune\nM:4/4\nL:1/8\nK:C\nCDEF GABc|cBAG FEDC|\n")
    assert isinstance(found, Measures) and (found.title, found.notes, found.drills) == ("A Tune", 16, ("scale-run",))


def test_a_record_comes_back_as_it_was():
    data = (EXAMPLES / "letter-by-the-window.musicxml").read_bytes()
    back = read_record("a.xml", "d", measure_bytes(data))
    assert back.measures == measure(data)  # type: ignore[union-attr]
    failed = read_record("a.xml", "d", measure_bytes(b"no score"))
    assert failed.exit_code == 65 and "well-formed" in failed.message and not failed.message.startswith("the score")  # type: ignore[union-attr]


def test_the_fingerprint_knows_every_module_that_measuring_loads():
    code = (
        "import sys; from annotator.products.survey import measuring as m; m.measure_bytes(b'<score-partwise/>');"
        "print(*[m for m in sys.modules if m.startswith('annotator.')])"
    )
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    rooms = {f"annotator.{room}" for room in ("words", "musicxml", "marks", "products", "products.handout", "products.survey", "processes")}
    for module in loaded:
        name = module.removeprefix("annotator.").replace(".", "/")
        known = {name, f"{name}.py", *(place.as_posix() for place in Path(name).parents)} & {*BEARING}
        assert known or module.startswith("annotator.words") or module in rooms, module
    assert [name for name in BEARING if not (Path(annotator.__file__).parent / name).exists()] == []
    assert len(program()) == 16
