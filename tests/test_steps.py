"""The practice series: less help from step to step, nothing grey without its words, and back again to the plain score."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from lxml import etree
from scores_at_hand import EXAMPLES
from the_program import inside

import annotator
from annotator.errors import UsageError
from annotator.marks.finding import find_figures
from annotator.marks.style import load_style
from annotator.options.settings import LANGUAGES, Options
from annotator.products.marked_copies import plan_marks, plan_plain, series
from annotator.reading import load, read

SOURCE = EXAMPLES / "sonatina-at-the-open-gate.musicxml"
STEM = "bars"
STEPS = (1, 2, 3, 4)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of a series of some bars; they are in a folder beside it."""
    folder = tmp_path_factory.mktemp("series")
    out = folder / "out"
    document = load(SOURCE)
    root = document.tree.getroot()
    for measure in root.findall("part/measure")[14:]:
        measure.getparent().remove(measure)
    source_of(out).write_bytes(etree.tostring(root))
    plan_marks(source_of(out), Options(out=out, steps=4)).write()
    return out


def source_of(made: Path) -> Path:
    return made.parent / f"{STEM}.musicxml"


def xml(folder: Path, step: int) -> str:
    return (folder / f"{STEM}-marked-step-{step}.musicxml").read_text(encoding="utf-8")


def test_four_steps_are_eight_files(made: Path) -> None:
    wanted = {f"{STEM}-marked-step-{step}.{kind}" for step in (1, 2, 3, 4) for kind in ("musicxml", "pdf")}
    assert {path.name for path in made.iterdir()} == wanted


def test_python_writes_them_too(made: Path, tmp_path: Path) -> None:
    report = annotator.mark(source_of(made), tmp_path, steps=1)
    assert {path.name for path in tmp_path.iterdir()} == {f"{STEM}-marked-step-1.musicxml", f"{STEM}-marked-step-1.pdf"}
    assert xml(tmp_path, 1) == xml(made, 1) and len(report.figures) == xml(made, 1).count('<bracket type="start"')


def test_the_first_step_is_the_marked_copy(made: Path, tmp_path: Path) -> None:
    plan_marks(source_of(made), Options(out=tmp_path)).write()
    assert xml(made, 1) == (tmp_path / f"{STEM}-marked.musicxml").read_text(encoding="utf-8")


def test_each_step_helps_less(made: Path) -> None:
    report = find_figures(read(source_of(made)))
    brackets = [len(re.findall(r'<bracket [^>]*type="start"', xml(made, step))) for step in STEPS]
    greys = [xml(made, step).count("<?annotator grey") for step in STEPS]
    plain = source_of(made).read_text(encoding="utf-8")
    words = [xml(made, step).count("<words") - plain.count("<words") for step in STEPS]
    assert brackets == [len(report.figures)] * 3 + [0]
    assert greys[0] > 0 and greys[1:] == [0, 0, 0]
    assert words[0] == words[1] > 0 and words[2:] == [0, 0]


@pytest.mark.parametrize("step", STEPS)
def test_plain_takes_any_step_back_under_the_source_s_name(made: Path, tmp_path: Path, step: int) -> None:
    plan_plain(made / f"{STEM}-marked-step-{step}.musicxml", tmp_path, False).write()
    (target,) = tmp_path.iterdir()
    assert target.name == f"{STEM}-plain.musicxml" and target.read_bytes() == source_of(made).read_bytes()


def test_a_step_marked_again_gives_the_marked_copy_and_the_same_series(made: Path, tmp_path: Path) -> None:
    again = plan_marks(made / f"{STEM}-marked-step-2.musicxml", Options(out=tmp_path)).write()
    assert again.files[0].name == f"{STEM}-marked.musicxml" and again.files[0].read_text(encoding="utf-8") == xml(made, 1)
    plan_marks(made / f"{STEM}-marked-step-3.musicxml", Options(out=tmp_path, steps=2)).write()
    assert [xml(tmp_path, step) for step in (1, 2)] == [xml(made, step) for step in (1, 2)]
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    plan_marks(tmp_path / f"{STEM}-marked-step-2.musicxml", Options(steps=2)).write()  # over our own files, the source too
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_pdf_says_which_step_it_is(made: Path) -> None:
    pdftotext = shutil.which("pdftotext")
    if pdftotext is None:
        pytest.skip("pdftotext is not installed")
    legends = ("Black notes are to be read", "Each bracket says", "Write on each bracket", "No marks are left")
    for step, words in enumerate(legends, 1):
        command = [pdftotext, str(made / f"{STEM}-marked-step-{step}.pdf"), "-"]
        text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
        assert f"Step {step} of 4" in text and words in text


@pytest.mark.parametrize("language", LANGUAGES)
def test_steps_speak_every_language(language: str) -> None:
    steps = series(find_figures(read(SOURCE), Options(language=language)), load_style("beginner"), 4)
    assert len({step.head for step in steps}) == 4 and [bool(step.legend) for step in steps] == [False, False, False, True]
    assert not any(step.style.greying or step.style.note_names_on_anchors for step in steps[1:])
    assert [step.style.labels for step in steps[1:3]] == [steps[0].style.labels, "blank"] and not steps[3].report.figures
    assert series(steps[0].report, steps[0].style, 1)[0].head == ""


def test_a_series_of_five_or_from_standard_input_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="1 to 4"):
        plan_marks(SOURCE, Options(out=tmp_path, steps=5))
    code, out, said = inside("mark", "-", "--steps", "2", stdin=SOURCE.read_bytes())
    assert code == 2 and "--steps" in said and not out
