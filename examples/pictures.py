"""Draws the small pictures of a handout that the README shows: ``python examples/pictures.py [FOLDER]``.

One page each of the three files that ``annotator handout`` writes for a study: the look-through page, the worksheet, its answers.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path

from PIL import Image

from annotator.copies import Copying
from annotator.engraving.paper import paper_of
from annotator.engraving.pdf import write_png
from annotator.handout.making import Lesson, handout_pages, prepare, worksheet_style
from annotator.handout.worksheet import worksheets
from annotator.marking import markings
from annotator.reading import load
from annotator.settings import Options

HERE = Path(__file__).resolve().parent
STUDY = HERE / "sonatina-at-the-open-gate.musicxml"
DPI = 150
WIDTH = 560  # pixels of a picture
GREYS = 16


def draw(folder: Path) -> list[Path]:
    """Draw the pictures into a folder and return the files."""
    copying = Copying()
    lecture = prepare(load(STUDY), Options(), copying, Lesson(group="Grade 3, week 2"))
    marked = markings(lecture.report, lecture.score)
    look = worksheet_style(copying.style)
    sheets = worksheets(lecture.document, lecture.score, marked, look, paper_of("a4"), "even", lecture.heading)
    pages = {"handout": handout_pages(lecture)[0], "worksheet": sheets.worksheet[0], "answers": sheets.answers[0]}
    files = []
    for name, page in pages.items():
        files.append(folder / f"{name}.png")
        _small(write_png(page, "a4", DPI)).save(files[-1], optimize=True)
    return files


def _small(png: bytes) -> Image.Image:
    """Return a page as a small picture in a few greys."""
    whole = Image.open(io.BytesIO(png)).convert("L")
    small = whole.resize((WIDTH, round(whole.height * WIDTH / whole.width)), Image.Resampling.LANCZOS)
    return small.quantize(GREYS)


if __name__ == "__main__":
    draw(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "pages")
