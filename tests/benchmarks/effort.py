"""How well the reading effort agrees with graded music: rank correlations, on scores that did not choose the weights.

``python tests/benchmarks/effort.py`` takes the scores at hand (a local folder; music21's corpus) with the grades below.
``python tests/benchmarks/effort.py --labels GRADES.json --scores FOLDER`` takes any others: a JSON object from file name without its
ending to grade. The data set Mikrokosmos-difficulty (147 pieces, zenodo.org/record/6092709) has that shape: ``--labels
metadata/henle_mikrokosmos.json --scores musicxml``. It may not be shipped everywhere (its composer died in 1945), so it is not here.

The grades: 1 (beginners) to 9 (concert studies), one musician's, from memory, common practice, not any publisher's; they are for *playing*,
and good to about one step. Two sources speak for the scale: henle.de, "Levels of difficulty" (prelude no. 1 of the Well-Tempered Clavier I:
2 of 9), and practisingthepiano.com, "Burgmüller's 25 Easy and Progressive Studies" (in order of difficulty, from about ABRSM grade 2 to 5).
The studies' own order is a second, published ranking (``BURGMULLER``).

Halves: every other score of the list below, so that each collection is in both. Weights are chosen on one half (``chosen_weights``) and
tried on the other, both ways round. Intervals are 95 % bootstrap percentiles (2,000 draws, fixed seed).
"""

from __future__ import annotations

import argparse
import json
import math
import random
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import product
from pathlib import Path
from statistics import fmean

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from scores_at_hand import CORPUS, LOCAL_SCORES, NO_LOCAL_SCORES

from annotator.errors import ScoreError
from annotator.products.survey.effort import FACTORS, effort
from annotator.products.survey.measures import Measured, Measures
from annotator.products.survey.measuring import measure

BURGMULLER = tuple(f"burgmuller-op100-{number:02}" for number in (1, 2, 3, 4, 5, 6, 7, 9, 13, 15, 17, 18))
PRELUDES = dict(zip((f"bach-wtc1-prelude-{number:02}" for number in range(1, 13)), (2, 5, 5, 5, 5, 4, 6, 5, 4, 4, 4, 5), strict=True))
STUDIES = {
    **{f"chopin-op10-{number:02}": grade for number, grade in ((1, 9), (2, 9), (4, 8), (5, 8), (8, 8), (12, 8))},
    **{f"chopin-op25-{number:02}": grade for number, grade in ((1, 7), (2, 7), (6, 9), (8, 9), (10, 8), (12, 8))},
}
LOCAL: Mapping[str, int] = {
    **{name: 2 if place < 7 else 3 for place, name in enumerate(BURGMULLER)},
    **PRELUDES,
    **STUDIES,
    **{f"hanon-{number:02}": 2 for number in (1, 2, 3)},
}
OF_CORPUS: Mapping[str, int] = {"schubert/Lindenbaum.xml": 5, "joplin/maple_leaf_rag.mxl": 6}

STEP, CLOSE, DRAWS, SEED = 10, 0.02, 2_000, 20267

Graded = tuple[str, Measures, float]
Ranking = Callable[[Measures], float]


def in_all(found: Measures) -> float:
    """Return the effort of a whole piece."""
    return Measured("", "", found, effort(found)).effort_in_all


BASELINES: Mapping[str, Ranking] = {
    "notes a bar": lambda found: found.notes / found.bars,
    "notes a beat": lambda found: found.density,
    "number of notes": lambda found: found.notes,
    "number of notes to read": lambda found: found.to_read,
}


def graded_at_hand() -> list[Graded]:
    """Return the graded scores at hand, measured: name, measures, grade; without the local folder only those of the corpus."""
    paths = {LOCAL_SCORES / f"{name}.musicxml": grade for name, grade in LOCAL.items()} if LOCAL_SCORES.is_dir() else {}
    paths |= {CORPUS / name: grade for name, grade in OF_CORPUS.items()}
    return list(_measured(paths))


def graded_elsewhere(labels: Path, folder: Path) -> list[Graded]:
    """Return the scores of a folder that a JSON object gives a grade, by file name without its ending."""
    grades = json.loads(labels.read_text(encoding="utf-8"))
    paths = {path: float(grades[path.stem]) for path in sorted(folder.rglob("*")) if path.is_file() and path.stem in grades}
    return list(_measured(paths))


def _measured(paths: Mapping[Path, float]) -> Iterator[Graded]:
    for path, grade in paths.items():
        try:
            found = measure(path.read_bytes())
        except ScoreError as error:
            print(f"left out: {path.name}: {error}")
            continue
        if isinstance(found, Measures):
            yield path.stem, found, grade


def halves(scores: Sequence[Graded]) -> tuple[list[Graded], list[Graded]]:
    """Return every other score, and the rest."""
    return list(scores[0::2]), list(scores[1::2])


def weighted(weights: Sequence[int]) -> Ranking:
    """Return the effort with other weights."""
    return lambda found: sum(weight * factor.points(found) / factor.weight for weight, factor in zip(weights, FACTORS, strict=True))


def chosen_weights(scores: Sequence[Graded]) -> tuple[int, ...]:
    """Return the weights of a half: in steps of ten, at least ten each; the most even of those within ``CLOSE`` of the best."""
    tried = [weights for weights in product(range(STEP, 100, STEP), repeat=len(FACTORS)) if sum(weights) == 100]
    found = {weights: spearman(scores, weighted(weights)) for weights in tried}
    best = max(found.values())
    near = [weights for weights in tried if found[weights] >= best - CLOSE]
    return min(near, key=lambda weights: (sum(weight**2 for weight in weights), -found[weights], weights))


def spearman(scores: Sequence[Graded], ranking: Ranking) -> float:
    """Return Spearman's rank correlation of a ranking with the grades, equals sharing their mean rank."""
    return _pearson(_ranks([ranking(found) for _, found, _ in scores]), _ranks([grade for *_, grade in scores]))


def kendall(scores: Sequence[Graded], ranking: Ranking) -> float:
    """Return Kendall's tau-b of a ranking with the grades."""
    pairs = [(ranking(found), grade) for _, found, grade in scores]
    signs = [((a > b) - (a < b), (one > other) - (one < other)) for place, (a, one) in enumerate(pairs) for b, other in pairs[:place]]
    below = math.sqrt(sum(x != 0 for x, _ in signs) * sum(y != 0 for _, y in signs))
    return sum(x * y for x, y in signs) / below if below else 0.0


def interval(scores: Sequence[Graded], ranking: Ranking) -> tuple[float, float]:
    """Return the 95 % bootstrap interval of Spearman's correlation."""
    chance = random.Random(SEED)
    drawn = sorted(spearman(chance.choices(scores, k=len(scores)), ranking) for _ in range(DRAWS))
    return drawn[int(0.025 * DRAWS)], drawn[int(0.975 * DRAWS) - 1]


def _ranks(values: Sequence[float]) -> list[float]:
    ordered = sorted(values)
    first = {value: ordered.index(value) for value in set(values)}
    return [first[value] + (ordered.count(value) + 1) / 2 for value in values]


def _pearson(one: Sequence[float], other: Sequence[float]) -> float:
    a, b = fmean(one), fmean(other)
    below = math.sqrt(sum((x - a) ** 2 for x in one) * sum((y - b) ** 2 for y in other))
    return sum((x - a) * (y - b) for x, y in zip(one, other, strict=True)) / below if below else 0.0


def _line(name: str, scores: Sequence[Graded], ranking: Ranking) -> None:
    low, high = interval(scores, ranking)
    told = f"Spearman {spearman(scores, ranking):5.2f} [{low:5.2f}, {high:5.2f}]   Kendall {kendall(scores, ranking):5.2f}"
    print(f"  {name:34} n = {len(scores):3}   {told}")


def report_at_hand(scores: Sequence[Graded]) -> None:
    """Print the correlations: weights of one half on the other, the figure as it is, the baselines, each collection by itself."""
    first, second = halves(scores)
    for name, choosing, trying in (("first half", first, second), ("second half", second, first)):
        weights = chosen_weights(choosing)
        print(f"weights chosen on the {name}: {', '.join(f'{f.word} {w}' for f, w in zip(FACTORS, weights, strict=True))}")
        _line("there", choosing, weighted(weights))
        _line("on the other half", trying, weighted(weights))
        for baseline, ranking in BASELINES.items():
            _line(f"  baseline there: {baseline}", trying, ranking)
    print("the figure as it is")
    report(scores)
    print("within one collection (its grades; Burgmüller: the published order)")
    for name, wanted in (("Burgmüller op. 100", BURGMULLER), ("Bach, 12 preludes", PRELUDES), ("Chopin, 12 studies", STUDIES)):
        some = [score for score in scores if score[0] in wanted]
        if wanted is BURGMULLER:
            some = [(stem, found, float(BURGMULLER.index(stem))) for stem, found, _ in some]
        _line(name, some, effort)
        _line("  baseline: notes a bar", some, BASELINES["notes a bar"])
    print("furthest from its grade (places in the ranking, + means ranked too hard)")
    for stem, places in furthest(scores):
        print(f"  {stem:34} {places:+.0f}")


def report(scores: Sequence[Graded]) -> None:
    """Print how the effort as it is and the baselines agree with the grades."""
    _line("effort", scores, effort)
    _line("effort in all", scores, in_all)
    for baseline, ranking in BASELINES.items():
        _line(f"  baseline: {baseline}", scores, ranking)


def furthest(scores: Sequence[Graded], count: int = 6) -> list[tuple[str, float]]:
    """Return the scores whose place in the ranking is furthest from that of their grade, and by how many places."""
    ours, theirs = _ranks([effort(found) for _, found, _ in scores]), _ranks([grade for *_, grade in scores])
    apart = [(stem, a - b) for (stem, *_), a, b in zip(scores, ours, theirs, strict=True)]
    return sorted(apart, key=lambda item: -abs(item[1]))[:count]


def main() -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--labels", type=Path, help="a JSON object from file name without its ending to grade")
    parser.add_argument("--scores", type=Path, help="the folder that has these scores")
    given = parser.parse_args()
    if (given.labels is None) != (given.scores is None):
        parser.error("--labels and --scores go together")
    if given.labels:
        report(graded_elsewhere(given.labels, given.scores))
    elif LOCAL_SCORES.is_dir():
        report_at_hand(graded_at_hand())
    else:
        print(NO_LOCAL_SCORES)


if __name__ == "__main__":
    main()
