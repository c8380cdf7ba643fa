"""``annotator check-setup``: what the program needs on a machine, looked at piece by piece: is it there, and if not, what to do.

Conventions: a piece is *needed* when a command fails without it, and the exit code of the check says whether one is missing. Every piece
is tried, not merely looked up: the engraver draws a bar, cairo makes a PDF of it, so that a library of the wrong kind is found out here
and not over the first score.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from functools import partial
from importlib.metadata import PackageNotFoundError, requires, version
from re import match
from typing import NamedTuple

from annotator.errors import AnnotatorError, EngraverError
from annotator.shell.streams import standard_output

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
    yield Piece("Python", True, f"{sys.version.split()[0]} in {sys.prefix}")
    yield (program := _tried("annotator", partial(version, "annotator")))
    for requirement in (requires("annotator") or ()) if program.there else ():
        name = match(r"[\w.-]+", requirement)
        if name and "extra ==" not in requirement:
            yield _tried(name[0], partial(version, name[0]))
    for what, trial in (("styles", _styles), ("typefaces", _typefaces), ("engraver", _engraver), ("cairo", _cairo)):
        yield _tried(what, trial)


def _tried(name: str, trial: Callable[[], str]) -> Piece:
    """Return what a trial saw, or its failure with what to do about it."""
    try:
        return Piece(name, True, trial())
    except AnnotatorError as error:
        what, _, remedy = str(error).partition(": ")
        return Piece(name, False, what, remedy or AGAIN)
    except PackageNotFoundError:
        return Piece(name, False, "not installed", f"pip install {name}")
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
