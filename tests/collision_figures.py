"""How well marked pages are engraved, in figures: ``python tests/collision_figures.py [--jobs N] [--style S]... [--paper P]...``.

Every score at hand (the keyboard music of music21's corpus, a local folder of scores) is engraved in each style and on each paper. Counted
are pixels inked both by our marks and by something else, at 242 dots an inch (A4: 2000 pixels wide); labels that meet; texts wider than
their bracket; brackets without a free place. All of these must be 0, else the exit code is 1.
"""

from __future__ import annotations

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import astuple, dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

from marked_pages import collisions, overlapping_labels, prepared, wider_than_their_bracket
from scores_at_hand import keyboard_corpus, local_scores

from annotator.engraving.pages import engrave_with_account
from annotator.style import load_style

STYLES = ("default", "large-print")
PAPERS = ("a4", "letter")
HEAD = "style        paper         scores  pages  brackets  labels   pixels  meeting  too wide  no place"


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


def figures_of(path: Path, style: str, paper: str) -> Figures:
    """Return the figures of one score."""
    done = engrave_with_account(*prepared(path), load_style(style), paper)
    return Figures(
        1,
        len(done.pages),
        done.account.brackets,
        sum(page.count('class="label"') for page in done.pages),
        sum(collisions(done.pages, paper)),
        sum(len(overlapping_labels(page)) for page in done.pages),
        sum(len(wider_than_their_bracket(page)) for page in done.pages),
        done.account.crowded,
    )


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
    parser.add_argument("--style", action="append")
    parser.add_argument("--paper", action="append")
    chosen = parser.parse_args()
    print(HEAD, flush=True)
    faults = 0
    with ProcessPoolExecutor(chosen.jobs) as pool:
        for style in chosen.style or STYLES:
            for paper in chosen.paper or PAPERS:
                total = Figures(0, 0, 0, 0, 0, 0, 0, 0)
                all_scores = scores()
                found = pool.map(figures_of, all_scores, [style] * len(all_scores), [paper] * len(all_scores))
                for path, figures in zip(all_scores, found, strict=True):
                    total += figures
                    if figures.faults:
                        print(f"  {path.stem}: {figures}", flush=True)
                print(f"{style:12} {paper:13}" + _row(total), flush=True)
                faults += total.faults
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
