"""How well our pages are engraved, in figures: ``python tests/collision_figures.py [--pages K] [--style S] [--paper P] [SCORE]...``.

Every score at hand (the keyboard music of music21's corpus, a local folder of scores), or those that are named, is made into the pages of
``mark``, ``handout`` (look-through page and marked score, worksheet, answers, covered copy, warm-up page, and all four steps of a practice
series), ``compare`` (above each other and facing) and the ``narrow`` systems of its page for a phone, in each style and on each paper.
Counted are pixels inked both by our marks and by something else, at 242 dots an inch (A4: 2000 pixels wide); labels, note names or other
texts of ours that meet; texts wider than their bracket; brackets of ``mark`` and of narrow systems without a free place. All of these must
be 0, else the exit code is 1.
"""

from __future__ import annotations

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import astuple, dataclass
from itertools import product, repeat
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest import mock

sys.path.insert(0, str(Path(__file__).resolve().parent))

from marked_pages import collisions, meeting_names, meeting_texts, overlapping_labels, prepared, wider_than_their_bracket
from scores_at_hand import keyboard_corpus, local_scores

from annotator.marks.style import load_style, names
from annotator.options.settings import Options
from annotator.pages.engraving import engrave
from annotator.pages.paper import paper_of
from annotator.products.compare import comparison
from annotator.products.handout.lesson import prepare
from annotator.products.handout.making import pages_of

PAGES = ("mark", "handout", "compare", "narrow")
PAPERS = ("a4", "letter")
HEAD = "pages    style        paper         scores  pages  brackets  labels   pixels  meeting  too wide  no place"


@dataclass(frozen=True, slots=True)
class Figures:
    """What was counted on the pages of some scores; the last four must be 0."""

    scores: int
    pages: int
    brackets: int
    labels: int
    pixels: int
    meeting: int
    wide: int
    crowded: int

    @property
    def faults(self) -> int:
        """All that must be 0, together."""
        return self.pixels + self.meeting + self.wide + self.crowded

    def __add__(self, other: Figures) -> Figures:
        """Return both together."""
        return Figures(*(a + b for a, b in zip(astuple(self), astuple(other), strict=True)))


def figures_of(path: Path, style: str, paper: str, kind: str = "mark") -> Figures:
    """Return the figures of one score on one kind of pages."""
    crowded = 0
    if kind in ("mark", "narrow"):
        on = comparison.NARROW if kind == "narrow" else paper_of(paper)
        done = engrave(*prepared(path), load_style(style), on, full_pages=kind == "mark")
        pages, crowded = done.pages, done.crowded
    else:
        on = paper_of(paper)
        pages = (handout_pages if kind == "handout" else compared_pages)(path, style, paper)
    return Figures(
        1,
        len(pages),
        sum(page.count('class="bracket"') for page in pages),
        sum(page.count('class="label"') for page in pages),
        sum(collisions(pages, on)),
        sum(len(overlapping_labels(page)) + len(meeting_texts(page)) + len(meeting_names(page)) for page in pages),
        sum(len(wider_than_their_bracket(page)) for page in pages),
        crowded,
    )


def handout_pages(path: Path, style: str, paper: str) -> tuple[str, ...]:
    """Return the pages of all files of a handout that there can be."""
    lesson = prepare(path, Options(covered=True, warm_up=True, steps=4, class_="Grade 3", style=style, paper=paper))
    return tuple(page for file in pages_of(lesson).values() for page in file)


def compared_pages(path: Path, style: str, paper: str) -> tuple[str, ...]:
    """Return the pages of a comparison, above each other and facing."""
    seen: list[str] = []
    with TemporaryDirectory() as folder, mock.patch.object(comparison, "write_pdf", lambda made, *_: seen.extend(made) or b"%PDF"):
        for facing in (False, True):
            comparison.plan_comparison(path, Options(style=style, paper=paper, out=folder, force=True, facing=facing)).write()
    return tuple(seen)


def scores() -> list[Path]:
    """Return every score at hand."""
    return [*keyboard_corpus(), *local_scores()]


def _row(total: Figures) -> str:
    widths = (7, 7, 10, 8, 9, 9, 10, 10)
    return "".join(f"{each:>{width}}" for each, width in zip(astuple(total), widths, strict=True))


def main() -> int:
    """Print a line for each style and paper, and for each score with a fault."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--pages", action="append", choices=PAGES)
    parser.add_argument("--style", action="append")
    parser.add_argument("--paper", action="append")
    parser.add_argument("score", nargs="*", type=Path)
    chosen = parser.parse_args()
    print(HEAD, flush=True)
    faults = 0
    with ProcessPoolExecutor(chosen.jobs) as pool:
        papers = chosen.paper or PAPERS
        for kind, style, paper in product(chosen.pages or PAGES, chosen.style or names(), papers):
            if kind == "narrow" and paper != papers[0]:  # it has a paper of its own
                continue
            total = Figures(0, 0, 0, 0, 0, 0, 0, 0)
            all_scores = chosen.score or scores()
            found = pool.map(figures_of, all_scores, *(repeat(each) for each in (style, paper, kind)))
            for path, figures in zip(all_scores, found, strict=True):
                total += figures
                if figures.faults:
                    print(f"  {path.stem}: {figures}", flush=True)
            print(f"{kind:8} {style:12} {paper:13}" + _row(total), flush=True)
            faults += total.faults
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
