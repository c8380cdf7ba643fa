"""The scores below some folders: one walk, for commands that take many scores and for surveys.

Rules
-----
* Scores are told by the ends of their names, in a folder and all below it; what begins with a dot is left alone. A file that was named
  itself is taken whatever its name is.
* Links are followed, but each folder is entered once and each file counts once, however many names lead to it; so circles of links end.
  A copy, a file of its own with the same content, counts too. Only regular files count.
* A plain copy made by this program (``x-plain`` beside another ``x``) holds nothing of ours: it is told by its name, and passed by.
  Marked copies are told by what is in them, by whoever opens them.
* The order is that of the names, the files of a folder before the folders in it, the same everywhere.
"""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from annotator.errors import MissingError, UsageError
from annotator.formats import ENDINGS as OTHER_ENDINGS
from annotator.musicxml.files import MARKED, PLAIN
from annotator.musicxml.seal import made_by_us
from annotator.products.survey.measures import Failed, LeftOut

ENDINGS = (".musicxml", ".mxl", ".xml", *OTHER_ENDINGS)
"""How the names of scores end, packed (``.gz``) or not: MusicXML, and what is converted to it."""
MOST = 10_000
"""Scores of one folder that a command takes; beyond them it is no folder of scores but a whole disk."""
PLAIN_COPY = "a plain copy made by this program"

_ROOT = re.compile(rb"<\0?(?:s\0?c\0?o\0?r\0?e\0?-\0?(?:p\0?a\0?r\0?t|t\0?i\0?m\0?e)\0?w\0?i\0?s\0?e|(?:\w+:)?mei[\s>])")
_LOOKED_AT = 1 << 16  # bytes of an .xml file in which its root must show


@dataclass(frozen=True, slots=True)
class Found:
    """A file found: its path as it was come by, and what the system says of it."""

    path: str
    status: os.stat_result


def walk(sources: Sequence[str]) -> Iterator[Found | Failed | LeftOut]:
    """Yield what there is below the sources, which are folders or files: scores, what cannot be read, plain copies of ours."""
    entered: set[tuple[int, int]] = set()
    seen: set[tuple[int, int]] = set()
    for source in sources:
        waiting = [source]  # not one call in the other: folders may lie deeper than calls can
        while waiting:
            place = waiting.pop()
            try:
                status = os.stat(place)  # noqa: PTH116 - takes a text of any name
                one = (status.st_dev, status.st_ino)
                if stat.S_ISDIR(status.st_mode):
                    if one not in entered:
                        entered.add(one)
                        inside, copies = _inside(place)
                        waiting += reversed(inside)
                        yield from (LeftOut(shown(copy), PLAIN_COPY) for copy in copies)
                elif stat.S_ISREG(status.st_mode) and one not in seen:
                    seen.add(one)
                    yield Found(place, status)
            except (OSError, ValueError) as error:
                missing = isinstance(error, FileNotFoundError) and place == source
                why = "no such folder" if missing else f"cannot be read: {reason(error)}"
                yield Failed(shown(place), why, MissingError.exit_code)


def scores_below(folder: Path, marked: bool = False) -> list[str]:
    """Return the paths of the scores below a folder, or of the ``marked`` copies there. Raises ``MissingError`` where there are none.

    An ``.xml`` file must hold a score. What this program made is no source; where marks are to be taken out, only that is.
    """
    found = []
    for file in walk([str(folder)]):
        if isinstance(file, Found) and _holds_a_score(Path(file.path)) and made_by_us(Path(file.path)) == marked:
            found.append(file.path)
        if len(found) > MOST:
            raise UsageError(f"more than {MOST} scores in this folder: give one below it")
    if not found:
        kind = "no marked copy" if marked else "no score"
        raise MissingError(f"{kind} in this folder (looked for {', '.join(ENDINGS)})")
    return found


def shown(path: str) -> str:
    """Return a path as text that can be written anywhere: bytes of a name that are no UTF-8 become question marks."""
    return path.encode("utf-8", "replace").decode()


def reason(error: Exception) -> str:
    """Return what the system says of an error, without the path."""
    return getattr(error, "strerror", None) or str(error)


def _inside(folder: str) -> tuple[list[str], list[str]]:
    """Return what to look at in a folder, scores before folders, and the plain copies in it."""
    with os.scandir(folder) as entries:
        there = sorted((entry for entry in entries if not entry.name.startswith(".")), key=lambda entry: entry.name)
    folders = {entry.path: None for entry in there if os.path.isdir(entry)}  # noqa: PTH112 - False for a circle of links
    names = {entry.path: _bare(entry.name) for entry in there if entry.path not in folders}
    stems = {path: name.rpartition(".")[0] for path, name in names.items() if name.lower().endswith(ENDINGS)}
    origins = {*stems.values(), *(stem.removesuffix(f"-{MARKED}") for stem in stems.values())}
    is_copy = {path: stem.endswith(f"-{PLAIN}") and stem.removesuffix(f"-{PLAIN}") in origins for path, stem in stems.items()}
    return [*(path for path in stems if not is_copy[path]), *folders], [path for path in stems if is_copy[path]]


def _bare(name: str) -> str:
    """Return a name without the ending that says it is packed."""
    return name[:-3] if name.lower().endswith(".gz") else name


def _holds_a_score(path: Path) -> bool:
    """Return whether a file whose ending says nothing looks like a score."""
    if not path.name.lower().endswith(".xml"):
        return True
    try:
        with path.open("rb") as stream:
            return bool(_ROOT.search(stream.read(_LOOKED_AT)))
    except OSError:
        return True  # whoever reads it will say what is wrong
