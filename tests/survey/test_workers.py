"""The workers: nothing is lost when one dies, and what they give is what one process gives."""

from __future__ import annotations

import json
import time

import pytest
from benchmarks.varied_score import varied_score
from survey.small_scores import score

from annotator.products.survey import workers
from annotator.products.survey.record import measure_bytes, worth_keeping
from annotator.products.survey.workers import Workers, cores, records

JOBS = [(str(number), score(f"C{2 + number % 5} D4 E4 F4 | G4:4", title=f"Piece {number}").encode()) for number in range(12)]


def test_one_process_and_many_agree():
    alone = dict(records(JOBS, 1))
    assert alone == {digest: measure_bytes(data) for digest, data in JOBS}
    assert dict(records(iter(JOBS), 3)) == alone


def test_started_from_nothing(monkeypatch):
    monkeypatch.setattr(workers, "_method", lambda: "spawn")
    assert dict(records(JOBS[:3], 2)) == {digest: measure_bytes(data) for digest, data in JOBS[:3]}


def test_a_worker_that_dies_costs_one_file():
    long = ("long", varied_score(40_000).encode())
    found: dict[str, str] = {}
    with Workers(2) as crew:
        for digest, record in crew.records([JOBS[0], long, *JOBS[1:]]):
            found[digest] = record
            for worker in crew._crew:
                if worker.digest == "long":
                    worker.process.kill()
    told = json.loads(found.pop("long"))
    assert told["code"] == 70 and "exit -9" in told["failed"]
    assert not worth_keeping(json.dumps(told, separators=(",", ":"), sort_keys=True))
    assert found == dict(records(JOBS, 1))


def test_a_worker_that_died_at_rest_costs_nothing():
    with Workers(2) as crew:
        found = dict(crew.records(JOBS[:4]))
        for worker in crew._crew:
            worker.process.kill()
            worker.process.join()
        found |= dict(crew.records(JOBS[4:]))
    assert found == dict(records(JOBS, 1))


def test_workers_are_replaced_after_a_life(monkeypatch):
    monkeypatch.setattr(workers, "FILES_A_LIFE", 5)
    assert dict(records(JOBS, 2)) == dict(records(JOBS, 1))


def test_no_more_is_asked_for_than_can_be_worked_on():
    asked: list[str] = []

    def coming():
        for digest, data in JOBS:
            asked.append(digest)
            yield digest, data

    with Workers(2) as crew:
        for done, _ in enumerate(crew.records(coming()), 1):
            assert len(asked) <= done + 2


def test_workers_end_with_the_run():
    with pytest.raises(KeyboardInterrupt), Workers(2) as crew:
        for _ in crew.records(JOBS):
            processes = [worker.process for worker in crew._crew]
            raise KeyboardInterrupt
    limit = time.monotonic() + 5
    while any(process.is_alive() for process in processes) and time.monotonic() < limit:
        time.sleep(0.01)
    assert not any(process.is_alive() for process in processes)
    assert cores() >= 1


def test_a_file_that_takes_too_long_costs_a_line(monkeypatch):
    monkeypatch.setattr(workers, "_method", lambda: "fork")  # so that the worker has what is set here
    monkeypatch.setattr(workers, "SECONDS_A_FILE", 1.0)
    monkeypatch.setattr(workers, "measure_bytes", lambda data: time.sleep(60) if data == b"slow" else measure_bytes(data))
    found = dict(records([JOBS[0], ("slow", b"slow"), *JOBS[1:3]], 2))
    told = json.loads(found.pop("slow"))
    assert told["code"] == 70 and "longer than 1 seconds" in told["failed"]
    assert found == {digest: measure_bytes(data) for digest, data in JOBS[:3]}
