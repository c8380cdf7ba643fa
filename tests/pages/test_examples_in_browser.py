"""The marked pages of every example look in the program's PDF painter as they do in a browser."""

from __future__ import annotations

import io
import re
from pathlib import Path

import browser
import numpy
import pytest
from PIL import Image
from scores_at_hand import EXAMPLES

import annotator
from annotator.pages.pdf import write_png

WIDTH, HEIGHT, DPI = 1240, 1754, 150
PIXELS_OFF = 0.002

SCORES = sorted(EXAMPLES.glob("*.musicxml"))


def grey(png: bytes) -> numpy.ndarray:
    return numpy.asarray(Image.open(io.BytesIO(png)).convert("L")).astype(numpy.int16)


@pytest.mark.slow
@pytest.mark.skipif(browser.CHROMIUM is None, reason="no chromium on this machine: pages are not compared with a browser's")
@pytest.mark.parametrize("style", ["default", "screen"])
@pytest.mark.parametrize("score", SCORES, ids=lambda path: path.stem)
def test_marked_pages_look_the_same_in_a_browser(score: Path, style: str, tmp_path: Path) -> None:
    annotator.mark(score, tmp_path, style=style, formats=("svg",))
    pages = sorted(tmp_path.glob("*.svg"))
    assert pages
    for page in pages:
        svg = page.read_text(encoding="utf-8")
        fluid = re.sub(r'(<svg[^>]*?) width="[\d.]+\w+" height="[\d.]+\w+"', r"\1", svg, count=1)
        seen = grey(browser.picture(fluid, WIDTH, HEIGHT, tmp_path))
        ours = grey(write_png(svg, "a4", DPI))
        assert (ours < 128).mean() > 0.005
        assert (abs(seen - ours) > 127).mean() <= PIXELS_OFF
