"""The command as people and programs call it: what it prints, where, and with which exit code."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest
from benchmarks.varied_score import varied_score
from scores_at_hand import EXAMPLES
from survey.small_scores import choir, score
from the_program import inside
from unmeasured import unmeasured

from annotator.products.survey.choosing import log_path

RUN = "C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:1/4 A4:1/4 B4:1/4 C5:1/4 B4:1/4 A4:1/4 G4:1/4 F4:1/4 E4:1/4 D4:1/4 C4:1/2"


def survey(*words: object) -> tuple[int, str, str]:
    done = inside("survey", *words)
    return done.code, done.out, done.err


@pytest.fixture
def music(tmp_path) -> Path:
    """Give a folder with five good scores, a bad one and a choir's."""
    folder = tmp_path / "music"
    (folder / "deep" / "er").mkdir(parents=True)
    for number, path in enumerate(sorted(EXAMPLES.glob("*.musicxml"))):
        (folder / ("deep", "deep/er")[number % 2] / path.name).write_bytes(path.read_bytes())
    (folder / "run.xml").write_text(score(RUN, title="Run <&> up"), encoding="utf-8")
    (folder / "bad.xml").write_text("<score-partwise><part>", encoding="utf-8")
    (folder / "choir.xml").write_text(choir(), encoding="utf-8")
    return folder


def titles(out: str) -> list[str]:
    return [one["title"] for one in json.loads(out)["scores"]]


def test_a_folder_with_a_bad_file_in_it(music):
    code, out, err = survey(music, "--json")
    told = json.loads(out)
    assert code == 65
    assert len(told["scores"]) == 5 and titles(out)[0] == "Lamps on the Water"
    assert [Path(one["path"]).name for one in told["failed"]] == ["bad.xml"]
    assert [(Path(one["path"]).name, one["reason"]) for one in told["left_out"]] == [("choir.xml", "no part for keyboard")]
    assert err.count("\n") == 1 and "bad.xml: not well-formed" in err
    report = inside("figures", music / "run.xml", "--json").out
    ours = next(one for one in told["scores"] if one["title"] == "Run <&> up")
    assert ours["to_read"] == json.loads(report)["score"]["to_read"]
    assert list(ours["kinds"].items()) == [("scale-run", 1)]


def test_the_same_bytes_every_way(music):
    first = survey(music, "--json")
    for words in (["--jobs", 1], ["--jobs", 3, "--no-cache"], ["--no-cache"], ["-v"]):
        assert survey(music, "--json", *words)[:2] == first[:2]
    assert survey(music, "-q")[2].count("\n") == 1, "an error is said, however quiet"
    assert "8 files" not in survey(music)[2] and "7 files, 0 of them read" in survey(music, "-v")[2]


def test_table_and_csv(music):
    table = survey(music)[1]
    assert table.splitlines()[0].split()[:2] == ["title", "composer"] and "\x1b" not in table
    assert "Lamps on the Water" in table and "run" in table
    assert "zu lesen" in survey(music, "--language", "de")[1]
    rows = list(csv.DictReader(io.StringIO(survey(music, "--csv")[1])))
    assert len(rows) == 5 and rows[0]["title"] == "Lamps on the Water"


def test_choosing(music):
    assert titles(survey(music, "--json", "--kind", "alberti-bass")[1]) == ["A Letter by the Window", "Sonatina at the Open Gate"]
    assert all(one["share"] >= 0.6 for one in json.loads(survey(music, "--json", "--share", 60)[1])["scores"])
    efforts = [one["effort"] for one in json.loads(survey(music, "--json", "--easiest")[1])["scores"]]
    assert efforts == sorted(efforts)
    assert titles(survey(music, "--json", "--sort", "bars", "--limit", 1)[1]) == ["Run <&> up"]
    assert titles(survey(music, "--json", "--sort", "title", "--reverse")[1])[0] == "Sonatina at the Open Gate"
    like = survey(music, "--json", "--like", EXAMPLES / "revolving-doors.musicxml")[1]
    assert titles(like)[0] == "Sonatina at the Open Gate", "the bare run has more of its figures, but is far easier"
    assert "Revolving Doors" not in titles(like)


def test_pieces_for_today(music):
    (music / "bad.xml").unlink()
    first = titles(survey(music, "--json", "--pick", 2, "--seed", "2026-11-25")[1])
    assert titles(survey(music, "--json", "--pick", 2, "--seed", "2026-11-25")[1]) == first
    second = titles(survey(music, "--json", "--pick", 2, "--seed", "2026-11-26")[1])
    assert len(first) == len(second) == 2 and not set(first) & set(second)
    assert [line[:10] for line in log_path().read_text(encoding="utf-8").splitlines()[1:]] == ["2026-11-25"] * 2 + ["2026-11-26"] * 2
    assert survey(music, "--pick", 2)[0] == 0, "today, without a seed"


def test_the_page(music, tmp_path):
    (music / "bad.xml").unlink()
    code, page, err = survey(music, "--html")
    assert code == 0 and page.startswith("<!DOCTYPE html>") and "Run &lt;&amp;&gt; up" in page and not err
    target = tmp_path / "page.html"
    assert survey(music, "--html", target)[:2] == (0, "")
    assert target.read_text(encoding="utf-8") == page
    assert survey("--html", target, music, "--language", "de")[0] == 0, "a page of ours may be written over"
    assert target.read_text(encoding="utf-8") != page
    assert survey(music, "--html", "--out", tmp_path)[0] == 0 and (tmp_path / "survey.html").read_text(encoding="utf-8") == page
    target.write_text("<p>mine</p>")
    assert survey(music, "--html", target)[0] == 73
    assert survey(music, "--html", target, "--force")[0] == 0


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["--kind", "alberti"], 2, "did you mean"),
        (["--kind", "block-chord"], 2, "a survey does not count it"),
        (["--sort", "colour"], 2, "the columns are"),
        (["--json", "--csv"], 2, "one of them"),
        (["--seed", "2026-11-25"], 2, "give both"),
        (["--pick", "2", "--seed", "soon"], 2, "a seed is a day"),
        (["--share", "0.5"], 2, "a number from 1 to 100"),
        (["--effort", "35-20"], 2, "write them as 20-35"),
        (["--effort", "30"], 2, "write them as 20-35"),
        (["--rising"], 2, "give both"),
        (["--levels", "none.csv"], 66, "none.csv"),
        (["--like", "nothing.xml"], 66, "nothing.xml"),
        (["--like", "music/choir.xml"], 2, "no part for keyboard"),
        (["--like", "music/bad.xml"], 65, "bad.xml"),
        (["--like", "music"], 2, "not a folder"),
        (["--language", "xx"], 2, "language"),
        (["nowhere"], 66, "no such folder"),
    ],
)
def test_what_is_wrong_is_said(music, monkeypatch, words, code, said):
    monkeypatch.chdir(music.parent)
    (music / "good.xml").write_text((music / "run.xml").read_text(encoding="utf-8"), encoding="utf-8")
    if words != ["--like", "music/bad.xml"]:
        (music / "bad.xml").unlink()
    found, _, err = survey("music", *words)
    assert found == code and said in err and "Traceback" not in err
    assert survey("music", "--html", "a.html", "b.html")[0] == 2


def test_an_empty_folder(tmp_path):
    assert survey(tmp_path)[:2] == (0, "No score was found.\n")
    assert json.loads(survey(tmp_path, "--json")[1])["scores"] == []
    assert survey(tmp_path, "--pick", 3)[0] == 0


def kept() -> int:
    """Return how many records the cache holds."""
    for path in Path(os.environ["ANNOTATOR_CACHE"]).glob("*.sqlite"):
        with contextlib.closing(sqlite3.connect(path, timeout=10)) as connection, contextlib.suppress(sqlite3.Error):
            return int(connection.execute("SELECT count(*) FROM records").fetchone()[0])
    return 0


@pytest.mark.parametrize("jobs", [1, 2])
def test_ctrl_c_keeps_what_is_done(tmp_path, jobs):
    for number in range(150):
        (tmp_path / f"{number:03}.xml").write_text(varied_score(600, seed=number), encoding="utf-8")
    command = [sys.executable, "-m", "annotator", "survey", str(tmp_path), "--json", "--jobs", str(jobs)]
    talk = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    process = subprocess.Popen(command, **talk, start_new_session=True, env=unmeasured())
    while not kept() and process.poll() is None:
        time.sleep(0.05)
    before = kept()
    os.killpg(process.pid, signal.SIGINT)
    out, err = process.communicate(timeout=30)
    assert process.returncode == 130, "or it was done before it could be interrupted: then give it more to do"
    assert out == "" and err.count("\n") == 1 and "kept" in err
    assert 0 < before <= kept() < 150


def test_an_interrupt_while_a_library_is_at_work_ends_the_run(music):
    code = (
        "import os, signal, sys\n"
        "from annotator.products.survey import measuring\n"
        "measure = measuring.measure\n"
        "def swallowing(*given):\n"
        "    try: os.kill(os.getppid(), signal.SIGINT); [None for _ in range(1000)]\n"
        "    except KeyboardInterrupt: pass\n"
        "    return measure(*given)\n"
        "measuring.measure = swallowing\n"
        "from annotator.shell.cli import app\n"
        f"app(['survey', {str(music)!r}, '--json', '--jobs', '1', '--no-cache'])"
    )
    command = [sys.executable, "-c", code]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False, env=unmeasured())
    assert (done.returncode, done.stdout) == (130, "")


def test_nothing_heavy_is_loaded_when_all_is_known(music):
    survey(music, "--json")
    code = (
        "import sys; from annotator.shell.cli import app\n"
        f"try: app(['survey', {str(music)!r}, '--json', '-q'])\nexcept SystemExit: pass\n"
        "heavy = {'lxml', 'music21', 'distributed', 'dask', 'annotator.marks.finding', 'annotator.figures.registry', 'rich.progress'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)"
    )
    for path in music.rglob("*.*"):
        os.utime(path, (time.time() - 60,) * 2)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.splitlines()[-1] == "[]"
