"""``annotator check-setup``: what the program needs on a machine, looked at piece by piece: is it there, and if not, what to do.

Conventions: a piece is *needed* when a command fails without it, and the exit code of the check says whether one is missing. Every piece
is tried, not merely looked up: the engraver draws a bar, cairo makes a PDF of it, so that a library of the wrong kind is found out here
and not over the first score.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from importlib.metadata import PackageNotFoundError, requires, version
from re import match
from typing import NamedTuple

from annotator.errors import AnnotatorError, EngraverError
from annotator.shell.running import guarded
from annotator.shell.streams import standard_output

LEAST_PYTHON = (3, 11)
AGAIN = "install the program again: pip install --force-reinstall annotator"
BAR = """<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part></part-list><part id="P1"><measure
number="1"><attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes><note><pitch><step>C</step>
<octave>5</octave></pitch><duration>4</duration><type>whole</type></note></measure></part></score-partwise>"""


class Piece(NamedTuple):
    """One piece that was looked at: its ``name``, whether it is ``there``, what was seen, and what to do where it is not."""

    name: str
    there: bool
    seen: str
    remedy: str = ""


def check_setup() -> None:
    """Say what is installed, what is missing, what to do.

    The exit code is 0 if everything is there, 69 if something is missing.
    """
    guarded(_check)


def _check() -> None:
    """Print a line for each piece; fail if one is missing."""
    missing = []
    for piece in look():
        standard_output().write(f"{'ok' if piece.there else 'MISSING':8} {piece.name:13} {piece.seen}\n")
        if not piece.there:
            standard_output().write(f"{'':8} {'':13} {piece.remedy}\n")
            missing.append(piece.name)
    if missing:
        raise EngraverError(f"missing: {', '.join(missing)}; what to do stands below each")


def look() -> Iterator[Piece]:
    """Yield every piece the program needs, each as soon as it has been tried."""
    yield _python()
    yield from _packages()
    for name, trial in (("styles", _styles), ("typefaces", _typefaces), ("engraver", _engraver), ("cairo", _cairo)):
        yield _tried(name, trial)


def _python() -> Piece:
    """Return whether Python is new enough."""
    seen = f"{sys.version_info.major}.{sys.version_info.minor}.{sys.version_info.micro} in {sys.prefix}"
    return Piece("Python", sys.version_info[:2] >= LEAST_PYTHON, seen, "install Python 3.11 or newer")


def _packages() -> Iterator[Piece]:
    """Yield the program and the packages that it says it requires, extras left out."""
    yield (program := _package("annotator", "pip install . in the folder of the program"))
    for requirement in (requires("annotator") or ()) if program.there else ():
        name = match(r"[\w.-]+", requirement)
        if name and "extra ==" not in requirement:
            yield _package(name[0], f"pip install {name[0]}")


def _package(name: str, remedy: str) -> Piece:
    """Return whether a package is installed, and in which version."""
    try:
        return Piece(name, True, version(name))
    except PackageNotFoundError:
        return Piece(name, False, "not installed", remedy)


def _tried(name: str, trial: Callable[[], str]) -> Piece:
    """Return what a trial saw, or its failure with what to do about it."""
    try:
        return Piece(name, True, trial())
    except AnnotatorError as error:
        what, _, remedy = str(error).partition(": ")
        return Piece(name, False, what, remedy or AGAIN)
    except (ImportError, OSError) as error:
        return Piece(name, False, str(error), AGAIN)


def _styles() -> str:
    """Read every style that comes with the program."""
    from annotator.marks.style import available

    return ", ".join(style.name for style in available())


def _typefaces() -> str:
    """Measure a word in the page's typefaces."""
    from annotator.pages import fonts

    fonts.text_width("run D→A♯", 100)
    return str(fonts.folder())


def _engraver() -> str:
    """Draw one bar."""
    from annotator.pages.engraver import ask

    ask("import", BAR, {"breaks": "none"}, 1)
    return "draws a bar"


def _cairo() -> str:
    """Make a PDF of nothing but paper."""
    from annotator.pages.pdf import cairo

    return f"version {cairo().cairo_version_string()}"
