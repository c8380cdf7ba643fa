"""Golden outputs: what the program makes of every score at hand, as hashes and counts in ``tests/golden.json``.

``python tests/golden.py`` says what has changed, score by score; ``python tests/golden.py --write`` writes the file anew and says the same.
``--quick`` leaves the pages out. A refactoring changes nothing; a change of what is found or drawn changes it on purpose.

Of each score: the counts of the report (notes, notes to read, figures by kind), and hashes of the report, the marked MusicXML, the labels
in four languages, and the pages (default style, A4). What is drawn depends on the engraver, so pages are kept under its version: each page
as SVG text, and ``by note`` what stands on it without its measures (which notes a bracket reaches from and to, its words, the grey notes),
which another engraver or painter should leave as it is.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import re
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from importlib.metadata import version
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent))

from lxml import etree
from marked_bytes import mark_bytes
from scores_at_hand import CORPUS, EXAMPLES, keyboard_corpus, local_scores

from annotator.marks.finding import find_figures
from annotator.marks.marking import markings
from annotator.marks.report import Report
from annotator.marks.style import load_style
from annotator.options.settings import LANGUAGES, Options
from annotator.pages.engraving import engrave
from annotator.reading import load, read_document
from annotator.words.labels import change_words, labels

GOLDEN = Path(__file__).with_suffix(".json")
ENGRAVER = f"verovio {version('verovio')}"
SVG = "{http://www.w3.org/2000/svg}"
PAGES_IN_TESTS = 12
"""Of so many scores the pages are looked at in every run of the tests; those of the rest are left to the sweeps."""


def scores() -> dict[str, Path]:
    """Return the scores that are here, by the name they have in the golden file."""
    found = {f"examples/{path.name}": path for path in sorted(EXAMPLES.glob("*.musicxml"))}
    found |= {f"corpus/{path.relative_to(CORPUS).as_posix()}": path for path in keyboard_corpus()}
    return found | {f"local/{path.name}": path for path in local_scores()}


def golden() -> dict[str, Any]:
    """Return what the file says, by score."""
    read: dict[str, Any] = json.loads(GOLDEN.read_text(encoding="utf-8")) if GOLDEN.exists() else {}
    return read


def with_pages() -> list[str]:
    """Return the scores whose pages are looked at in every run: the shipped ones, and others spread over the rest."""
    names = list(scores())
    shipped = [name for name in names if name.startswith("examples/")]
    others = [name for name in names if name not in shipped]
    wanted = PAGES_IN_TESTS - len(shipped)
    return shipped + others[:: max(1, len(others) // wanted)][:wanted]


def digest(text: str | bytes) -> str:
    """Return a short hash of a text."""
    return hashlib.sha256(text.encode() if isinstance(text, str) else text).hexdigest()[:12]


def outcome(path: Path) -> dict[str, Any]:
    """Return what the program makes of a score, but for the pages."""
    score = read_document(load(path))
    report = find_figures(score, Options())
    return {
        "notes": report.notes,
        "to_read": report.to_read,
        "figures": len(report.figures),
        "kinds": dict(sorted(Counter(figure.kind for _, figure in report.figures).items())),
        "report": digest(report.to_json()),
        "labels": {language: digest(_words(report, language)) for language in LANGUAGES},
        "musicxml": digest(mark_bytes(path.read_bytes(), Options(), load_style("default"))),
    }


def _words(report: Report, language: str) -> str:
    """Return all labels of a report in a language, a figure a line."""
    return "\n".join(
        " | ".join([*labels(figure, language), *(text for _, text in change_words(figure, language))]) for _, figure in report.figures
    )


def pages(path: Path) -> dict[str, Any]:
    """Return the pages of a score, each as hashes of its SVG text and of what stands on it by note."""
    document = load(path)
    score = read_document(document)
    report = find_figures(score, Options())
    drawn = engrave(document, score, markings(report), load_style("default"), "a4").pages
    figures = {figure["id"]: figure["notes"] for figure in report.to_dict()["figures"]}
    return {"svg": [digest(page) for page in drawn], "by note": [digest(json.dumps(by_note(page, figures))) for page in drawn]}


def by_note(page: str, figures: dict[str, list[str]]) -> dict[str, Any]:
    """Return what of ours stands on a page: each bracket by the notes its ends are nearest to, its words; the grey notes."""
    root = etree.fromstring(page.encode())
    places = {}
    for note in root.iter(SVG + "g"):
        head = note.find(f".//{SVG}g[@class='notehead']/{SVG}use") if "note" in note.get("class", "").split() else None
        if head is not None:
            places[note.get("id")] = [float(number) for number in re.findall(r"-?[\d.]+", head.get("transform"))[:2]]
    brackets = []
    for group in root.iter(SVG + "g"):
        if "figure" in group.get("class", "").split():
            own = {note: places[note] for note in figures[group.get("data-figure")] if note in places}
            words = [text.text for text in group.iter(SVG + "text")]
            ends = [_reach(path.get("d"), own) for path in group.iter(SVG + "path")]
            brackets.append([group.get("data-figure"), ends, words])
    grey = [note.get("id") for note in root.iter(SVG + "g") if {"note", "grey"} <= set(note.get("class", "").split())]
    return {"brackets": brackets, "grey": sorted(grey)}


def _reach(drawn: str, notes: dict[str, list[float]]) -> list[str]:
    """Return the two notes of a figure that the ends of a drawn bracket are nearest to."""
    numbers = [float(number) for number in re.findall(r"-?[\d.]+", drawn)]
    points = list(zip(numbers[::2], numbers[1::2], strict=True))
    return [
        min(notes, key=lambda note: (abs(notes[note][0] - x) + abs(notes[note][1] - y), note))
        for x, y in (min(points), max(points))
        if notes
    ]


def changes(name: str, before: dict[str, Any], now: dict[str, Any]) -> list[str]:
    """Return one line for each thing that has changed of a score."""
    if not before:
        return [f"{name}: new"]
    found = [f"{key} {before.get(key)} → {now[key]}" for key in ("notes", "to_read", "figures") if before.get(key) != now[key]]
    kinds = {kind: (before["kinds"].get(kind, 0), now["kinds"].get(kind, 0)) for kind in sorted({*before["kinds"], *now["kinds"]})}
    found += [f"{kind} {was} → {count}" for kind, (was, count) in kinds.items() if was != count]
    found += [f"labels in {language}" for language in now["labels"] if before["labels"].get(language) != now["labels"][language]]
    found += [key for key in ("report", "musicxml") if before[key] != now[key]]
    was, drawn = before.get("pages", {}).get(ENGRAVER), now.get("pages", {}).get(ENGRAVER)
    if was and drawn:
        found += [f"{view} of {_pages_that_differ(was[view], drawn[view])}" for view in ("svg", "by note") if was[view] != drawn[view]]
    return [f"{name}: {'; '.join(found)}"] if found else []


def _pages_that_differ(before: list[str], now: list[str]) -> str:
    """Return in words which pages are not the same."""
    if len(before) != len(now):
        return f"pages ({len(before)} → {len(now)})"
    return "page " + ", ".join(str(number) for number, (one, other) in enumerate(zip(before, now, strict=True), start=1) if one != other)


def main() -> int:
    """Compare all scores with the golden file, and write it anew if asked to."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--write", action="store_true", help="write the file anew")
    parser.add_argument("--quick", action="store_true", help="leave the pages as they are in the file")
    parser.add_argument("--jobs", type=int, default=2)
    asked = parser.parse_args()
    before, now, here = golden(), {}, scores()
    with ProcessPoolExecutor(asked.jobs) as pool:
        drawn = dict(zip(here, pool.map(pages, here.values()), strict=True)) if not asked.quick else {}
        for name, found in zip(here, pool.map(outcome, here.values()), strict=True):
            known = before.get(name, {}).get("pages", {})
            now[name] = {**found, "pages": {**known, ENGRAVER: drawn[name]} if drawn else known}
    lines = [line for name in here for line in changes(name, before.get(name, {}), now[name])]
    totals = [sum(each[key] for each in now.values()) for key in ("notes", "to_read", "figures")]
    print("\n".join([*lines, f"{len(now)} scores, {len(lines)} changed; notes {totals[0]}, to read {totals[1]}, figures {totals[2]}"]))
    if asked.write:
        text = ",\n".join(f"{json.dumps(name)}: {json.dumps(each, sort_keys=True)}" for name, each in sorted({**before, **now}.items()))
        GOLDEN.write_text("{\n" + text + "\n}\n", encoding="utf-8")
    return 1 if lines and not asked.write else 0


if __name__ == "__main__":
    sys.exit(main())
