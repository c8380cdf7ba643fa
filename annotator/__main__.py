"""The door: ``annotator`` and ``python -m annotator``. The version is told here, before the command line and its library are loaded."""

from __future__ import annotations

import atexit
import gc
import sys

EASY = 100_000
"""Objects made before the garbage collector looks for circles again: a run makes many notes and hardly any circles, and 700, the usual
number, costs a tenth of the time on a long score."""


def run() -> None:
    """Tell the version, or hand over to the command line."""
    if sys.argv[1:] == ["--version"]:
        from annotator import __version__

        sys.stdout.write(f"annotator {__version__}\n")
        return
    gc.set_threshold(EASY, 10, 10)
    atexit.register(gc.freeze)  # at the end all is given back at once: looking for circles once more takes an eighth of a short run
    try:
        from annotator.cli import run as command_line

        command_line()
    except KeyboardInterrupt:  # before there is a command line that knows how to end
        sys.exit(130)


if __name__ == "__main__":
    run()
