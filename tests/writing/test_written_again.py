"""Pages of ours are replaced by a second run, also where no figure is on them; a stranger's are not."""

from __future__ import annotations

from pathlib import Path

import pytest

import annotator
from annotator.errors import OutputError

KINDS = ("pdf", "svg", "png")
BAR = "".join(
    f"<note><pitch><step>{step}</step><octave>4</octave></pitch><duration>2</duration><type>half</type></note>" for step in "CA"
)
SCORE = (
    "<score-partwise version='4.0'><part-list><score-part id='P1'><part-name>Piano</part-name></score-part></part-list>"
    "<part id='P1'><measure number='1'><attributes><divisions>1</divisions></attributes>"
    f"{BAR}</measure></part></score-partwise>"
)


@pytest.fixture
def marked(tmp_path: Path) -> Path:
    """Return a folder with a score without figures and its pages in every format."""
    (tmp_path / "x.musicxml").write_text(SCORE, encoding="utf-8")
    annotator.mark(tmp_path / "x.musicxml", formats=KINDS)
    return tmp_path


def _page(folder: Path, kind: str) -> Path:
    return next(folder.glob(f"x-marked*.{kind}"))


def test_pages_of_ours_are_replaced(marked: Path) -> None:
    before = {kind: _page(marked, kind).read_bytes() for kind in KINDS}
    assert b"data-figure" not in before["svg"]
    annotator.mark(marked / "x.musicxml", formats=KINDS, style="large-print")
    after = {kind: _page(marked, kind).read_bytes() for kind in KINDS}
    assert all(before[kind] != after[kind] for kind in KINDS)


@pytest.mark.parametrize(
    ("kind", "stranger"),
    [
        ("svg", b'<svg xmlns="http://www.w3.org/2000/svg"><desc>Drawn by hand</desc></svg>'),
        ("png", b"\x89PNG\r\n\x1a\n....tEXtSoftware\0another"),
        ("pdf", b"%PDF-1.5\n1 0 obj <</Creator (another)>> endobj"),
    ],
)
def test_pages_of_a_stranger_are_not(marked: Path, kind: str, stranger: bytes) -> None:
    page = _page(marked, kind)
    page.write_bytes(stranger)
    with pytest.raises(OutputError, match="--force"):
        annotator.mark(marked / "x.musicxml", formats=KINDS)
    assert page.read_bytes() == stranger
    annotator.mark(marked / "x.musicxml", formats=KINDS, force=True)
    assert page.read_bytes() != stranger
