"""The same survey on a cluster: a real scheduler and two workers on this machine, one of them killed midway."""

from __future__ import annotations

import importlib.util
import json
import os
import subprocess
import sys
from hashlib import blake2b
from pathlib import Path

import pytest
from benchmarks.varied_score import varied_score
from survey.cluster_run import cluster

from annotator.errors import TransferError, UsageError
from annotator.products.survey import cluster as on_cluster
from annotator.products.survey.measuring import measure_bytes

pytestmark = pytest.mark.skipif(
    importlib.util.find_spec("distributed") is None or not hasattr(os, "killpg"), reason="dask.distributed is not installed"
)
HERE = Path(__file__).parent


def test_the_cluster_gives_what_one_machine_gives_though_a_worker_is_killed(tmp_path):
    music = tmp_path / "music"
    music.mkdir()
    contents = [varied_score(480, seed=number).encode() for number in range(24)] + [b"<score-partwise>"]
    for number, data in enumerate(contents):
        (music / f"{number:02}.xml").write_bytes(data)
    survey = [sys.executable, "-m", "annotator", "survey", str(music), "--json", "--no-cache"]
    with cluster(tmp_path, 2) as (address, workers):
        script = [sys.executable, str(HERE / "cluster_run.py"), address, str(music), str(workers[0])]
        told = subprocess.run(script, capture_output=True, text=True, timeout=120, check=False)
        assert told.returncode == 0, told.stderr[-2000:]
        there = subprocess.run([*survey, "--cluster", address], capture_output=True, timeout=120, check=False)
    assert json.loads(told.stdout) == {blake2b(data, digest_size=16).hexdigest(): measure_bytes(data) for data in contents}
    here = subprocess.run([*survey, "--jobs", "1"], capture_output=True, timeout=120, check=False)
    assert here.returncode == there.returncode == 65
    assert here.stdout == there.stdout and here.stderr == there.stderr
    assert len(json.loads(here.stdout)["scores"]) == 24


def test_no_scheduler_answers(monkeypatch):
    monkeypatch.setattr(on_cluster, "SECONDS", 1)
    code = (
        "from annotator.products.survey import cluster as c; c.SECONDS = 1\n"
        "try: list(c.records([('d', b'')], '127.0.0.1:9'))\nexcept c.TransferError as error: print(error)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert "no dask scheduler answers at 127.0.0.1:9" in done.stdout and done.stdout.count("\n") == 1


def test_without_the_library(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(UsageError, match=r"pip install 'annotator\[cluster\]'"):
        list(on_cluster.records([("d", b"")], "127.0.0.1:9"))


class Answers:
    """A client whose workers tell these versions."""

    def __init__(self, versions: dict[str, object]) -> None:
        self.versions = versions

    def run(self, *_: object, **__: object) -> dict[str, object]:
        return self.versions


def test_workers_of_another_version_are_refused():
    on_cluster._refuse_others(Answers({"tcp://a": on_cluster.program()}), "x")
    with pytest.raises(UsageError, match="tcp://b does not run this version"):
        on_cluster._refuse_others(Answers({"tcp://a": on_cluster.program(), "tcp://b": "older"}), "x")
    with pytest.raises(UsageError, match="has no workers"):
        on_cluster._refuse_others(Answers({}), "x")


class Lost:
    """A task whose scheduler has gone, or that its workers did not survive."""

    def __init__(self, status: str) -> None:
        self.status = status

    def cancelled(self) -> bool:
        return self.status == "cancelled"

    def exception(self) -> Exception:
        return RuntimeError("it took three workers down")


def test_tasks_that_come_to_nothing():
    with pytest.raises(TransferError, match="went away"):
        on_cluster._record(Lost("cancelled"), "x")
    told = json.loads(on_cluster._record(Lost("error"), "x"))
    assert told["code"] == 70 and "three workers" in told["failed"]


class LostOnce:
    """A future whose worker died with the result: lost when first seen, finished when it was worked out again."""

    def __init__(self):
        self.seen = ["lost", "finished"]

    @property
    def status(self):
        return self.seen.pop(0) if len(self.seen) > 1 else self.seen[0]

    def cancelled(self):
        return False

    def result(self):
        return "record"


class Waiting(list):
    """Gives back at once what it is to wait for."""

    def __init__(self, **_):
        super().__init__()

    add = list.append

    def __next__(self):
        return self.pop(0)


class OneWorker:
    """A client of a cluster whose every record is lost once."""

    loop = None

    def nthreads(self):
        return {"worker": 1}

    def submit(self, *_, **__):
        return LostOnce()

    def cancel(self, *_, **__):
        pass


def test_a_record_that_its_worker_took_with_it_is_waited_for_again(monkeypatch):
    monkeypatch.setattr("distributed.as_completed", Waiting)
    jobs = [(str(number), b"") for number in range(20)]
    assert sorted(on_cluster._done(OneWorker(), iter(jobs), "tcp://nowhere")) == sorted((digest, "record") for digest, _ in jobs)
