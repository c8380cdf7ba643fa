"""How many branches of the program the tests took: ``python tests/branches_covered.py coverage.json LEAST``.

The report is what ``coverage json`` writes. Fails below the least share, in 100; lists the modules with the most branches not taken.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

SHOWN = 10


def branches(report: Path) -> tuple[float, list[tuple[int, str]]]:
    """Return the share of branches taken, in 100, and (branches not taken, module), most first."""
    files = json.loads(report.read_text(encoding="utf-8"))["files"]
    counts = {name: file["summary"] for name, file in files.items() if not Path(name).is_absolute()}  # copies made by tests count not
    every = sum(count["num_branches"] for count in counts.values())
    taken = sum(count["covered_branches"] for count in counts.values())
    missing = sorted(((count["missing_branches"], name) for name, count in counts.items()), reverse=True)
    return 100 * taken / every, missing


if __name__ == "__main__":
    share, missing = branches(Path(sys.argv[1]))
    for count, name in missing[:SHOWN]:
        sys.stdout.write(f"{count:5} branches not taken in {name}\n")
    sys.stdout.write(f"branches taken: {share:.1f} %\n")
    sys.exit(share < float(sys.argv[2]))
