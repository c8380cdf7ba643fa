"""What is written, and where: the formats asked for and no others, folders mirrored, one clash among many, standard input into a folder."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from scores_at_hand import EXAMPLES
from the_program import inside
from unmeasured import unmeasured

import annotator

NAME = "lamps-on-the-water"
STUDY = EXAMPLES / f"{NAME}.musicxml"


def files(folder: Path) -> list[str]:
    """Return the files below a folder."""
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def test_musicxml_alone_starts_no_engraver(tmp_path: Path) -> None:
    code = (
        "import json, sys, annotator\nfrom annotator.pages import engraver\n"
        "def refuse(*_given, **_more): raise AssertionError('an engraver is started')\n"
        "engraver.start_ahead = refuse\n"
        f"from annotator.shell.cli import app\ntry: app(['mark', {str(STUDY)!r}, '--formats', 'musicxml', '--out', {str(tmp_path)!r}])\n"
        "except SystemExit as end: print(json.dumps([end.code, sorted({'verovio', 'cairocffi'} & set(sys.modules))]))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=unmeasured())
    assert json.loads(done.stdout) == [0, []]
    assert files(tmp_path) == [f"{NAME}-marked.musicxml"]


@pytest.mark.parametrize(("formats", "names"), [("pdf", ["-marked.pdf"]), ("svg,musicxml", ["-marked-001.svg", "-marked.musicxml"])])
def test_what_is_asked_for_and_nothing_else(tmp_path: Path, formats: str, names: list[str]) -> None:
    annotator.mark(STUDY, tmp_path, formats=formats)
    assert [name for name in files(tmp_path) if "-002" not in name] == [NAME + name for name in names]


def test_the_folders_of_a_folder_are_mirrored_and_a_clash_stops_nothing_else(tmp_path: Path) -> None:
    for place in ("a.musicxml", "sub/a.musicxml", "sub/deep/b.musicxml", "sub/a.xml"):
        (tmp_path / "in" / place).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(STUDY, tmp_path / "in" / place)
    code, _, said = inside("mark", "in", "--out", "out", "--formats", "musicxml", folder=tmp_path)
    assert files(tmp_path / "out") == ["a-marked.musicxml", "sub/deep/b-marked.musicxml"]
    lines = said.splitlines()
    assert code == 2 and len(lines) == 3
    assert "in/sub/a.musicxml and in/sub/a.xml would be written under one name" in lines[0]
    assert any(line.endswith("wrote out/sub/deep/b-marked.musicxml") for line in lines), "and the folder is told"
    assert inside("plain", "out", "--out", "again", folder=tmp_path)[0] == 0
    assert files(tmp_path / "again") == ["a-plain.musicxml", "sub/deep/b-plain.musicxml"]


def test_standard_input_goes_into_a_folder_where_one_is_named(tmp_path: Path) -> None:
    code, out, said = inside("mark", "-", "--out", "o", folder=tmp_path, stdin=STUDY.read_bytes())
    assert (code, out) == (0, b"") and files(tmp_path) == ["o/score-marked.musicxml", "o/score-marked.pdf"], said
    code, out, _ = inside("plain", "-", "--out", "o", folder=tmp_path, stdin=(tmp_path / "o/score-marked.musicxml").read_bytes())
    assert (code, out) == (0, b"") and (tmp_path / "o/score-plain.musicxml").read_bytes() == STUDY.read_bytes()
    code, _, said = inside("mark", "-", "--formats", "pdf", folder=tmp_path, stdin=STUDY.read_bytes())
    assert code == 2 and "--out" in said


def test_bars_are_stretches(tmp_path: Path) -> None:
    score = annotator.read(STUDY)
    last = len(score.parts[0].bars)

    def bars_of(text: str) -> set[int]:
        """Return the indices of the bars that are looked at."""
        report = annotator.find_figures(score, annotator.Options(bars=text))
        return {note.bar for part in score.parts for note in part.notes if note.number in report.counted}

    every = bars_of("1-")
    assert every == {note.bar for part in score.parts for note in part.notes if note.counted} and last - 1 in every
    assert bars_of("5-") == {bar for bar in every if bar >= 4} and bars_of("-4") == {bar for bar in every if bar < 4}
    assert bars_of("1-4,9-12") == {bar for bar in every if bar < 4 or 8 <= bar < 12} == bars_of("9-12,1-2,2-4")
    assert annotator.find_figures(score, annotator.Options(bars="1-4,5-8")) == annotator.find_figures(score, annotator.Options(bars="1-8"))
    figures = annotator.find_figures(score, annotator.Options(bars="1-2,4-8")).figures
    assert not [figure for _, figure in figures if {2} & set(range(figure.notes[0].bar, figure.notes[-1].bar + 1))], "none over the gap"
