"""The one list of figure kinds, in the order of the vocabulary. A new kind is one module and one entry here.

A kind looks either at one line at a time (``detect``) or at a whole part (``detect_part``: both hands, or earlier bars). Its inverse
``spell_out`` is always there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from annotator.figures.figure import Covered, Figure, Spelling
from annotator.lines import Line, Texture
from annotator.settings import Options


@dataclass(frozen=True, slots=True)
class Kind:
    """One entry of the vocabulary.

    ``family`` groups kinds for styles and surveys: ``run``, ``chord``, ``double``, ``ornament``, ``repeat``, ``hands``.
    ``harmony`` marks named accompaniments, which mere repeats never displace. ``default`` tells whether it is looked for unasked.
    """

    name: str
    family: str
    spell_out: Callable[[Covered], Spelling]
    detect: Callable[[Line, Options], Iterable[Figure]] | None = None
    detect_part: Callable[[Texture, Options], Iterable[Figure]] | None = None
    harmony: bool = False
    repeat: bool = False
    default: bool = True


KINDS: tuple[Kind, ...] = ()

KINDS_BY_NAME: dict[str, Kind] = {kind.name: kind for kind in KINDS}
