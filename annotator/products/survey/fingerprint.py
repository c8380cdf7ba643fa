"""What makes one version of the program differ from another, as far as figures and measures go.

Figures kept from an earlier run, or worked out on another machine, count only if they come from the same program. So the sources that
read, find and measure are hashed, and the version. What draws, words, chooses or asks has no bearing; a test holds the list against what
measuring a file loads.
"""

from __future__ import annotations

from functools import lru_cache
from hashlib import blake2b
from pathlib import Path

import annotator

BEARING = (
    *("errors.py", "figures", "formats", "music", "options", "reading"),
    *("marks/finding.py", "marks/report.py", "musicxml/record.py", "products/handout/hands.py"),
    *(f"products/survey/{name}.py" for name in ("effort", "measures", "measuring", "playing", "record")),
)
"""The modules and packages that decide what is found."""


@lru_cache(maxsize=1)
def program() -> str:
    """Return the fingerprint of the program: 16 letters and digits."""
    root = Path(annotator.__file__).parent
    found = blake2b(annotator.__version__.encode(), digest_size=8)
    for name in BEARING:
        place = root / name
        for path in sorted(place.rglob("*.py")) if place.is_dir() else [place] if place.is_file() else []:
            source = path.read_bytes().replace(b"\r\n", b"\n")
            found.update(f"{path.relative_to(root).as_posix()} {len(source)}\n".encode() + source)
    return found.hexdigest()
