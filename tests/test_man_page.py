"""The manual page is what the help says, and a typesetter has nothing to complain about."""

from __future__ import annotations

import shutil
import subprocess

import pytest
from man_page import PAGE, man_page, roff


def test_the_page_is_the_help() -> None:
    assert PAGE.read_text(encoding="utf-8") == man_page(), "python tests/man_page.py --write"


def test_what_would_steer_the_typesetter_does_not() -> None:
    assert roff(".so x") == r"\&.so x" and roff(r"a\b-c…") == r"a\eb\-c\[u2026]"


@pytest.mark.skipif(shutil.which("groff") is None, reason="groff is not there")
def test_it_can_be_set() -> None:
    done = subprocess.run(["groff", "-man", "-Tutf8", "-ww", str(PAGE)], capture_output=True, text=True, check=True)
    assert done.stderr == "" and "130" in done.stdout and "interrupted" in done.stdout.lower()
