"""Scores worked on side by side: what comes of them in order, and workers that are gone when the work is, however it ends."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from multiprocessing import active_children
from pathlib import Path

import pytest
from unmeasured import unmeasured

from annotator.processes.side_by_side import PATIENCE, side_by_side

SLEEPY = """
import sys, time
from pathlib import Path
from annotator.processes.side_by_side import side_by_side

def work(place):
    try:
        Path(place).write_text("begun")
        time.sleep(60)
    except BaseException as error:
        Path(place).write_text(type(error).__name__)
        raise

if __name__ == "__main__":
    for _ in side_by_side(work, sys.argv[1:], 2):
        pass
"""


def doubled(number: int) -> int:
    """Return twice a number, small ones late."""
    time.sleep(0.2 / (1 + number))
    return 2 * number


def test_what_comes_of_the_calls_comes_in_order_and_the_workers_go() -> None:
    assert list(side_by_side(doubled, range(5), 2)) == [0, 2, 4, 6, 8]
    assert active_children() == []


def test_who_stops_listening_ends_the_workers() -> None:
    begun = time.monotonic()
    outcomes = side_by_side(doubled, range(50), 2)
    assert next(outcomes) == 0
    outcomes.close()
    assert active_children() == []
    assert time.monotonic() - begun < PATIENCE + 25


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="the system has no process groups")
@pytest.mark.parametrize("whole_group", [True, False])
def test_an_interrupt_undoes_what_the_workers_were_at(tmp_path: Path, whole_group: bool) -> None:
    program = tmp_path / "sleepy.py"
    program.write_text(SLEEPY)
    places = [tmp_path / f"{number}.txt" for number in range(4)]
    process = subprocess.Popen([sys.executable, program, *places], stderr=subprocess.DEVNULL, start_new_session=True, env=unmeasured())
    while not (places[0].exists() and places[1].exists()) and process.poll() is None:
        time.sleep(0.02)
    time.sleep(0.2)
    (os.killpg if whole_group else os.kill)(process.pid, signal.SIGINT)
    process.wait(timeout=30)
    assert [place.read_text() for place in places if place.exists()] == ["SystemExit", "SystemExit"]


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="the system has no process groups")
def test_workers_end_when_their_program_is_killed(tmp_path: Path) -> None:
    program = tmp_path / "sleepy.py"
    program.write_text(SLEEPY)
    places = [tmp_path / f"{number}.txt" for number in range(4)]
    process = subprocess.Popen([sys.executable, program, *places], stderr=subprocess.DEVNULL, start_new_session=True, env=unmeasured())
    while not (places[0].exists() and places[1].exists()) and process.poll() is None:
        time.sleep(0.02)
    process.kill()
    process.wait(timeout=30)
    until = time.monotonic() + 30
    while time.monotonic() < until and [place.read_text() for place in places[:2]] != ["SystemExit", "SystemExit"]:
        time.sleep(0.05)
    assert [place.read_text() for place in places[:2]] == ["SystemExit", "SystemExit"]
    with pytest.raises(ProcessLookupError):  # nobody is left in its group, at last
        while time.monotonic() < until:
            os.killpg(process.pid, 0)
            time.sleep(0.05)
