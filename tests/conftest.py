"""Which tests are ``fast``: those of the rooms that need no engraver, no browser and no process of their own."""

from __future__ import annotations

from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parent
FAST = {
    *("music", "figures", "reading", "generated"),
    *("test_cover.py", "test_covering.py", "test_lines.py", "test_words.py", "test_report.py", "test_handmarked.py"),
}
"""Rooms and modules whose tests are fast throughout; single tests elsewhere bear the marker themselves."""

NOT_FAST = {"test_adding_a_kind.py"}
"""Modules in those rooms that start a process."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the fast tests; what is slow is not."""
    for item in items:
        if TESTS not in item.path.parents or item.get_closest_marker("slow") or item.path.name in NOT_FAST:
            continue
        if item.path.relative_to(TESTS).parts[0] in FAST:
            item.add_marker(pytest.mark.fast)
