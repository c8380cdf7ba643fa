"""The command line as a user meets it: files, messages, exit codes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from scores_at_hand import EXAMPLES

from annotator.reading import load

STUDY = sorted(EXAMPLES.glob("*.musicxml"))[0]


def annotator(*words: object, stdin: bytes | None = None, folder: Path | None = None) -> subprocess.CompletedProcess[bytes]:
    """Run the program as a user does."""
    command = [sys.executable, "-m", "annotator", *(str(word) for word in words)]
    return subprocess.run(command, input=stdin, capture_output=True, timeout=120, cwd=folder, env={**os.environ, "NO_COLOR": "1"})


def lines(result: subprocess.CompletedProcess[bytes]) -> list[str]:
    """Return what was said on standard error, and fail on a traceback."""
    text = result.stderr.decode()
    assert "Traceback" not in text, text
    return text.splitlines()


@pytest.fixture(scope="module")
def marked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder in which a shipped study has been marked."""
    folder = tmp_path_factory.mktemp("marked")
    (folder / STUDY.name).write_bytes(STUDY.read_bytes())
    result = annotator("mark", STUDY.name, "--formats", "musicxml,pdf,svg,png", folder=folder)
    assert result.returncode == 0, result.stderr
    return folder


def test_mark_writes_musicxml_pdf_and_pictures_beside_the_source(marked: Path) -> None:
    names = {path.name for path in marked.iterdir()}
    stem = STUDY.stem
    assert {f"{stem}-marked.musicxml", f"{stem}-marked.pdf", f"{stem}-marked-001.svg", f"{stem}-marked-001.png"} <= names
    assert (marked / f"{stem}-marked.pdf").read_bytes().startswith(b"%PDF-")
    assert (marked / f"{stem}-marked-001.png").read_bytes().startswith(b"\x89PNG")
    assert (marked / STUDY.name).read_bytes() == STUDY.read_bytes(), "the source is never written to"


def test_plain_gives_the_source_back(marked: Path) -> None:
    result = annotator("plain", f"{STUDY.stem}-marked.musicxml", folder=marked)
    assert result.returncode == 0
    assert (marked / f"{STUDY.stem}-plain.musicxml").read_bytes() == STUDY.read_bytes()


def test_marking_the_marked_copy_changes_no_byte_and_no_name(marked: Path) -> None:
    copy, page = marked / f"{STUDY.stem}-marked.musicxml", marked / f"{STUDY.stem}-marked.pdf"
    before = copy.read_bytes(), page.read_bytes()
    files = sorted(path.name for path in marked.iterdir())
    assert annotator("mark", copy.name, folder=marked).returncode == 0
    assert (copy.read_bytes(), page.read_bytes()) == before
    assert sorted(path.name for path in marked.iterdir()) == files


def test_figures_prints_a_table_json_and_csv() -> None:
    table = annotator("figures", STUDY)
    assert table.returncode == 0
    report = json.loads(annotator("figures", STUDY, "--json").stdout)
    counts = report["score"]
    assert report["format"] == 1
    assert counts["to_read"] + counts["grey"] == counts["notes"]
    assert f"{counts['notes']} notes, {counts['to_read']} to read" in table.stdout.decode()
    rows = annotator("figures", STUDY, "--csv").stdout.decode().splitlines()
    assert len(rows) == len(report["figures"]) + 1


def test_the_ids_of_the_report_are_those_of_the_notes() -> None:
    report = json.loads(annotator("figures", STUDY, "--json").stdout)
    notes = list(load(STUDY).tree.iter("note"))
    for figure in report["figures"]:
        assert set(figure["anchors"]) <= set(figure["notes"])
        assert set(figure["odd"]) <= set(figure["anchors"])
        for name in figure["notes"]:
            assert notes[int(name.removeprefix("n")) - 1].find("pitch") is not None


def test_a_dash_reads_standard_input_and_writes_standard_output() -> None:
    marked = annotator("mark", "-", stdin=STUDY.read_bytes())
    assert marked.returncode == 0
    assert marked.stdout != STUDY.read_bytes()
    plain = annotator("plain", "-", stdin=marked.stdout)
    assert plain.stdout == STUDY.read_bytes()


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
    result = annotator("mark", path)
    assert result.returncode == code
    assert len(lines(result)) == 1
    assert "piece.musicxml" in lines(result)[0]
    assert {p.name for p in tmp_path.iterdir()} <= {"piece.musicxml"}


def test_a_bad_score_does_not_stop_the_rest(tmp_path: Path) -> None:
    (tmp_path / "bad.musicxml").write_bytes(b"<x/>")
    (tmp_path / "good.musicxml").write_bytes(STUDY.read_bytes())
    result = annotator("mark", "bad.musicxml", "good.musicxml", "gone.musicxml", folder=tmp_path)
    assert result.returncode == 66
    assert (tmp_path / "good-marked.pdf").exists()


def test_two_scores_whose_copies_would_have_one_name_are_refused(tmp_path: Path) -> None:
    for name in ("a.xml", "a.musicxml"):
        (tmp_path / name).write_bytes(STUDY.read_bytes())
    result = annotator("mark", "a.xml", "a.musicxml", folder=tmp_path)
    assert result.returncode == 2
    assert {path.name for path in tmp_path.iterdir()} == {"a.xml", "a.musicxml"}


def test_a_file_of_somebody_else_is_not_written_over(tmp_path: Path) -> None:
    (tmp_path / "a.musicxml").write_bytes(STUDY.read_bytes())
    (tmp_path / "a-marked.pdf").write_bytes(b"%PDF-1.4 a stranger's")
    assert annotator("mark", "a.musicxml", folder=tmp_path).returncode == 73
    assert (tmp_path / "a-marked.pdf").read_bytes() == b"%PDF-1.4 a stranger's"
    assert annotator("mark", "a.musicxml", "--force", folder=tmp_path).returncode == 0


@pytest.mark.parametrize(
    ("words", "code", "hint"),
    [
        (["--kinds", "scale-runs"], 2, "scale-run"),
        (["--hand", "middle"], 2, "right"),
        (["--language", "xx"], 2, "en"),
        (["--bars", "900-901"], 2, "900"),
        (["--paper", "a5"], 2, "letter"),
        (["--breaks", "odd"], 2, "source"),
        (["--style", "no-such-style"], 78, "default"),
    ],
)
def test_a_wrong_option_says_what_it_takes(tmp_path: Path, words: list[str], code: int, hint: str) -> None:
    result = annotator("mark", STUDY, "--out", tmp_path, *words)
    assert result.returncode == code, result.stderr
    assert hint in result.stderr.decode()
    lines(result)
    assert not list(tmp_path.iterdir())


def test_the_project_file_is_obeyed_and_flags_win(tmp_path: Path) -> None:
    (tmp_path / "a.musicxml").write_bytes(STUDY.read_bytes())
    (tmp_path / "annotator.toml").write_text('kinds = ["trill"]\n')
    none = json.loads(annotator("figures", "a.musicxml", "--json", folder=tmp_path).stdout)
    assert {figure["kind"] for figure in none["figures"]} <= {"trill"}
    some = json.loads(annotator("figures", "a.musicxml", "--json", "--kinds", "scale-run,arpeggio", folder=tmp_path).stdout)
    assert some["figures"]
    (tmp_path / "annotator.toml").write_text('kind = ["trill"]\n')
    wrong = annotator("figures", "a.musicxml", folder=tmp_path)
    assert wrong.returncode == 78
    assert "did you mean 'kinds'" in wrong.stderr.decode()


def test_a_hand_and_a_range_of_bars_are_all_that_is_looked_at() -> None:
    whole = json.loads(annotator("figures", STUDY, "--json").stdout)["score"]["notes"]
    right = json.loads(annotator("figures", STUDY, "--json", "--hand", "right").stdout)
    left = json.loads(annotator("figures", STUDY, "--json", "--hand", "left").stdout)
    assert right["score"]["notes"] + left["score"]["notes"] == whole
    few = json.loads(annotator("figures", STUDY, "--json", "--bars", "3-6").stdout)
    assert 0 < few["score"]["notes"] < whole
    for figure in few["figures"]:
        assert 3 <= int(figure["from"]["bar"]) <= int(figure["to"]["bar"]) <= 6


def test_same_bytes_whatever_the_hash_seed(tmp_path: Path) -> None:
    outputs = set()
    for seed in ("0", "7"):
        folder = tmp_path / seed
        command = [sys.executable, "-m", "annotator", "mark", str(STUDY), "--out", str(folder)]
        folder.mkdir()
        subprocess.run(command, check=True, capture_output=True, env={**os.environ, "PYTHONHASHSEED": seed}, timeout=120)
        outputs.add(tuple((path.name, path.read_bytes()) for path in sorted(folder.iterdir())))
    assert len(outputs) == 1


def test_styles_are_listed_and_shown() -> None:
    listed = annotator("styles").stdout.decode().splitlines()
    assert any(line.startswith("large-print") for line in listed)
    assert "grey" in annotator("styles", "show", "default").stdout.decode()
    assert annotator("styles", "show", "nonesuch").returncode == 78


def test_the_version_answers_without_heavy_imports() -> None:
    code = "import sys, annotator.shell.cli; print([m for m in ('music21', 'verovio', 'lxml', 'cairocffi') if m in sys.modules])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, timeout=60).stdout.strip() == b"[]"
    assert annotator("--version").stdout.decode().startswith("annotator ")


def test_a_report_needs_neither_music21_nor_the_engraver() -> None:
    code = (
        "import sys, annotator; annotator.find_figures(annotator.read(sys.argv[1]));"
        "print([m for m in ('music21', 'verovio', 'cairocffi', 'typer') if m in sys.modules])"
    )
    command = [sys.executable, "-c", code, str(STUDY)]
    assert subprocess.run(command, capture_output=True, check=True, timeout=60).stdout.strip() == b"[]"
