"""What the tests of handouts share: the text of a PDF with its places, and the three files of a study, made once."""

from __future__ import annotations

import io
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from pypdf import PdfReader
from scores_at_hand import CORPUS, EXAMPLES

from annotator.marks.report import Report
from annotator.options.settings import Options
from annotator.products.handout.making import plan_handout
from annotator.products.planning import Copy

STUDY = EXAMPLES / "sonatina-at-the-open-gate.musicxml"
CHAIN = CORPUS / "bach" / "bwv846.mxl"


@dataclass(frozen=True)
class Piece:
    """A piece of text of a PDF: page from 1, place in points rounded, size in points."""

    page: int
    text: str
    x: float
    y: float
    size: float


@cache
def pieces_of(data: bytes) -> tuple[Piece, ...]:
    """Return the pieces of text in the order in which they were written."""
    found: list[Piece] = []
    for number, page in enumerate(PdfReader(io.BytesIO(data)).pages, 1):

        def visit(text: str, cm: list[float], tm: list[float], *_: object, page: int = number) -> None:
            if text.strip():
                found.append(Piece(page, text.strip(), round(tm[4] * cm[0] + cm[4], 1), round(tm[5] * cm[3] + cm[5], 1), tm[0]))

        page.extract_text(visitor_text=visit)
    return tuple(found)


@cache
def lines_of(data: bytes) -> tuple[str, ...]:
    """Return the lines of text of all pages."""
    return tuple(line for page in PdfReader(io.BytesIO(data)).pages for line in page.extract_text().splitlines())


@cache
def made(
    source: Path = STUDY, language: str = "en", bars: tuple[tuple[str, str], ...] | None = None, hand: str = "both"
) -> tuple[Copy[Report], dict[str, bytes]]:
    """Return what came of a score, and the three files by their last word."""
    with tempfile.TemporaryDirectory() as folder:
        options = Options(language=language, bars=bars, hand=hand, class_="Grade 3, week 2", out=folder)
        handout = plan_handout(source, options).write()
        return handout, {path.stem.rpartition("-")[2]: path.read_bytes() for path in handout.files}
