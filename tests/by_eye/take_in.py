"""Takes readers' files into the data: ``python tests/by_eye/take_in.py FIRST SECOND``, one folder a reader, ``01.json`` … in each.

Only excerpts that both have read are taken in; the others stay as they are. What does not fit its excerpt is told, and nothing is written
then.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from by_eye.excerpt import HERE, Excerpt, excerpts, spans_of


def faults(excerpt: Excerpt) -> list[str]:
    """Return what is wrong about the readings of an excerpt, in words."""
    wrong = []
    for reader, spans in enumerate(excerpt.readings, 1):
        taken: set[tuple[str, int]] = set()
        for span in spans:
            where = f"{excerpt.name}, reading {reader}, {span.hand} s{span.first}–s{span.last}"
            if not 1 <= span.first <= span.last <= excerpt.strokes.get(span.hand, 0):
                wrong.append(f"{where}: there are {excerpt.strokes.get(span.hand, 0)} strokes")
            if not all(span.first <= number <= span.last for number in span.read):
                wrong.append(f"{where}: a stroke to read is not in it")
            if not span.what or not span.why:
                wrong.append(f"{where}: what and why must be said")
            places = {(span.hand, number) for number in range(span.first, span.last + 1)}
            if places & taken:
                wrong.append(f"{where}: overlaps another span")
            taken |= places
    return wrong


def take_in(folders: list[Path]) -> list[str]:
    """Write both readings into the data files; return what is wrong, and then nothing is written."""
    wrong: list[str] = []
    written: dict[Path, str] = {}
    for excerpt in excerpts():
        files = [folder / f"{excerpt.name[:2]}.json" for folder in folders]
        if not all(file.exists() for file in files):
            continue
        readings = [json.loads(file.read_text(encoding="utf-8"))["spans"] for file in files]
        read = Excerpt(excerpt.name, excerpt.source, excerpt.bars, excerpt.sealed, excerpt.strokes, tuple(map(spans_of, readings)))
        wrong += faults(read)
        path = HERE / f"{excerpt.name}.json"
        data = {**json.loads(path.read_text(encoding="utf-8")), "readings": readings}
        written[path] = json.dumps(data, ensure_ascii=False, indent=1) + "\n"
    if not wrong:
        for path, text in written.items():
            path.write_text(text, encoding="utf-8")
    return wrong


if __name__ == "__main__":
    told = take_in([Path(folder) for folder in sys.argv[1:3]])
    print("\n".join(told) or "taken in")
    sys.exit(bool(told))
