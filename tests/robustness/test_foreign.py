"""Other formats at their worst: each ends with its exit code, in one line, in time; nothing leaks; damage is refused or read."""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from robustness import one_by_one
from robustness.damage import OPTIONS, chance_of, check_whole_way
from robustness.foreign_files import damaged, foreign
from robustness.refused_files import CANARY

from annotator.errors import AnnotatorError
from annotator.reading import load

SEED = 20_262
FEW, MANY = 8, 400


def test_hostile_sources_end_as_documented(tmp_path: Path) -> None:
    canary = tmp_path / "canary.txt"
    canary.write_text(CANARY)
    cases = foreign(str(canary))
    jobs = []
    for case in cases:
        folder = tmp_path / case.name
        (folder / "out").mkdir(parents=True)
        (folder / f"{case.name}{case.suffix}").write_bytes(case.data)
        words = ["mark", f"{case.name}{case.suffix}", "--out", "out"]
        jobs.append({"words": words, "folder": str(folder), "seconds": 40, "drawn": False})
    done = subprocess.run([sys.executable, one_by_one.__file__], input=json.dumps(jobs), capture_output=True, text=True, check=True)
    for case, job, result in zip(cases, jobs, json.loads(done.stdout), strict=True):
        lines = str(result["stderr"]).splitlines()
        left = {path.name: path.read_bytes() for path in (Path(job["folder"]) / "out").iterdir()}
        assert result["code"] == case.code and "fault" not in result["stderr"], (case.name, result)
        assert all(line.startswith("annotator: ") and case.name in line and len(line) < 600 for line in lines), lines
        assert case.says in result["stderr"] and (case.code == 0 or len(lines) == 1), (case.name, lines)
        assert list(left) == ([f"{case.name}-marked.musicxml"] if case.code == 0 else []), (case.name, left.keys())
        assert CANARY not in result["stderr"] and not any(CANARY.encode() in data for data in left.values())
        assert result["megabytes"] < 500, (case.name, result)


def sweep(numbers: range) -> Counter[str]:
    """Convert damaged sources and go the whole way with what still reads; count what came of them."""
    outcomes: Counter[str] = Counter()
    for number in numbers:
        try:
            data = load(damaged(chance_of(SEED, number))).data
            check_whole_way(data, OPTIONS[0])
            outcomes["read"] += 1
        except AnnotatorError:
            outcomes["refused"] += 1
        except Exception as error:
            raise AssertionError(f"seed {SEED}, run {number}: {type(error).__name__}: {error}") from error
    return outcomes


def test_damaged_sources() -> None:
    assert sum(sweep(range(FEW)).values()) == FEW


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, MANY, 100))
def test_many_damaged_sources(first: int) -> None:
    outcomes = sweep(range(first, first + 100))
    assert outcomes["read"] and outcomes["refused"], outcomes
