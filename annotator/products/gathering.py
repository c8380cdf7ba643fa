"""The scores below a folder, for commands that take many.

Rule
----
* Looked for by the ends of their names, in the folder and all below it; what begins with a dot is left alone. An ``.xml`` file must hold
  a score. Only regular files count, and each file once, however many links lead to it.
* What this program made is no source: a marked copy is left out, and so is a plain copy (``x-plain`` beside another ``x``). Where
  marks are to be taken out it is the other way round: only marked copies are taken.
* The order is that of the names, folder by folder, the same everywhere.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

from annotator.errors import MissingError, UsageError
from annotator.formats.formats import ENDINGS as OTHER_ENDINGS
from annotator.musicxml.files import MARKED, PLAIN
from annotator.musicxml.seal import made_by_us

ENDINGS = (".musicxml", ".mxl", ".xml", *OTHER_ENDINGS)
MOST = 10_000
"""Scores of one folder; beyond them it is no folder of scores but a whole disk."""

_ROOT = re.compile(rb"<\0?(?:s\0?c\0?o\0?r\0?e\0?-\0?(?:p\0?a\0?r\0?t|t\0?i\0?m\0?e)\0?w\0?i\0?s\0?e|(?:\w+:)?mei[\s>])")
_LOOKED_AT = 1 << 16  # bytes of an .xml file in which its root must show


def scores_below(folder: Path, marked: bool = False) -> list[str]:
    """Return the paths of the scores below a folder, or of the ``marked`` copies there. Raises ``MissingError`` where there are none."""
    found = []
    for path in _files(folder):
        if made_by_us(path) == marked:
            found.append(str(path))
        if len(found) > MOST:
            raise UsageError(f"more than {MOST} scores in this folder: give one below it")
    if not found:
        kind = "no marked copy" if marked else "no score"
        raise MissingError(f"{kind} in this folder (looked for {', '.join(ENDINGS)})")
    return found


def _files(top: Path) -> Iterator[Path]:
    """Yield the files below a folder that are named and look like scores."""
    entered: set[tuple[int, int]] = set()
    seen: set[tuple[int, int]] = set()
    waiting = [str(top)]  # not one call in the other: folders may lie deeper than calls can
    while waiting:
        place, folders, names = next(os.walk(waiting.pop(), followlinks=True), ("", [], []))
        if not place:
            continue
        here = Path(place).stat()
        if (here.st_dev, here.st_ino) in entered:  # a circle of links
            continue
        entered.add((here.st_dev, here.st_ino))
        waiting += [os.path.join(place, name) for name in sorted(folders, reverse=True) if not name.startswith(".")]  # noqa: PTH118
        stems = {_stem(name) for name in names if _is_named(name)}
        for name in sorted(names):
            path = Path(place, name)
            stem = _stem(name)
            if not _is_named(name) or (stem.endswith(f"-{PLAIN}") and stem.removesuffix(f"-{PLAIN}") in _sources(stems)):
                continue
            if path.is_file() and _holds_a_score(path):
                status = path.stat()
                if (status.st_dev, status.st_ino) not in seen:
                    seen.add((status.st_dev, status.st_ino))
                    yield path


def _is_named(name: str) -> bool:
    """Return whether a file is named as a score is."""
    return not name.startswith(".") and name.lower().removesuffix(".gz").endswith(ENDINGS)


def _stem(name: str) -> str:
    """Return a name without its endings."""
    return Path(name.removesuffix(".gz")).stem


def _sources(stems: set[str]) -> set[str]:
    """Return the names that a plain copy may come from: those of scores and of marked copies."""
    return stems | {stem.removesuffix(f"-{MARKED}") for stem in stems}


def _holds_a_score(path: Path) -> bool:
    """Return whether a file whose ending says nothing looks like a score."""
    if not path.name.lower().endswith(".xml"):
        return True
    try:
        with path.open("rb") as stream:
            return bool(_ROOT.search(stream.read(_LOOKED_AT)))
    except OSError:
        return True  # whoever reads it will say what is wrong
