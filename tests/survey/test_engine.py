"""The engine of a survey on this machine: what it gives is what one process gives, and a file that does not come back costs a line."""

from __future__ import annotations

import json
import time
from multiprocessing import active_children

import pytest
from benchmarks.varied_score import varied_score
from survey.small_scores import score

from annotator.processes import side_by_side
from annotator.products.survey import measuring, surveying
from annotator.products.survey.measures import worth_keeping
from annotator.products.survey.measuring import measure_bytes
from annotator.products.survey.surveying import records

JOBS = [(str(number), score(f"C{2 + number % 5} D4 E4 F4 | G4:4", title=f"Piece {number}").encode()) for number in range(12)]


def test_one_process_and_many_agree():
    alone = dict(records(JOBS, 1))
    assert alone == {digest: measure_bytes(data) for digest, data in JOBS}
    assert dict(records(iter(JOBS), 3)) == alone


@pytest.mark.parametrize("count", [1, 2])
def test_started_from_nothing(monkeypatch, count):
    monkeypatch.setattr(side_by_side, "can_fork", lambda: False)
    assert dict(records(JOBS[:3], count)) == {digest: measure_bytes(data) for digest, data in JOBS[:3]}


def test_a_worker_that_dies_costs_one_file():
    def coming():
        yield "long", varied_score(40_000).encode()
        active_children()[0].kill()
        yield from JOBS

    found = dict(records(coming(), 1))
    told = json.loads(found.pop("long"))
    assert told["code"] == 70 and "exit -9" in told["failed"]
    assert not worth_keeping(json.dumps(told, separators=(",", ":"), sort_keys=True))
    assert found == dict(records(JOBS, 1))


def test_a_file_that_takes_too_long_costs_a_line(monkeypatch):
    monkeypatch.setattr(side_by_side, "can_fork", lambda: True)  # so that the worker has what is set here
    monkeypatch.setattr(surveying, "SECONDS_A_FILE", 1.0)
    monkeypatch.setattr(measuring, "measure_bytes", lambda data: time.sleep(60) if data == b"slow" else measure_bytes(data))
    found = dict(records([JOBS[0], ("slow", b"slow"), *JOBS[1:3]], 2))
    told = json.loads(found.pop("slow"))
    assert told["code"] == 70 and "longer than 1 seconds" in told["failed"]
    assert found == {digest: measure_bytes(data) for digest, data in JOBS[:3]}
