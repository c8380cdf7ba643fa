"""Small scores to read: a bar is the inside of a ``<measure>``, a note is made by ``note``."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from annotator.music.score import Score
from annotator.reading import read

HEAD = "<divisions>{divisions}</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>"


def note(name: str = "C4", duration: int | str | None = 1, *, before: str = "", after: str = "", attributes: str = "") -> str:
    """Return a ``<note>``: ``name`` is a letter, alterations ``#`` and ``b``, octave; or ``rest``."""
    if name == "rest":
        what = "<rest/>"
    else:
        step, alter, octave = name[0], name.count("#") - name.count("b"), name[-1]
        what = f"<pitch><step>{step}</step>{f'<alter>{alter}</alter>' if alter else ''}<octave>{octave}</octave></pitch>"
    lasting = "" if duration is None else f"<duration>{duration}</duration>"
    return f"<note{' ' * bool(attributes)}{attributes}>{before}{what}{lasting}{after}</note>"


def partwise(*bars: str, divisions: int = 1, name: str = "Piano", attributes: str = "", prolog: str = "") -> str:
    """Return a one-part score. A bar that starts with ``<measure`` stands as it is; the first gets divisions, key C, 4/4."""
    measures = []
    for index, bar in enumerate(bars):
        head = "" if index else f"<attributes>{HEAD.format(divisions=divisions)}{attributes}</attributes>"
        if bar.startswith("<measure"):
            opening, inside = bar.split(">", 1)
            measures.append(f"{opening}>{head}{inside.removesuffix('</measure>')}</measure>")
        else:
            measures.append(f'<measure number="{index + 1}">{head}{bar}</measure>')
    return (
        f'{prolog}<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>{name}</part-name></score-part></part-list>'
        f'<part id="P1">{"".join(measures)}</part></score-partwise>'
    )


@pytest.fixture
def make_note() -> Callable[..., str]:
    """Return the maker of ``<note>`` texts."""
    return note


@pytest.fixture
def make_text() -> Callable[..., str]:
    """Return the maker of one-part score texts."""
    return partwise


@pytest.fixture
def score_of() -> Callable[..., Score]:
    """Return the maker of one-part scores, read."""
    return lambda *bars, **options: read(partwise(*bars, **options).encode(), "test")
