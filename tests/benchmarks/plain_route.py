"""The plain route to a PDF, as anyone would write it: Verovio, one SVG a page, cairosvg, one PDF a page. Nothing is marked or joined.

``python tests/benchmarks/plain_route.py SCORE FOLDER``
"""

from __future__ import annotations

import sys
from pathlib import Path

import cairosvg
import verovio


def main(score: Path, folder: Path) -> None:
    """Engrave a score and write its pages."""
    toolkit = verovio.toolkit()
    toolkit.setOptions({"pageWidth": 2100, "pageHeight": 2970})
    if not toolkit.loadFile(str(score)):
        raise SystemExit(f"{score}: the engraver cannot read it")
    for page in range(1, toolkit.getPageCount() + 1):
        cairosvg.svg2pdf(bytestring=toolkit.renderToSVG(page).encode(), write_to=str(folder / f"{score.stem}-{page:03d}.pdf"))


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
