"""Asks ``one_by_one`` to run the program several times."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

from robustness import one_by_one
from unmeasured import unmeasured


def job(folder: Path, *words: str, **wishes: Any) -> dict[str, Any]:
    """Return a job: the words of a command line, the folder it is given in, and what else is wished."""
    return {"words": list(words), "folder": str(folder), "seconds": 20, **wishes}


def run_jobs(jobs: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Run jobs one after another and return how each ended."""
    surroundings = unmeasured() if any("kill" in job for job in jobs) else None
    command = [sys.executable, one_by_one.__file__]
    done = subprocess.run(command, input=json.dumps(jobs), capture_output=True, text=True, check=True, env=surroundings)
    results: list[dict[str, Any]] = json.loads(done.stdout)
    return results
