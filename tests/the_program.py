"""The program as the tests run it: in a process of its own, as a user does, or within the tests, which takes a tenth of the time."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from contextlib import chdir
from pathlib import Path
from typing import NamedTuple
from unittest.mock import patch

import pytest

from annotator.shell.cli import app

AROUND = {"NO_COLOR": "1", "COLUMNS": "80"}


class Said(NamedTuple):
    """What came of a run: the exit code, what was written to standard output, and what was said on standard error."""

    code: int
    data: bytes
    err: str

    @property
    def out(self) -> str:
        """Standard output as text."""
        return self.data.decode()

    @property
    def lines(self) -> list[str]:
        """The lines on standard error."""
        return self.err.splitlines()


def own_process(*words: object, folder: Path | None = None, stdin: bytes = b"", **environment: str) -> Said:
    """Run the program as a user does, in a folder."""
    command = [sys.executable, "-m", "annotator", *map(str, words)]
    around = {**os.environ, **AROUND, **environment}
    done = subprocess.run(command, cwd=folder, input=stdin, capture_output=True, timeout=120, check=False, env=around)
    return _sound(Said(done.returncode, done.stdout, done.stderr.decode()))


def inside(*words: object, folder: Path | None = None, stdin: bytes = b"", **environment: str) -> Said:
    """Run the program within the tests, in a folder."""
    given, out, err = (io.TextIOWrapper(io.BytesIO(data), "utf-8") for data in (stdin, b"", b""))
    streams = patch.multiple(sys, stdin=given, stdout=out, stderr=err)
    with chdir(folder or "."), patch.dict(os.environ, {**AROUND, **environment}), streams, pytest.raises(SystemExit) as end:
        app([str(word) for word in words])
    out.seek(0)
    err.seek(0)
    return _sound(Said(int(end.value.code or 0), out.buffer.read(), err.read()))


def _sound(said: Said) -> Said:
    assert "Traceback" not in said.err, said.err
    return said
