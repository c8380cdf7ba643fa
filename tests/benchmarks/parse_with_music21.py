"""The script that the survey is measured against: parses the same files with music21, as anyone would write it, and does nothing else.

``python tests/benchmarks/parse_with_music21.py FOLDER…``
"""

from __future__ import annotations

import sys
import warnings
from pathlib import Path

from music21 import converter


def main(folders: list[str]) -> None:
    """Parse every score below the folders."""
    warnings.simplefilter("ignore")
    paths = sorted(path for folder in folders for path in Path(folder).rglob("*") if path.suffix in (".xml", ".musicxml", ".mxl"))
    parsed = failed = 0
    for path in paths:
        try:
            converter.parse(str(path), forceSource=True, storePickle=False)
            parsed += 1
        except Exception as error:
            failed += 1
            sys.stderr.write(f"{path}: {type(error).__name__}\n")
    print(f"{parsed} parsed, {failed} failed")


if __name__ == "__main__":
    main(sys.argv[1:])
