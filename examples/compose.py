"""Writes the studies beside this file as MusicXML: ``python examples/compose.py [FOLDER]``. The same bytes every time."""

from __future__ import annotations

import sys
from pathlib import Path

from studies import PIECES
from writer import written


def compose(folder: Path) -> list[Path]:
    """Write every study into a folder and return the files."""
    files = []
    for piece in PIECES:
        path = folder / f"{piece.name}.musicxml"
        path.write_bytes(written(piece))
        files.append(path)
    return files


if __name__ == "__main__":
    compose(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent)
