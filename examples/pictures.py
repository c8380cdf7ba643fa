"""Draws the pictures that the README shows: ``python examples/pictures.py [FOLDER]``.

The marked page of a study; one page each of the three files that ``annotator handout`` writes for it; and, where there is a Chromium, what
``annotator compare`` and ``annotator survey --html`` show on a screen.
"""

from __future__ import annotations

import io
import shutil
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from PIL import Image

from annotator.marks.marking import markings
from annotator.options.settings import Options
from annotator.pages.engraving import engrave
from annotator.pages.pdf import write_png
from annotator.products.handout.lesson import prepare
from annotator.products.handout.making import pages_of
from annotator.reading import load

HERE = Path(__file__).resolve().parent
STUDY = HERE / "sonatina-at-the-open-gate.musicxml"
DPI = 150
WIDTH = 560  # pixels of a small picture
WHOLE_WIDTH = 992  # and of a page to be read
SCREEN = (1280, 860)  # CSS pixels
GREYS = 16
COLOURS = 64
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"),
    *("--no-first-run", "--disable-background-networking", "--disable-sync"),
)


def draw(folder: Path) -> list[Path]:
    """Draw the pictures into a folder and return the files."""
    lesson = prepare(STUDY, Options(class_="Grade 3, week 2"))
    pages = pages_of(lesson)
    shown = {"handout": pages["handout"][0], "worksheet": pages["worksheet"][-1], "answers": pages["answers"][-1]}
    files = []
    for name, page in shown.items():
        files.append(folder / f"{name}.png")
        _greys(write_png(page, "a4", DPI), WIDTH).save(files[-1], optimize=True)
    page = engrave(load(STUDY), lesson.score, markings(lesson.report), lesson.style, "a4").pages[0]
    files.append(folder / f"{STUDY.stem}.png")
    _greys(write_png(page, "a4", 2 * DPI), WHOLE_WIDTH).save(files[-1], optimize=True)
    return [*files, *_screens(folder)]


def _greys(png: bytes, width: int) -> Image.Image:
    """Return a page as a picture so many pixels wide in a few greys."""
    whole = Image.open(io.BytesIO(png)).convert("L")
    return whole.resize((width, round(whole.height * width / whole.width)), Image.Resampling.LANCZOS).quantize(GREYS)


def _screens(folder: Path) -> list[Path]:
    """Draw what the pages for the screen look like; none without a Chromium."""
    if CHROMIUM is None:
        return []
    with TemporaryDirectory() as place:
        run = (sys.executable, "-m", "annotator")
        subprocess.run([*run, "compare", "-q", STUDY.name, "--out", place], cwd=HERE, check=True)
        library = Path(place, "library.html")
        subprocess.run([*run, "survey", "-q", ".", "--no-cache", "--html", str(library)], cwd=HERE, check=True, capture_output=True)
        pages = {"compare": Path(place, f"{STUDY.stem}-compare.html"), "survey": library}
        files = []
        for name, page in pages.items():
            shot = Path(place, "shot.png")
            where = (f"--user-data-dir={place}/profile", f"--window-size={SCREEN[0]},{SCREEN[1]}", f"--screenshot={shot}")
            subprocess.run([CHROMIUM, *FLAGS, *where, page.as_uri()], check=True, capture_output=True, timeout=120)
            files.append(folder / f"{name}.png")
            Image.open(shot).convert("RGB").quantize(COLOURS).save(files[-1], optimize=True)
    return files


if __name__ == "__main__":
    draw(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE / "pages")
