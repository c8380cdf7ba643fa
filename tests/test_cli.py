"""The command line as a user meets it: files, messages, exit codes."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from scores_at_hand import EXAMPLES
from the_program import inside, own_process

from annotator.reading import load

STUDY = sorted(EXAMPLES.glob("*.musicxml"))[0]


@pytest.fixture(scope="module")
def marked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder in which a shipped study has been marked."""
    folder = tmp_path_factory.mktemp("marked")
    (folder / STUDY.name).write_bytes(STUDY.read_bytes())
    result = inside("mark", STUDY.name, "--formats", "musicxml,pdf,svg,png", folder=folder)
    assert result.code == 0, result.err
    return folder


def test_mark_writes_musicxml_pdf_and_pictures_beside_the_source(marked: Path) -> None:
    names = {path.name for path in marked.iterdir()}
    stem = STUDY.stem
    assert {f"{stem}-marked.musicxml", f"{stem}-marked.pdf", f"{stem}-marked-001.svg", f"{stem}-marked-001.png"} <= names
    assert (marked / f"{stem}-marked.pdf").read_bytes().startswith(b"%PDF-")
    assert (marked / f"{stem}-marked-001.png").read_bytes().startswith(b"\x89PNG")
    assert (marked / STUDY.name).read_bytes() == STUDY.read_bytes(), "the source is never written to"


def test_plain_gives_the_source_back(marked: Path) -> None:
    result = inside("plain", f"{STUDY.stem}-marked.musicxml", folder=marked)
    assert result.code == 0
    assert (marked / f"{STUDY.stem}-plain.musicxml").read_bytes() == STUDY.read_bytes()


def test_marking_the_marked_copy_changes_no_byte_and_no_name(marked: Path) -> None:
    copy, page = marked / f"{STUDY.stem}-marked.musicxml", marked / f"{STUDY.stem}-marked.pdf"
    before = copy.read_bytes(), page.read_bytes()
    files = sorted(path.name for path in marked.iterdir())
    assert inside("mark", copy.name, folder=marked).code == 0
    assert (copy.read_bytes(), page.read_bytes()) == before
    assert sorted(path.name for path in marked.iterdir()) == files


def test_figures_prints_a_table_json_and_csv() -> None:
    table = inside("figures", STUDY)
    assert table.code == 0
    report = json.loads(inside("figures", STUDY, "--json").data)
    counts = report["score"]
    assert report["format"] == 1
    assert counts["to_read"] + counts["grey"] == counts["notes"]
    assert f"{counts['notes']} notes, {counts['to_read']} to read" in table.out
    rows = inside("figures", STUDY, "--csv").out.splitlines()
    assert len(rows) == len(report["figures"]) + 1


def test_the_ids_of_the_report_are_those_of_the_notes() -> None:
    report = json.loads(inside("figures", STUDY, "--json").data)
    notes = list(load(STUDY).tree.iter("note"))
    for figure in report["figures"]:
        assert set(figure["anchors"]) <= set(figure["notes"])
        assert set(figure["odd"]) <= set(figure["anchors"])
        for name in figure["notes"]:
            assert notes[int(name.removeprefix("n")) - 1].find("pitch") is not None


def test_a_dash_reads_standard_input_and_writes_standard_output() -> None:
    marked = inside("mark", "-", stdin=STUDY.read_bytes())
    assert marked.code == 0
    assert marked.data != STUDY.read_bytes()
    plain = inside("plain", "-", stdin=marked.data)
    assert plain.data == STUDY.read_bytes()


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", 65),
        (b"not music", 65),
        (b"<html/>", 65),
        (b"<score-partwise><part-list/>", 65),
        (b'<!DOCTYPE score-partwise [<!ENTITY e "x">]><score-partwise>&e;</score-partwise>', 65),
        (None, 66),
    ],
)
def test_bad_input_is_one_line_and_its_exit_code(tmp_path: Path, content: bytes | None, code: int) -> None:
    path = tmp_path / "piece.musicxml"
    if content is not None:
        path.write_bytes(content)
    result = inside("mark", path)
    assert result.code == code
    assert len(result.lines) == 1
    assert "piece.musicxml" in result.err
    assert {p.name for p in tmp_path.iterdir()} <= {"piece.musicxml"}


def test_a_bad_score_does_not_stop_the_rest(tmp_path: Path) -> None:
    (tmp_path / "bad.musicxml").write_bytes(b"<x/>")
    (tmp_path / "good.musicxml").write_bytes(STUDY.read_bytes())
    result = inside("mark", "bad.musicxml", "good.musicxml", "gone.musicxml", folder=tmp_path)
    assert result.code == 66
    assert (tmp_path / "good-marked.pdf").exists()


def test_two_scores_whose_copies_would_have_one_name_are_refused(tmp_path: Path) -> None:
    for name in ("a.xml", "a.musicxml"):
        (tmp_path / name).write_bytes(STUDY.read_bytes())
    result = inside("mark", "a.xml", "a.musicxml", folder=tmp_path)
    assert result.code == 2
    assert {path.name for path in tmp_path.iterdir()} == {"a.xml", "a.musicxml"}


def test_a_file_of_somebody_else_is_not_written_over(tmp_path: Path) -> None:
    (tmp_path / "a.musicxml").write_bytes(STUDY.read_bytes())
    (tmp_path / "a-marked.pdf").write_bytes(b"%PDF-1.4 a stranger's")
    assert inside("mark", "a.musicxml", folder=tmp_path).code == 73
    assert (tmp_path / "a-marked.pdf").read_bytes() == b"%PDF-1.4 a stranger's"
    assert inside("mark", "a.musicxml", "--force", folder=tmp_path).code == 0


def test_the_project_file_is_obeyed_and_flags_win(tmp_path: Path) -> None:
    (tmp_path / "a.musicxml").write_bytes(STUDY.read_bytes())
    (tmp_path / "annotator.toml").write_text('kinds = ["trill"]\n')
    none = json.loads(inside("figures", "a.musicxml", "--json", folder=tmp_path).data)
    assert {figure["kind"] for figure in none["figures"]} <= {"trill"}
    some = json.loads(inside("figures", "a.musicxml", "--json", "--kinds", "scale-run,arpeggio", folder=tmp_path).data)
    assert some["figures"]
    (tmp_path / "annotator.toml").write_text('kind = ["trill"]\n')
    wrong = inside("figures", "a.musicxml", folder=tmp_path)
    assert wrong.code == 78
    assert "did you mean 'kinds'" in wrong.err


def test_a_hand_and_a_range_of_bars_are_all_that_is_looked_at() -> None:
    whole = json.loads(inside("figures", STUDY, "--json").data)["score"]["notes"]
    right = json.loads(inside("figures", STUDY, "--json", "--hand", "right").data)
    left = json.loads(inside("figures", STUDY, "--json", "--hand", "left").data)
    assert right["score"]["notes"] + left["score"]["notes"] == whole
    few = json.loads(inside("figures", STUDY, "--json", "--bars", "3-6").data)
    assert 0 < few["score"]["notes"] < whole
    for figure in few["figures"]:
        assert 3 <= int(figure["from"]["bar"]) <= int(figure["to"]["bar"]) <= 6


def test_same_bytes_whatever_the_hash_seed(tmp_path: Path) -> None:
    outputs = set()
    for seed in ("0", "7"):
        folder = tmp_path / seed
        assert own_process("mark", STUDY, "--out", folder, PYTHONHASHSEED=seed).code == 0
        outputs.add(tuple((path.name, path.read_bytes()) for path in sorted(folder.iterdir())))
    assert len(outputs) == 1


def test_styles_are_listed_and_shown() -> None:
    listed = inside("styles").out.splitlines()
    assert any(line.startswith("large-print") for line in listed)
    assert "grey" in inside("styles", "show", "default").out
    assert inside("styles", "show", "nonesuch").code == 78


def test_the_version_answers_without_heavy_imports() -> None:
    code = "import sys, annotator.shell.cli; print([m for m in ('music21', 'verovio', 'lxml', 'cairocffi') if m in sys.modules])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, timeout=60).stdout.strip() == b"[]"
    assert own_process("--version").out.startswith("annotator ")


def test_a_report_needs_neither_music21_nor_the_engraver() -> None:
    code = (
        "import sys, annotator; annotator.find_figures(annotator.read(sys.argv[1]));"
        "print([m for m in ('music21', 'verovio', 'cairocffi', 'typer') if m in sys.modules])"
    )
    command = [sys.executable, "-c", code, str(STUDY)]
    assert subprocess.run(command, capture_output=True, check=True, timeout=60).stdout.strip() == b"[]"
