"""``annotator check-setup``: it says what is there, and what to do about what is not."""

from __future__ import annotations

import re
import subprocess
import sys
from importlib.metadata import requires

import pytest

from annotator.errors import EngraverError
from annotator.pages import pdf
from annotator.shell import installation


def check_setup(before: str = "") -> subprocess.CompletedProcess[str]:
    """Run the command in a process of its own, after some lines that break something."""
    code = f"import sys; sys.argv = ['annotator', 'check-setup']\n{before}\nfrom annotator.__main__ import run; run()"
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=False)


def test_everything_is_there() -> None:
    done = check_setup()
    assert (done.returncode, done.stderr) == (0, "")
    assert "MISSING" not in done.stdout
    needed = [re.split(r"[<>=!~ ]", line)[0] for line in requires("annotator") or [] if "extra ==" not in line]
    assert [name for name in needed if f" {name} " not in done.stdout] == []


def test_a_missing_cairo_is_told_with_the_commands_that_install_it() -> None:
    done = check_setup("import cffi\ndef no(*_): raise OSError('no such library')\ncffi.FFI.dlopen = no")
    assert done.returncode == 69
    assert done.stderr == "annotator: missing: cairo; what to do stands below each\n"
    assert all(words in done.stdout for words in ("apt install libcairo2", "dnf install cairo", "brew install cairo", "GTK 3"))


def test_a_missing_engraver_is_told() -> None:
    engraver = "from annotator.pages import engraver as here"
    absent = f"{engraver}; from functools import partial; here.ask = partial(here.ask, command=('/nonesuch',))"
    done = check_setup(absent)
    assert done.returncode == 69
    assert "MISSING  engraver" in done.stdout


def test_a_package_that_is_not_installed_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(installation, "requires", lambda _name: ["nonesuch-package>=1", "another; extra == 'test'"])
    pieces = {piece.name: piece for piece in installation.look()}
    assert not pieces["nonesuch-package"].there
    assert pieces["nonesuch-package"].remedy == "pip install nonesuch-package"
    assert "another" not in pieces


def test_a_trial_that_fails_is_a_piece_that_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail() -> None:
        raise EngraverError("the library is missing: install it")

    monkeypatch.setattr(pdf, "cairo", fail)
    piece = next(piece for piece in installation.look() if piece.name == "cairo")
    assert (piece.there, piece.seen, piece.remedy) == (False, "the library is missing", "install it")
