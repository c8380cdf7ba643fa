"""How many notes a source has, counted without the converter, so that what comes out can be held against what went in.

Conventions
-----------
* Counted are the notes struck: heads without those tied on. Grace notes count.
* None where the source can be read in more than one way, so that no one number is right (variants in MEI).

Source: the Humdrum guide (spine paths; ``_`` and ``]`` in ties); MEI 4, attribute class ``att.tie``; the ABC standard 2.1, "Ties and
slurs".
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from annotator.formats.abc_tunes import bare_music

_KERN_NOTE = re.compile(r"[A-Ga-g]")
_ABC_TOKEN = re.compile(r"\[(?=[\^_=A-Ga-g])|\]|[\^_=]*[A-Ga-g][,']*|-")
_VARIANTS = ("app", "choice", "ossia", "subst", "orig", "rdg")


def struck_in_kern(text: str) -> int:
    r"""Return the notes struck in all ``**kern`` spines.

    >>> struck_in_kern("**kern\t**dynam\n4c 4e\tf\n[4g\t.\n4g]\t.\n*-\t*-\n")
    3
    """
    spines: list[bool] = []
    count = 0
    for line in text.splitlines():
        cells = line.split("\t")
        if line.startswith("**"):
            spines = [cell == "**kern" for cell in cells]
        elif line.startswith("*"):
            spines = _paths(spines, cells)
        elif line and line[0] not in "!=":
            for cell, is_kern in zip(cells, spines, strict=False):
                if is_kern:
                    count += sum(bool(_KERN_NOTE.search(one)) and not set("_]r") & set(one) for one in cell.split())
    return count


def breaks_off(text: str) -> bool:
    """Return whether a kern file ends before its spines do (``*-``)."""
    last = next((line for line in reversed(text.splitlines()) if line.strip() and not line.startswith("!")), "")
    return not last.startswith("*-")


def _paths(spines: list[bool], cells: Sequence[str]) -> list[bool]:
    """Return which spines hold kern below a line of interpretations: spines split, join, change places and end."""
    below: list[bool] = []
    joining = False
    for place, (cell, is_kern) in enumerate(zip(cells, spines, strict=False)):
        if cell == "*v" and joining and below:
            continue
        joining = cell == "*v"
        if cell == "*^":
            below += [is_kern, is_kern]
        elif cell == "*x" and place and cells[place - 1] == "*x" and below:
            below.insert(len(below) - 1, is_kern)
        elif cell != "*-":
            below.append(is_kern)
    return below


def struck_in_mei(root: Any) -> int | None:
    """Return the notes struck in an MEI document; None where it holds variants."""
    if any(True for _ in root.iter(*(f"{{*}}{name}" for name in _VARIANTS))):
        return None
    tied = {tie.get("endid", "").lstrip("#") for tie in root.iter("{*}tie")} - {""}
    count = 0
    for note in root.iter("{*}note"):
        chord = next(note.iterancestors("{*}chord"), None)
        said = note.get("tie", "") + ("" if chord is None else chord.get("tie", ""))
        count += not (set("mt") & set(said) or note.get("{http://www.w3.org/XML/1998/namespace}id") in tied)
    return count


def struck_in_abc(lines: Sequence[str]) -> int:
    """Return the notes struck in the lines of music of a tune.

    >>> struck_in_abc(["C-C [CEG]-[CEG] |", "(3^fga {g}a2 |]"])
    9
    """
    count, inside, size = 0, False, 0
    for match in _ABC_TOKEN.finditer(" ".join(bare_music(line) for line in lines)):
        token = match.group()
        if token == "[":
            inside, size = True, 0
        elif token == "]":
            inside = False
        elif token == "-":
            count -= 1 if inside else size
        else:
            count, size = count + 1, size + 1 if inside else 1
    return count
