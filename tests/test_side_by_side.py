"""The pool of workers: nothing is lost when one dies, and all are gone when the work is, however it ends."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from multiprocessing import active_children
from pathlib import Path

import pytest
from unmeasured import unmeasured

from annotator.processes import side_by_side as pool
from annotator.processes.side_by_side import PATIENCE, as_done, cores, side_by_side

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
    for _ in side_by_side(work, sys.argv[1:], 2, lambda place, why: None):
        pass
"""


def doubled(number: int) -> int:
    """Return twice a number, small ones late."""
    time.sleep(0.2 / (1 + number))
    return 2 * number


def told(number: int, why: str) -> str:
    """Return what comes of a call that was lost."""
    return f"{number}: {why}"


def test_what_comes_of_the_calls_comes_in_order_and_the_workers_go() -> None:
    assert list(side_by_side(doubled, range(5), 2, told)) == [0, 2, 4, 6, 8]
    assert active_children() == []


def test_who_stops_listening_ends_the_workers() -> None:
    begun = time.monotonic()
    outcomes = side_by_side(doubled, range(50), 2, told)
    assert next(outcomes) == 0
    outcomes.close()
    assert active_children() == []
    assert time.monotonic() - begun < PATIENCE + 25


def odd_one_out(number: int) -> int:
    """Return a number, or go down over it: 1 takes its process with it, 2 takes too long, 3 tells of its process."""
    if number == 1:
        os._exit(9)
    if number == 2:
        time.sleep(60)
    return os.getpid() if number == 3 else number


@pytest.mark.parametrize("forked", [True, False])
def test_a_worker_that_dies_or_takes_too_long_costs_its_call_alone(forked: bool) -> None:
    done = dict(as_done(odd_one_out, [0, 1, 2, 4, 5, 6], 2, told, seconds=10, forked=forked))
    assert done.pop(1) == "1: the process that worked on it broke down, exit 9" and done.pop(2) == "2: it took longer than 10 seconds"
    assert done == {0: 0, 3: 4, 4: 5, 5: 6}
    assert active_children() == []


def test_what_was_lost_has_its_place_in_the_order() -> None:
    assert list(side_by_side(odd_one_out, [0, 1, 4], 2, told)) == [0, "1: the process that worked on it broke down, exit 9", 4]


def test_a_worker_that_dies_at_rest_costs_nothing() -> None:
    def coming() -> Iterator[int]:
        yield 4
        yield 5
        time.sleep(1)
        for process in active_children():
            process.kill()
            process.join()
        yield 6

    assert list(side_by_side(odd_one_out, coming(), 1, told)) == [4, 5, 6]


def test_workers_are_replaced_after_a_life(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pool, "CALLS_A_LIFE", 2)
    assert len(set(side_by_side(odd_one_out, [3] * 5, 1, told))) == 3


def test_no_more_is_asked_for_than_can_be_worked_on() -> None:
    asked: list[int] = []

    def coming() -> Iterator[int]:
        for number in range(4, 16):
            asked.append(number)
            yield number

    for done, _ in enumerate(as_done(odd_one_out, coming(), 2, told), 1):
        assert len(asked) <= done + 3, "one each worker, and the next"
    assert cores() >= 1


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
