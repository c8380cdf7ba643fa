"""A folder that marks itself: what is there, what comes, what changes; what is broken, until it is mended; Ctrl-C ends it."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from scores_at_hand import EXAMPLES
from the_program import inside
from unmeasured import unmeasured

pytest.importorskip("watchfiles")
STUDY = EXAMPLES / "lamps-on-the-water.musicxml"
PATIENCE = 60.0  # seconds


def until(there: Callable[[], bool]) -> None:
    """Wait until something is so."""
    end = time.monotonic() + PATIENCE
    while not there() and time.monotonic() < end:
        time.sleep(0.1)
    assert there()


def test_what_comes_and_changes_is_marked_until_an_interrupt(tmp_path: Path) -> None:
    music, log = tmp_path / "Music", tmp_path / "log"
    (music / "deep").mkdir(parents=True)
    shutil.copy(STUDY, music / "there.musicxml")
    os.utime(music / "there.musicxml", (time.time() - 60,) * 2)
    command = [sys.executable, "-m", "annotator", "mark", str(music), "--watch", "--formats", "musicxml"]
    with log.open("w") as said:
        process = subprocess.Popen(command, stderr=said, start_new_session=True, env=unmeasured())
    try:
        until(lambda: "there-marked.musicxml" in log.read_text())
        shutil.copy(STUDY, music / "deep" / "comes.musicxml")
        (music / "broken.musicxml").write_bytes(STUDY.read_bytes()[:3000])
        until(lambda: (music / "deep" / "comes-marked.musicxml").exists() and "not well-formed" in log.read_text())
        shutil.copy(STUDY, music / "broken.musicxml")
        until(lambda: (music / "broken-marked.musicxml").exists())
        time.sleep(2.5)
    finally:
        os.killpg(process.pid, signal.SIGINT)
        code = process.wait(timeout=PATIENCE)
    lines = log.read_text().splitlines()
    assert code == 130 and "interrupted" in lines[-1]
    assert sum("wrote" in line for line in lines) == 3 and len(lines) == 6, "each once, and our copies start nothing"
    with log.open("w") as said:
        process = subprocess.Popen(command, stderr=said, start_new_session=True, env=unmeasured())
    until(lambda: "watching" in log.read_text())
    time.sleep(2.5)
    os.killpg(process.pid, signal.SIGINT)
    assert process.wait(timeout=PATIENCE) == 130
    assert "wrote" not in log.read_text(), "what has its copy is left as it is when watching begins again"


@pytest.mark.parametrize("words", [["x.musicxml", "--watch"], [".", "--watch", "--dry-run"], ["-", "--watch"]])
def test_what_cannot_be_watched(tmp_path: Path, words: list[str]) -> None:
    shutil.copy(STUDY, tmp_path / "x.musicxml")
    said = inside("mark", *words, folder=tmp_path)
    assert said.code == 2 and "--watch" in said.err and len(said.lines) == 1
