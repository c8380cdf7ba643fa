"""The door: ``annotator`` and ``python -m annotator``. The version is told here, before the command line and its library are loaded."""

from __future__ import annotations

import gc
import os
import sys

SELDOM = 100_000
"""Objects made before Python looks for circles of them: a long score makes many notes and hardly any circles; looking takes a fifth."""


def run() -> None:
    """Tell the version, or hand over to the command line."""
    if sys.argv[1:2] == ["--version"]:
        from annotator.options import __version__

        try:
            print(f"annotator {__version__}", flush=True)
        except OSError as error:
            sys.stderr.write(f"annotator: writing failed: {error.strerror or error}\n")
            os._exit(74)  # what is left in the buffer would fail once more
        return
    gc.set_threshold(SELDOM)
    try:
        from annotator.shell.cli import run as command_line

        command_line()
    except KeyboardInterrupt:  # before there is a command line that knows how to end
        sys.exit(130)
    finally:
        gc.freeze()  # what is there goes with the process: no looking for circles in it at the end


if __name__ == "__main__":
    run()
