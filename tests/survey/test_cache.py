"""The cache: what is known is not read again, what has changed is, and nothing that goes wrong with it stops a survey."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import time
from functools import partial
from pathlib import Path

import pytest
from survey.small_scores import score

from annotator.products.gathering import walk
from annotator.products.survey import cache as cache_module
from annotator.products.survey import surveying
from annotator.products.survey.cache import cache_folder, opened_cache
from annotator.products.survey.surveying import Work, records

RUN = "C4:1/4 D4:1/4 E4:1/4 F4:1/4 G4:1/4 A4:1/4 B4:1/4 C5:1/4 r:2"


def put(path: Path, *, age: float = 60, **kind: object) -> None:
    """Write a score that was changed so many seconds ago."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(score(RUN, **kind), encoding="utf-8")  # type: ignore[arg-type]
    os.utime(path, (time.time() - age,) * 2)


def run(folder: Path, wanted: bool = True) -> tuple[list[str], int]:
    """Survey a folder and return the titles and how many contents were worked on."""
    with opened_cache(wanted) as cache:
        at_work = Work(cache)
        found = at_work.survey([str(folder)], partial(records, count=1))
    return [score.measures.title for score in found.scores], at_work.read


@pytest.fixture
def patient(monkeypatch):
    """Let files that were changed a moment ago count as settled, as those of a library are."""
    monkeypatch.setattr(cache_module, "RECENT", 0)


@pytest.mark.usefixtures("patient")
def test_what_is_known_is_not_even_opened(tmp_path, monkeypatch):
    put(tmp_path / "a.xml", title="One")
    put(tmp_path / "b.xml", title="Two")
    assert run(tmp_path) == (["One", "Two"], 2)
    monkeypatch.setattr(surveying, "_bytes_of", lambda *_: pytest.fail("opened"))
    assert run(tmp_path) == (["One", "Two"], 0)


@pytest.mark.usefixtures("patient")
def test_content_decides(tmp_path):
    put(tmp_path / "a.xml", title="One")
    run(tmp_path)
    (tmp_path / "a.xml").rename(tmp_path / "moved.xml")
    put(tmp_path / "copy.xml", title="One")
    assert run(tmp_path) == (["One", "One"], 0), "moved and copied, but the content is known"
    before = (tmp_path / "copy.xml").stat()
    put(tmp_path / "copy.xml", title="Two")
    os.utime(tmp_path / "copy.xml", ns=(before.st_atime_ns, before.st_mtime_ns))
    assert (tmp_path / "copy.xml").stat().st_size == before.st_size
    assert run(tmp_path) == (["Two", "One"], 1), "same size and same time of change, but it was written to"


def test_a_file_changed_just_now_is_looked_at_again(tmp_path):
    put(tmp_path / "a.xml", age=0, title="One")
    run(tmp_path)
    with opened_cache() as cache:
        found = next(walk([str(tmp_path)]))
        assert cache.digest_of(found) is None


def test_copies_are_read_once(tmp_path):
    for name in "abc":
        put(tmp_path / f"{name}.xml", title="One")
    assert run(tmp_path, wanted=False) == (["One"] * 3, 1)


@pytest.mark.usefixtures("patient")
def test_another_version_of_the_program_begins_anew(tmp_path, monkeypatch):
    put(tmp_path / "a.xml")
    assert run(tmp_path)[1] == 1
    monkeypatch.setattr(cache_module, "program", lambda: "another")
    assert run(tmp_path)[1] == 1
    assert len(list(cache_folder().glob("survey-*.sqlite"))) == 2
    assert run(tmp_path)[1] == 0


def test_versions_not_used_for_long_are_removed(tmp_path, monkeypatch):
    cache_folder().mkdir(parents=True)
    old, young, other = (cache_folder() / name for name in ("survey-1-old.sqlite", "survey-1-young.sqlite", "mine.sqlite"))
    for path in (old, young, other):
        path.write_bytes(b"")
    os.utime(old, (0, 0))
    os.utime(other, (0, 0))
    put(tmp_path / "a.xml")
    run(tmp_path)
    assert [path.exists() for path in (old, young, other)] == [False, True, True]


@pytest.mark.usefixtures("patient")
@pytest.mark.parametrize("damage", ["letters", "torn"])
def test_a_damaged_cache_is_begun_anew(tmp_path, damage):
    for number in range(60):
        put(tmp_path / f"{number}.xml", title=f"Piece {number}")
    titles, _ = run(tmp_path)
    file = next(cache_folder().glob("*.sqlite"))
    data = file.read_bytes()
    file.write_bytes(b"no database at all" * 100 if damage == "letters" else data[:4096] + os.urandom(len(data) - 4096))
    assert run(tmp_path)[0] == titles
    run(tmp_path)
    assert run(tmp_path) == (titles, 0)


def test_no_cache_keeps_nothing(tmp_path):
    put(tmp_path / "a.xml")
    assert run(tmp_path, wanted=False)[1] == 1
    assert not cache_folder().exists()


def test_a_cache_that_cannot_be_made_is_done_without(tmp_path, monkeypatch):
    put(tmp_path / "a.xml", title="One")
    (tmp_path / "taken").write_text("a file")
    monkeypatch.setenv("ANNOTATOR_CACHE", str(tmp_path / "taken"))
    assert run(tmp_path) == (["One"], 1)


def test_a_cache_that_another_holds_is_done_without(tmp_path, monkeypatch):
    put(tmp_path / "a.xml", title="One")
    run(tmp_path)
    monkeypatch.setattr(cache_module, "PATIENCE", 0.1)
    put(tmp_path / "b.xml", title="Two")
    holder = sqlite3.connect(next(cache_folder().glob("*.sqlite")), isolation_level=None)
    try:
        holder.execute("BEGIN EXCLUSIVE")
        assert run(tmp_path)[0] == ["One", "Two"]
    finally:
        holder.close()


def test_two_runs_at_once(tmp_path):
    for number in range(40):
        put(tmp_path / f"{number:02}.xml", title=f"Piece {number}")
    command = [sys.executable, "-m", "annotator", "survey", str(tmp_path), "--json", "--jobs", "1"]
    both = [subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(2)]
    told = [process.communicate(timeout=60) for process in both]
    assert [process.returncode for process in both] == [0, 0], told
    assert told[0][0] == told[1][0] and told[0][0].count(b'"path"') == 40
    assert run(tmp_path) == ([f"Piece {number}" for number in range(40)], 0)


def test_a_record_that_is_not_as_it_was_kept_is_made_anew(tmp_path, monkeypatch):
    monkeypatch.setenv("ANNOTATOR_CACHE", str(tmp_path))
    with opened_cache() as cache:
        cache.keep("a digest", '{"left_out":"x"}')
    with opened_cache() as cache:
        assert cache.record_of("a digest") == '{"left_out":"x"}'
        assert cache._connection is not None
        cache._connection.execute("UPDATE records SET record = substr(record, 1, 30)")
        assert cache.record_of("a digest") is None
