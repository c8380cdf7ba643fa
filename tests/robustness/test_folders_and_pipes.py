"""Folders among the scores, files that are none, what is told where the pages fail, and what killed runs leave behind."""

from __future__ import annotations

import gzip
import os
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from robustness.damage import canonical
from robustness.jobs import job, run_jobs
from robustness.pieces import PLAIN

from annotator.errors import EngraverError
from annotator.musicxml.files import write_file
from annotator.reading import load, read


def files(folder: Path) -> set[str]:
    """Return the paths of all files below a folder."""
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


def test_a_folder_is_all_scores_in_it_and_never_our_own_copies(tmp_path: Path) -> None:
    (tmp_path / "b" / ".hidden").mkdir(parents=True)
    (tmp_path / "none").mkdir()
    (tmp_path / "circle").symlink_to(".")
    for name in ("a.musicxml", "b/c.XML", "b/.hidden/d.musicxml", "b/e.musicxml.gz"):
        (tmp_path / name).write_bytes(gzip.compress(PLAIN, mtime=0) if name.endswith("gz") else PLAIN)
    (tmp_path / "project.xml").write_bytes(b"<project/>")
    (tmp_path / "letter.txt").write_bytes(b"Dear pianist")
    os.mkfifo(tmp_path / "pipe.musicxml")
    (mark, plain, again, alone, nothing) = run_jobs([
        job(tmp_path, "mark", ".", "none", drawn=False), job(tmp_path, "plain", "."), job(tmp_path, "mark", ".", drawn=False),
        job(tmp_path, "mark", "b", "a.musicxml", "a-marked.musicxml", drawn=False), job(tmp_path, "plain", "none"),
    ])  # fmt: skip
    assert mark["code"] == 66 and mark["stderr"].count(": wrote ") == 3 and "none: no score in this folder" in mark["stderr"], mark
    assert plain["code"] == 0 and plain["stderr"].count(": wrote ") == 3, plain
    marked = {"a-marked.musicxml", "b/c-marked.musicxml", "b/e-marked.musicxml"}
    assert marked | {name.replace("marked", "plain") for name in marked} <= files(tmp_path)
    assert again["code"] == 0 and again["stderr"].count(": wrote ") == 3 and not [name for name in files(tmp_path) if "-marked-" in name]
    assert alone["code"] == 2 or alone["stderr"].count(": wrote ") == 4, alone
    assert nothing["code"] == 66 and "no marked copy" in nothing["stderr"]
    plain_copies = [(tmp_path / name.replace("marked", "plain")).read_bytes() for name in sorted(marked)]
    assert len({canonical(load(data)) for data in (*plain_copies, PLAIN)}) == 1


def test_what_is_no_file_is_told_and_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.musicxml")
    (tmp_path / "folder.musicxml").mkdir()
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(str(tmp_path / "s.musicxml"))
        names = ("pipe.musicxml", "folder.musicxml", "s.musicxml", "/dev/zero", "/dev/null")
        for name, result in zip(names, run_jobs([job(tmp_path, "figures", name) for name in names]), strict=True):
            assert result["code"] == 66 and result["seconds"] < 5 and len(result["stderr"].splitlines()) == 1, (name, result)


def test_a_pipe_that_is_written_to_is_read_to_its_end(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)

    def write() -> None:
        with pipe.open("wb") as stream:
            for start in range(0, len(PLAIN), 1_000):
                stream.write(PLAIN[start : start + 1_000])
                stream.flush()
                time.sleep(0.001)

    writer = threading.Thread(target=write)
    writer.start()
    assert read(pipe).parts == read(PLAIN).parts
    writer.join()
    command = f"{sys.executable} -m annotator figures <(cat x.musicxml) && cat x.musicxml | {sys.executable} -m annotator plain /dev/stdin"
    (tmp_path / "x.musicxml").write_bytes(PLAIN)
    done = subprocess.run(["bash", "-c", f"{command} --out ."], cwd=tmp_path, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0 and (tmp_path / "stdin-plain.musicxml").read_bytes() == PLAIN, done


def test_repairs_are_told_where_the_pages_fail(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    from annotator.shell.copies import mark_one
    from annotator.shell.running import each_score

    def fail(*_words: object, **_more: object) -> None:
        raise EngraverError("the engraver is away")

    monkeypatch.setattr("annotator.pages.engraving.engrave", fail)
    monkeypatch.chdir(tmp_path)
    Path("x.musicxml").write_bytes(PLAIN.replace(b"<divisions>", b"<divisions>x"))
    for quiet in (False, True):
        with pytest.raises(SystemExit) as end:
            each_score(["x.musicxml"], mark_one, {"quiet": quiet})
        lines = capsys.readouterr().err.splitlines()
        assert end.value.code == 69 and lines[-1] == "annotator: x.musicxml: the engraver is away"
        assert ("divisions" in lines[0]) is not quiet and len(lines) == (1 if quiet else 3), lines


def test_what_killed_runs_left_is_taken_away_when_it_is_old(tmp_path: Path) -> None:
    old, new, foreign = (tmp_path / f".annotator-{name}.part" for name in ("0" * 16, "1" * 16, "mine"))
    for path in (old, new, foreign):
        path.write_bytes(b"half")
    for path in (old, foreign):
        os.utime(path, (time.time() - 7_200,) * 2)
    write_file(tmp_path / "x.musicxml", PLAIN)
    assert files(tmp_path) == {"x.musicxml", new.name, foreign.name}
